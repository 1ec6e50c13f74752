//! The arguments of `fit` as typed.

use clap::{Args, ValueEnum};

use crate::cli::args::{SessionArgs, UnitsArg};

/// Arguments of `fit`.
#[derive(Debug, Clone, Args)]
pub struct FitArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Lake, store, clock
    #[command(flatten)]
    pub session: SessionArgs,
    /// Show what the log teaches; briefs go by what they went by before
    #[arg(long)]
    pub only_show: bool,
    /// Let a trip so many days old weigh half; without it all weigh alike
    #[arg(long, value_name = "DAYS")]
    pub half_life_days: Option<f64>,
    /// Leave out hours in zones that were chosen because somebody told of fish there
    #[arg(long)]
    pub without_reports: bool,
    /// Leave out the marks of the sonar
    #[arg(long)]
    pub without_marks: bool,
    /// Let species learn together how they take suitable and muddy water (rules R2 and R7)
    #[arg(long)]
    pub together: bool,
    /// Look every morning up in the store again, whatever earlier calls and fits found
    #[arg(long)]
    pub afresh: bool,
    /// Form of the page
    #[arg(long, value_enum, default_value_t = FitFormat::Text)]
    pub format: FitFormat,
    /// Units of the text
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
}

/// Form of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FitFormat {
    /// For people, 80 columns
    Text,
    /// For programs: SI and UTC
    Json,
}
