//! The arguments as typed. Nothing here looks at clock, disk or network.

use std::path::{Path, PathBuf};

use clap::{Args, Parser, Subcommand, ValueEnum};

use super::digest::DigestArgs;
use super::{
    fit::FitArgs, hindcast::HindcastArgs, lake::LakeArgs, log::LogArgs, read::ReadArgs, skill::SkillArgs,
    turnover::TurnoverArgs,
};

/// Reservoir conditions forecaster: are the fish in the main body, or up the river arms?
///
/// Exit status: 0 good; 1 the run failed; 2 wrong usage, a faulty lake file or file of thresholds; 3 a brief was made, but
/// on data too old or too thin to trust (it says which).
#[derive(Debug, Parser)]
#[command(name = "plungeline", version, about, long_about, propagate_version = true)]
pub struct Arguments {
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// The morning brief: cautions, where the fish are, how deep, which ramp, and why
    Brief(BriefArgs),
    /// Fetch what is new into the store
    Pull(PullArgs),
    /// Print the records in a saved reply of a service, or say what is wrong in it
    Read(ReadArgs),
    /// Begin, check or show a lake description
    Lake(LakeArgs),
    /// Run the lake's water over past weather and compare it with measured profiles
    Hindcast(HindcastArgs),
    /// Your own trips: add, list, change, export, import
    Log(LogArgs),
    /// The weekly digest by mail: seeing it, who gets it, sending it, and what became of it
    Digest(DigestArgs),
    /// Learn from your trips, and show what was learned
    Fit(FitArgs),
    /// How the calls have done against your trips
    Skill(SkillArgs),
    /// When the lake turns over: the chances day by day, and what drives them
    Turnover(TurnoverArgs),
}

/// Which store, which clock, live or replayed.
#[derive(Debug, Clone, Args)]
pub struct SessionArgs {
    /// Use the invented demonstration lake; its store is in the cache folder, never yours
    #[arg(long)]
    pub demo: bool,
    /// Set the clock: a date (04:30 at the lake), a date and time at the lake, or RFC 3339
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,
    /// Keep the store in this folder
    #[arg(long, value_name = "DIR")]
    pub store: Option<PathBuf>,
    /// Judge values by the thresholds of this file instead of the built-in ones (config/quality.toml)
    #[arg(long, value_name = "FILE")]
    pub quality: Option<PathBuf>,
    /// Save every reply of the services in this folder
    #[arg(long, value_name = "DIR", conflicts_with_all = ["replay", "demo", "offline"])]
    pub record: Option<PathBuf>,
    /// Answer from a folder of saved replies instead of the services; with --demo, instead of its own
    #[arg(long, value_name = "DIR")]
    pub replay: Option<PathBuf>,
    /// Use what the store holds; fetch nothing
    #[arg(long)]
    pub offline: bool,
}

impl SessionArgs {
    /// Those of a command that reads the store and fetches nothing.
    pub fn offline(demo: bool, as_of: Option<&str>, store: Option<&Path>) -> SessionArgs {
        SessionArgs {
            demo,
            as_of: as_of.map(str::to_owned),
            store: store.map(Path::to_owned),
            quality: None,
            record: None,
            replay: None,
            offline: true,
        }
    }
}

/// Arguments of `brief`.
#[derive(Debug, Clone, Args)]
pub struct BriefArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Lake, store, clock
    #[command(flatten)]
    pub session: SessionArgs,
    /// Form of the brief
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Open every number to its inputs, their age and its formula (text and Markdown; the page holds it folded, JSON anyway)
    #[arg(long)]
    pub why: bool,
    /// Units of the text and the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
}

/// Arguments of `pull`.
#[derive(Debug, Clone, Args)]
pub struct PullArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml); may be given several times
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Vec<String>,
    /// Every lake file of the configuration folder
    #[arg(long, conflicts_with_all = ["lake", "demo"])]
    pub all: bool,
    /// Fetch everything from this day on again, revised values too
    #[arg(long, value_name = "DATE", value_parser = read_day)]
    pub since: Option<chrono::NaiveDate>,
    /// Fill so many years of the weather archive; what the store holds is not asked for again
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(u32).range(1..=100))]
    pub history: Option<u32>,
    /// Form of the summary
    #[arg(long, value_enum, default_value_t = PullFormat::Text)]
    pub format: PullFormat,
    /// Store, clock
    #[command(flatten)]
    pub session: SessionArgs,
}

/// Form of the summary of a pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PullFormat {
    /// For people, 80 columns
    Text,
    /// For programs
    Json,
}

/// Form of a brief.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people, 80 columns
    Text,
    /// One page for a phone or a browser, with everything it needs inside
    Html,
    /// For a mail or a forum
    Markdown,
    /// The hours of the trip as a picture: light, wind, chop, air
    Svg,
    /// For programs: SI and UTC
    Json,
}

/// Units of the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Feet, cfs, Fahrenheit
    Us,
    /// Metres, m3/s, Celsius
    Metric,
}

impl From<UnitsArg> for crate::faces::Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Us => crate::faces::Units::Us,
            UnitsArg::Metric => crate::faces::Units::Metric,
        }
    }
}

fn read_day(text: &str) -> Result<chrono::NaiveDate, String> {
    text.trim()
        .parse()
        .map_err(|_| "wanted a day such as 2025-10-01".to_owned())
}
