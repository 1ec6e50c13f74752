//! The arguments of `digest` as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use crate::cli::args::UnitsArg;
use crate::delivery::{DecimalMark, HourStyle, LetterUnits, Week};

/// Arguments of `digest`.
#[derive(Debug, Clone, Args)]
pub struct DigestArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo", global = true)]
    pub lake: Option<String>,
    /// Use the invented demonstration lake; its readers are kept in the cache folder, apart from yours
    #[arg(long, global = true)]
    pub demo: bool,
    /// Set the clock: a date (04:30 at the lake), a date and time at the lake, or RFC 3339
    #[arg(long, value_name = "TIME", global = true)]
    pub as_of: Option<String>,
    /// Keep the store, and readers and ledger in it, in this folder
    #[arg(long, value_name = "DIR", global = true)]
    pub store: Option<PathBuf>,
    /// What to do
    #[command(subcommand)]
    pub action: DigestAction,
}

/// What to do.
#[derive(Debug, Clone, Subcommand)]
pub enum DigestAction {
    /// Show the digest of the week as its readers would get it; nothing is sent
    Preview(PreviewArgs),
    /// Who gets the letter
    Readers {
        /// What to do with the list
        #[command(subcommand)]
        action: ReadersAction,
    },
    /// Hand the letter of the week to the mail server, once for each reader
    Send(SendArgs),
    /// What became of each letter
    Ledger {
        /// What to do with the ledger
        #[command(subcommand)]
        action: LedgerAction,
    },
    /// Read reports of letters that came back, from a mailbox file or standard input
    Bounces {
        /// The mailbox (mbox) or one message (eml); without it standard input
        file: Option<PathBuf>,
    },
}

/// What to do with the list of readers.
#[derive(Debug, Clone, Subcommand)]
pub enum ReadersAction {
    /// Add one reader; without a consent, one who is still to confirm
    Add {
        /// Address
        address: String,
        /// Name
        #[arg(long)]
        name: Option<String>,
        /// How the letter is written
        #[command(flatten)]
        form: FormArgs,
        /// Consent that you have
        #[command(flatten)]
        consent: ConsentArgs,
        /// Take one back who was removed, and has asked for it on a later day
        #[arg(long, requires = "consent")]
        rejoin: bool,
    },
    /// Confirm a reader by the word that was given out, or by a consent that you have
    Confirm {
        /// Address
        address: String,
        /// The word that `add` or `import` showed
        #[arg(
            long,
            value_name = "WORD",
            conflicts_with = "consent",
            required_unless_present = "consent"
        )]
        token: Option<String>,
        /// Consent that you have
        #[command(flatten)]
        consent: ConsentArgs,
    },
    /// Remove a reader, at once and for good
    Remove {
        /// Address
        address: String,
    },
    /// All readers, a line each
    List,
    /// Add the readers of a table (CSV), all or none
    Import {
        /// The table
        file: PathBuf,
        /// How the letter is written, where the table does not say
        #[command(flatten)]
        form: FormArgs,
    },
    /// Write all readers into a table (CSV)
    Export {
        /// The file; without it standard output
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

/// How a letter is written.
#[derive(Debug, Clone, Copy, Args)]
pub struct FormArgs {
    /// Units
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
    /// Mark in numbers
    #[arg(long, value_enum, default_value_t = DecimalArg::Point)]
    pub decimal: DecimalArg,
    /// How hours are written
    #[arg(long, value_enum, default_value_t = HoursArg::Hours24)]
    pub hours: HoursArg,
}

/// A consent that the owner of the list has.
#[derive(Debug, Clone, Args)]
pub struct ConsentArgs {
    /// Day on which it was given
    #[arg(long, value_name = "DATE", requires = "source")]
    pub consent: Option<String>,
    /// How it was given, such as "asked at the ramp, on paper"
    #[arg(long, value_name = "TEXT", requires = "consent")]
    pub source: Option<String>,
}

/// Mark in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DecimalArg {
    /// 12.5
    Point,
    /// 12,5
    Comma,
}

