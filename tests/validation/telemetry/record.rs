//! The recorded telemetry as its authors wrote it: a folder of CSV tables, plain or gzip.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use flate2::read::MultiGzDecoder;
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// Why a record cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// A table is not there, or there are several.
    #[error("looking for table {table} in {}: found {found} files, wanted {table}.csv or one {table}_....csv, plain or .gz; \
             name the folder that holds capture, deployment, detection, recapture, section and station", folder.display())]
    Table {
        /// Table.
        table: &'static str,
        /// Folder.
        folder: PathBuf,
        /// Files that could be it.
        found: usize,
    },
    /// A file cannot be opened.
    #[error("reading {}: {source}; see that the file is there and may be read", path.display())]
    Open {
        /// File.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A row is not what its table holds.
    #[error("reading {}: {source}; wanted the columns of the published tables, times as 2010-04-21T15:59:19Z", path.display())]
    Row {
        /// File.
        path: PathBuf,
        /// Why, with the line.
        source: csv::Error,
    },
    /// A row speaks of something that another table lacks.
    #[error(
        "joining the tables: {what} {name:?} is in {of} but not in {lacks}; take all tables from one release of the data"
    )]
    Unknown {
        /// What it is.
        what: &'static str,
        /// Its name.
        name: String,
        /// Table that has it.
        of: &'static str,
        /// Table that lacks it.
        lacks: &'static str,
    },
}

/// A captured and tagged fish.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Capture {
    #[serde(rename = "Capture")]
    pub fish: String,
    #[serde(rename = "DateTimeCapture")]
    pub at: DateTime<Utc>,
    #[serde(rename = "SectionCapture")]
    pub section: String,
    #[serde(rename = "Species")]
    pub species: String,
    /// The time of the capture itself where the fish has no acoustic tag.
    #[serde(rename = "DateTimeTagExpire")]
    pub tag_expires: DateTime<Utc>,
}

/// An angler's report of a tagged fish.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Recapture {
    #[serde(rename = "DateTimeRecapture")]
    pub at: DateTime<Utc>,
    #[serde(rename = "Capture")]
    pub fish: String,
    #[serde(rename = "Released", deserialize_with = "yes_or_no")]
    pub released: bool,
}

/// A receiver in the water.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Deployment {
    #[serde(rename = "Station")]
    pub station: String,
    #[serde(rename = "Receiver")]
    pub receiver: String,
    #[serde(rename = "DateTimeReceiverIn")]
    pub from: DateTime<Utc>,
    #[serde(rename = "DateTimeReceiverOut")]
    pub until: DateTime<Utc>,
}

/// A place of receivers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Station {
    #[serde(rename = "Station")]
    pub name: String,
    #[serde(rename = "Section")]
    pub section: String,
}

/// A section of lake or river.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Section {
    #[serde(rename = "Section")]
    pub name: String,
    /// `Lentic` or `Lotic`.
    #[serde(rename = "Habitat")]
    pub habitat: String,
}

/// An hour in which a receiver heard a fish.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Detection {
    /// Beginning of the hour.
    #[serde(rename = "DateTimeDetection")]
    pub at: DateTime<Utc>,
    #[serde(rename = "Capture")]
    pub fish: String,
    #[serde(rename = "Receiver")]
    pub receiver: String,
}

/// All tables.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    pub captures: Vec<Capture>,
    pub recaptures: Vec<Recapture>,
    pub deployments: Vec<Deployment>,
    pub stations: Vec<Station>,
    pub sections: Vec<Section>,
    pub detections: Vec<Detection>,
}

/// Reads the tables of `folder`; the table of detections may bear a span of years in its name.
pub fn read_record(folder: &Path) -> Result<Record, RecordError> {
    Ok(Record {
        captures: read_rows(folder, "capture")?,
        recaptures: read_rows(folder, "recapture")?,
        deployments: read_rows(folder, "deployment")?,
        stations: read_rows(folder, "station")?,
        sections: read_rows(folder, "section")?,
        detections: read_rows(folder, "detection")?,
    })
}

fn read_rows<T: DeserializeOwned>(folder: &Path, table: &'static str) -> Result<Vec<T>, RecordError> {
    let path = table_path(folder, table)?;
    let open = |source| RecordError::Open {
        path: path.clone(),
        source,
    };
    let file = File::open(&path).map_err(open)?;
    let packed = path.extension().is_some_and(|e| e == "gz");
    let bytes: Box<dyn Read> = if packed {
        Box::new(MultiGzDecoder::new(file))
    } else {
        Box::new(file)
    };
    let mut reader = csv::Reader::from_reader(std::io::BufReader::new(bytes));
    let rows: Result<Vec<T>, csv::Error> = reader.deserialize().collect();
    rows.map_err(|source| RecordError::Row { path, source })
}

/// The one file of a table: `capture.csv` is it, `recapture.csv` is not.
fn table_path(folder: &Path, table: &'static str) -> Result<PathBuf, RecordError> {
    let open = |source| RecordError::Open {
        path: folder.to_owned(),
        source,
    };
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(open)? {
        let path = entry.map_err(open)?.path();
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let stem = name.strip_suffix(".csv.gz").or_else(|| name.strip_suffix(".csv"));
        if stem.is_some_and(|s| s == table || s.starts_with(&format!("{table}_"))) {
            found.push(path);
        }
    }
    match (found.pop(), found.len()) {
        (Some(path), 0) => Ok(path),
        (last, others) => Err(RecordError::Table {
            table,
            folder: folder.to_owned(),
            found: others + usize::from(last.is_some()),
        }),
    }
}

/// `True` and `False`, as the authors' program wrote them.
fn yes_or_no<'de, D: serde::Deserializer<'de>>(from: D) -> Result<bool, D::Error> {
    match String::deserialize(from)?.as_str() {
        "True" => Ok(true),
        "False" => Ok(false),
        other => Err(serde::de::Error::custom(format!(
            "found {other:?}, wanted True or False"
        ))),
    }
}
