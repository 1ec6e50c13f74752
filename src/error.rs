//! The one error type of the program, and the exit status of each kind.

use std::path::PathBuf;

use crate::archive::ArchiveError;
use crate::cli::DraftError;
use crate::delivery::DeliveryError;
use crate::faces::digest::DigestMessageError;
use crate::faces::mail::MessageError;
use crate::faces::picture::PictureError;
use crate::hindcast::outlook::OutlookError;
use crate::hindcast::{InputError, ModelError};
use crate::lake::LakeError;
use crate::notices::NoticeError;
use crate::quality::QualityError;
use crate::series::StoreError;
use crate::skill::SkillError;
use crate::sources::SourceError;
use crate::species::SpeciesError;
use crate::trips::TripError;
use crate::whereabouts::learn::FitError;

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Good.
    Good,
    /// The run failed.
    Failed,
    /// Wrong usage, or a faulty file of the user: the lake, thresholds.
    Usage,
    /// A brief was made, but on data too old or too thin to trust.
    TooThin,
}

impl Status {
    /// The number that the process ends with.
    pub fn code(self) -> u8 {
        match self {
            Status::Good => 0,
            Status::Failed => 1,
            Status::Usage => 2,
            Status::TooThin => 3,
        }
    }
}

impl From<Status> for std::process::ExitCode {
    fn from(status: Status) -> Self {
        std::process::ExitCode::from(status.code())
    }
}