/// How hours are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum HoursArg {
    /// 18:30
    #[value(name = "24h")]
    Hours24,
    /// 6:30 pm
    #[value(name = "12h")]
    Hours12,
}

impl FormArgs {
    /// The same in the words of the list.
    pub fn words(self) -> (LetterUnits, DecimalMark, HourStyle) {
        let units = match self.units {
            UnitsArg::Us => LetterUnits::Us,
            UnitsArg::Metric => LetterUnits::Metric,
        };
        let decimal = match self.decimal {
            DecimalArg::Point => DecimalMark::Point,
            DecimalArg::Comma => DecimalMark::Comma,
        };
        let hours = match self.hours {
            HoursArg::Hours24 => HourStyle::Hours24,
            HoursArg::Hours12 => HourStyle::Hours12,
        };
        (units, decimal, hours)
    }
}

/// Arguments of `digest send`.
#[derive(Debug, Clone, Args)]
pub struct SendArgs {
    /// Only if the letter of a week is due by the schedule of the mail settings; for cron and timers
    #[arg(long)]
    pub if_due: bool,
    /// Make and check every letter, and send none
    #[arg(long)]
    pub dry_run: bool,
    /// Mail settings; without it mail.toml in the configuration folder
    #[arg(long, value_name = "FILE")]
    pub settings: Option<PathBuf>,
    /// Send this message (eml) instead of making one; each reader gets it with a header of the own
    #[arg(long, value_name = "FILE")]
    pub message: Option<PathBuf>,
    /// Stay so many minutes to try letters again that were refused for a time
    #[arg(long, value_name = "MINUTES", default_value_t = 0)]
    pub stay_min: u32,
}

/// What to do with the ledger.
#[derive(Debug, Clone, Subcommand)]
pub enum LedgerAction {
    /// Every letter and its fate
    List {
        /// Of this week alone, such as 2026-W48
        #[arg(long, value_parser = read_week)]
        week: Option<Week>,
    },
    /// Say what became of a letter whose fate is unknown
    Resolve {
        /// Address of the reader
        address: String,
        /// The week, such as 2026-W48
        #[arg(long, value_parser = read_week)]
        week: Week,
        /// It has arrived
        #[arg(long, conflicts_with = "again", required_unless_present = "again")]
        arrived: bool,
        /// It has not: send it again, while letters of that week are sent
        #[arg(long)]
        again: bool,
        /// Mail settings, whose [schedule] says how late a letter is still sent; mail.toml of the configuration folder without it
        #[arg(long, value_name = "FILE")]
        settings: Option<PathBuf>,
    },
}

fn read_week(text: &str) -> Result<Week, String> {
    Week::read(text).ok_or_else(|| "wanted a week such as 2026-W48".to_owned())
}

/// Arguments of `digest preview`.
#[derive(Debug, Clone, Args)]
pub struct PreviewArgs {
    /// Judge values by the thresholds of this file instead of the built-in ones (config/quality.toml)
    #[arg(long, value_name = "FILE")]
    pub quality: Option<PathBuf>,
    /// Answer from a folder of saved replies instead of the services; with --demo, instead of its own
    #[arg(long, value_name = "DIR")]
    pub replay: Option<PathBuf>,
    /// Use what the store holds; fetch nothing
    #[arg(long)]
    pub offline: bool,
    /// Form of the digest
    #[arg(long, value_enum, default_value_t = DigestFormat::Text)]
    pub format: DigestFormat,
    /// How the letter is written
    #[command(flatten)]
    pub form: FormArgs,
    /// Tell trips and catch of the week from the log; done as well where the mail settings say share_trips
    #[arg(long)]
    pub share_trips: bool,
    /// Mail settings, for their share_trips; without it mail.toml in the configuration folder, if it is there
    #[arg(long, value_name = "FILE")]
    pub settings: Option<PathBuf>,
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
    pub out: Option<PathBuf>,
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
