//! Arguments of `digest`.

use clap::{Args, Subcommand, ValueEnum};

use crate::cli::args::{SessionArgs, UnitsArg};

/// Arguments of `digest`.
#[derive(Debug, Clone, Args)]
pub struct DigestArgs {
    /// What to do
    #[command(subcommand)]
    pub command: DigestCommand,
}

/// What to do with the digest.
#[derive(Debug, Clone, Subcommand)]
pub enum DigestCommand {
    /// Show the digest of the week as its readers would get it; nothing is sent
    Preview(PreviewArgs),
}

/// Arguments of `digest preview`.
#[derive(Debug, Clone, Args)]
pub struct PreviewArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Lake, store, clock
    #[command(flatten)]
    pub session: SessionArgs,
    /// Form of the digest
    #[arg(long, value_enum, default_value_t = DigestFormat::Text)]
    pub format: DigestFormat,
    /// Units of the reader
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
    /// Tell trips and catch of the week from the log
    #[arg(long)]
    pub share_trips: bool,
    /// Sender of the message (`--format eml`)
    #[arg(long, value_name = "ADDRESS", default_value = "digest@plungeline.invalid")]
    pub from: String,
    /// Reader of the message (`--format eml`)
    #[arg(long, value_name = "ADDRESS", default_value = "reader@plungeline.invalid")]
    pub to: String,
    /// Name of the reader (`--format eml`)
    #[arg(long, value_name = "NAME", default_value = "")]
    pub name: String,
    /// Where the reader unsubscribes by one click, https (`--format eml`); by mail without it
    #[arg(long, value_name = "URL")]
    pub unsubscribe_url: Option<String>,
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<std::path::PathBuf>,
}

/// Form of the digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DigestFormat {
    /// The text part, 72 columns
    Text,
    /// The HTML part, with its pictures inside
    Html,
    /// The whole message with text, HTML, pictures and calendar
    Eml,
    /// For programs: SI and UTC
    Json,
}