/// Why there is no answer. What is only missing or late is a gap inside the brief, not an error.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// No lake file.
    #[error("{}", no_lake_words(named.as_deref(), folder.as_deref(), there))]
    NoLake {
        /// What `--lake` named.
        named: Option<String>,
        /// Configuration folder that was looked in.
        folder: Option<PathBuf>,
        /// Names there.
        there: Vec<String>,
    },
    /// Two lake files would share one store.
    #[error("lake id {id:?} stands in {} and in {}: one store cannot hold two lakes; give one of them another id", files[0].display(), files[1].display())]
    TwinLakes {
        /// The id.
        id: String,
        /// The files.
        files: [PathBuf; 2],
    },
    /// `PLUNGELINE_LOOPBACK` is no address of this machine.
    #[error(
        "PLUNGELINE_LOOPBACK: found {found:?}, wanted an address of this machine such as http://127.0.0.1:8080; it is for tests, unset it"
    )]
    NotLoopback {
        /// What was found.
        found: String,
    },
    /// The lake file cannot be read, or has faults.
    #[error(transparent)]
    Lake(#[from] LakeError),
    /// `--as-of` cannot be read.
    #[error(transparent)]
    Clock(#[from] crate::clock::AsOfError),
    /// `--since` is later than the run.
    #[error("--since: found {day}, wanted a day up to {today}, that of the run")]
    SinceAhead {
        /// What was found.
        day: chrono::NaiveDate,
        /// Standard-time day of the run.
        today: chrono::NaiveDate,
    },
    /// The file of thresholds that `--quality` names.
    #[error(transparent)]
    Quality(#[from] QualityError),
    /// A species file.
    #[error(transparent)]
    Species(#[from] SpeciesError),
    /// The trip log, or a trip.
    #[error(transparent)]
    Trip(#[from] TripError),
    /// Readers, or letters to them.
    #[error(transparent)]
    Delivery(#[from] DeliveryError),
    /// Trips that no fit can use.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// Calls and trips that no score can use.
    #[error(transparent)]
    Skill(#[from] SkillError),
    /// A service, where nothing could be fetched at all.
    #[error(transparent)]
    Source(#[from] SourceError),
    /// No draft of a lake file.
    #[error(transparent)]
    Draft(#[from] DraftError),
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The archive of issued briefs.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The ledger of notices.
    #[error(transparent)]
    Notice(#[from] NoticeError),
    /// The demonstration data could not be unpacked.
    #[error("cannot unpack the demonstration data to {path}: {source}; make the folder writable, or set XDG_CACHE_HOME", path = path.display())]
    Demo {
        /// Where to.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// A brief could not be put into JSON.
    #[error("cannot put the brief into JSON: {source}")]
    Json {
        /// Why.
        #[source]
        source: serde_json::Error,
    },
    /// What a hindcast runs on.
    #[error(transparent)]
    HindcastInput(#[from] InputError),
    /// The model of a hindcast.
    #[error(transparent)]
    HindcastModel(#[from] ModelError),
    /// Outlooks on the turnover in past years.
    #[error(transparent)]
    Outlook(#[from] OutlookError),
    /// A page of them is asked for.
    #[error("turnover --hindcast: found --format html, wanted text or json: its scores have no page")]
    HindcastPage,
    /// A message that cannot be written.
    #[error(transparent)]
    Message(#[from] MessageError),
    /// A picture.
    #[error(transparent)]
    Picture(#[from] PictureError),
    /// A table in Parquet.
    #[error("cannot put a table into Parquet: {source}")]
    Parquet {
        /// Why.
        #[from]
        source: polars::error::PolarsError,
    },
    /// A file of a report.
    #[error("cannot write {path}: {source}; make the folder writable, or name another with --out", path = path.display())]
    NotWritten {
        /// File or folder.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// Standard output.
    #[error("cannot write to standard output: {source}")]
    Output {
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The runtime for network work could not be started.
    #[error("cannot start the network runtime: {source}")]
    Runtime {
        /// Why.
        #[source]
        source: std::io::Error,
    },
}

impl From<DigestMessageError> for Error {
    fn from(error: DigestMessageError) -> Self {
        match error {
            DigestMessageError::Message(error) => Error::Message(error),
            DigestMessageError::Picture(error) => Error::Picture(error),
        }
    }
}

impl Error {
    /// Exit status of this kind of error.
    pub fn status(&self) -> Status {
        match self {
            Error::Draft(DraftError::Write { .. }) => Status::Failed,
            Error::Trip(error) => match error {
                TripError::Faulty { .. }
                | TripError::Unreadable { .. }
                | TripError::TooLarge { .. }
                | TripError::UnknownForm { .. }
                | TripError::NoOutlines
                | TripError::Twin { .. }
                | TripError::NoTrip { .. }
                | TripError::NoVersion { .. }
                | TripError::Exists { .. } => Status::Usage,
                TripError::NotOurs { .. }
                | TripError::Full { .. }
                | TripError::Database { .. }
                | TripError::NotBackedUp { .. } => Status::Failed,
            },
            Error::Delivery(error) => match error {
                DeliveryError::Faulty { .. }
                | DeliveryError::Unreadable { .. }
                | DeliveryError::NoSettings { .. }
                | DeliveryError::Exposed { .. }
                | DeliveryError::NoSecret { .. }
                | DeliveryError::NoReader { .. }
                | DeliveryError::Known { .. }
                | DeliveryError::Removed { .. }
                | DeliveryError::WrongToken { .. }
                | DeliveryError::NotUnknown { .. }
                | DeliveryError::WeekOver { .. }
                | DeliveryError::Letter { .. } => Status::Usage,
                DeliveryError::Busy { .. }
                | DeliveryError::NotOurs { .. }
                | DeliveryError::Database { .. }
                | DeliveryError::Connect { .. }
                | DeliveryError::Refused { .. } => Status::Failed,
            },
            Error::Fit(FitError::Choice { .. })
            | Error::Outlook(OutlookError::Model(_) | OutlookError::TooFew { .. })
            | Error::HindcastPage => Status::Usage,
            Error::NoLake { .. }
            | Error::SinceAhead { .. }
            | Error::Draft(_)
            | Error::TwinLakes { .. }
            | Error::NotLoopback { .. }
            | Error::Lake(_)
            | Error::Clock(_)
            | Error::Quality(_)
            | Error::Message(_)
            | Error::Species(_)
            | Error::HindcastInput(_)
            | Error::HindcastModel(_) => Status::Usage,
            Error::Fit(_)
            | Error::Outlook(_)
            | Error::Skill(_)
            | Error::Source(_)
            | Error::Store(_)
            | Error::Archive(_)
            | Error::Notice(_)
            | Error::Demo { .. }
            | Error::Json { .. }
            | Error::Picture(_)
            | Error::Parquet { .. }
            | Error::NotWritten { .. }
            | Error::Output { .. }
            | Error::Runtime { .. } => Status::Failed,
        }
    }
}

fn no_lake_words(named: Option<&str>, folder: Option<&std::path::Path>, there: &[String]) -> String {
    let wanted = named.map_or("no lake is named".to_owned(), |name| {
        format!("there is no lake file {name:?}")
    });
    let place = folder.map_or("no configuration folder".to_owned(), |f| f.display().to_string());
    let there = if there.is_empty() {
        "none".to_owned()
    } else {
        there.join(", ")
    };
    format!(
        "{wanted}: found in {place}: {there}; name one with --lake FILE, put one there, or try --demo \
         (`plungeline lake new` begins one; docs/lake-file.md)"
    )
}
