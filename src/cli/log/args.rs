//! The arguments of `log` as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use crate::cli::args::UnitsArg;

/// Arguments of `log`.
#[derive(Debug, Clone, Args)]
pub struct LogArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo", global = true)]
    pub lake: Option<String>,
    /// Use the invented demonstration lake; its log lies in the cache folder, never in yours
    #[arg(long, global = true)]
    pub demo: bool,
    /// Set the clock: a date (04:30 at the lake), a date and time at the lake, or RFC 3339
    #[arg(long, value_name = "TIME", global = true)]
    pub as_of: Option<String>,
    /// Keep the store, and the log in it, in this folder
    #[arg(long, value_name = "DIR", global = true)]
    pub store: Option<PathBuf>,
    /// Units of questions and texts; in words of a trip each figure carries its own
    #[arg(long, value_enum, default_value_t = UnitsArg::Us, global = true)]
    pub units: UnitsArg,
    /// What to do
    #[command(subcommand)]
    pub action: LogAction,
}

/// What to do with the log.
#[derive(Debug, Clone, Subcommand)]
pub enum LogAction {
    /// Add a trip: in one line of words, or, without words, by questions
    Add {
        /// Day, then zone or stretch, hours, rods, depth, fish: 2025-10-09 sorrel 6:30-11:00 2 rods 18 ft rainbow-trout 3
        words: Vec<String>,
        /// Add it even if it is in the log already
        #[arg(long)]
        again: bool,
    },
    /// All trips, a line each
    List {
        /// Form of the list
        #[arg(long, value_enum, default_value_t = ListFormat::Text)]
        format: ListFormat,
    },
    /// One trip, whole
    Show {
        /// Number of the trip
        number: u32,
        /// Every version that it had
        #[arg(long)]
        history: bool,
    },
    /// Change a trip; what it was stays in its history
    Edit {
        /// Number of the trip
        number: u32,
        /// Changes: rods=2, 1.depth=18ft, 1.rainbow-trout=3, 2.catch=blank, note="cold wind"
        changes: Vec<String>,
        /// Put the one trip of this JSON file (as exported) in its place
        #[arg(long, value_name = "FILE", conflicts_with_all = ["changes", "restore"])]
        from: Option<PathBuf>,
        /// Bring this version of it back
        #[arg(long, value_name = "VERSION", conflicts_with = "changes")]
        restore: Option<u32>,
    },
    /// Remove a trip; its history stays
    Remove {
        /// Number of the trip
        number: u32,
        /// Do not ask
        #[arg(long)]
        yes: bool,
    },
    /// Write all trips into a file, from which they come back without loss
    Export {
        /// Form of the file
        #[arg(long, value_enum)]
        format: ExportFormat,
        /// The file; without it standard output
        #[arg(long, value_name = "FILE", required_if_eq("format", "parquet"))]
        out: Option<PathBuf>,
    },
    /// Add the trips of a file, all or none: an exported log, a table of your own, a GPX or KML track
    Import(ImportArgs),
    /// Copy the log into a new file; it may be in use
    Backup {
        /// The new file
        file: PathBuf,
    },
}

/// Arguments of `log import`.
#[derive(Debug, Clone, Args)]
pub struct ImportArgs {
    /// The file
    pub file: PathBuf,
    /// Its form, whatever its ending says
    #[arg(long, value_enum)]
    pub format: Option<ImportFormat>,
    /// Which columns of a table hold what (TOML, docs/trip-log.md)
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Of a track: rods in the water
    #[arg(long)]
    pub rods: Option<u32>,
    /// Of a track: depth fished, such as 18ft
    #[arg(long = "depth", value_name = "DEPTH", value_parser = read_depth)]
    pub depth_m: Option<f64>,
    /// Of a track: kind of tackle, such as spoon
    #[arg(long, value_name = "KIND")]
    pub presentation: Option<String>,
    /// Of a track: why the zones were chosen
    #[arg(long, value_parser = read_reason)]
    pub reason: Option<crate::trips::Reason>,
    /// Of a track: the zone of all of it, whatever the outlines say
    #[arg(long)]
    pub zone: Option<String>,
    /// Add trips even if they are in the log already
    #[arg(long)]
    pub again: bool,
}

/// Form of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ListFormat {
    /// For people
    Text,
    /// For programs: SI and UTC
    Json,
}

/// Form of an export.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// One table of rows
    Csv,
    /// Each trip as it is
    Json,
    /// The table of rows, sealed
    Parquet,
}

/// Form of a file to import.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ImportFormat {
    /// A table
    Csv,
    /// Exported JSON
    Json,
    /// Exported Parquet
    Parquet,
    /// A track
    Gpx,
    /// A track
    Kml,
}

fn read_depth(text: &str) -> Result<f64, String> {
    crate::trips::depth_of(text).ok_or_else(|| "wanted a depth such as 18ft or 5.5m".to_owned())
}

fn read_reason(text: &str) -> Result<crate::trips::Reason, String> {
    let words = crate::trips::Reason::WORDS.join(", ");
    crate::trips::Reason::from_word(text).ok_or_else(|| format!("wanted one of {words}"))
}
