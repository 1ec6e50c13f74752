//! The command: position, catalogues, table, draft.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDate, SubsecRound as _, Utc};

use super::args::{LakeNewArgs, TableArgs, position, search};
use super::error::DraftError;
use super::{ask, error};
use crate::cli::output;
use crate::error::{Error, Status};
use crate::faces::lake::{render_draft, render_found};
use crate::lake::{Capacity, CapacityKind, hypsography_of};
use crate::reports::draft::{DraftFacts, draft_of, groups_of};
use crate::sources::csv::{CapacityColumns, read_capacity};
use crate::sources::cwms::{self, read_rating};
use crate::sources::reply::{FILE_CAP_BYTES, unpacked};
use crate::sources::{
    Candidate, Client, Found, Mode, ReadError, Search, Settings, SourceError, datum_word, read_file,
};
use crate::species::builtin_ids;

/// The command. A catalogue that does not answer is told, and is no error.
///
/// # Errors
/// [`DraftError`], and whatever keeps the network client or the output from working.
pub fn run(args: &LakeNewArgs) -> Result<Status, Error> {
    let at = args.at.as_deref().map(position).transpose()?;
    // Before any request: what is wrong with the arguments costs no waiting.
    search(at.unwrap_or((0.0, 0.0)), &args.within)?;
    let capacity = capacity(&args.table)?;
    if let Some(path) = args.out.as_deref().filter(|path| !is_standard_output(path)) {
        refuse_existing(path, args.force)?;
    }
    let now = Utc::now().trunc_subsecs(0);
    let runtime = tokio::runtime::Runtime::new().map_err(|source| Error::Runtime { source })?;
    let (search, found) = runtime.block_on(look(args, at, now))?;
    let (origin, table_datum, capacity) = match capacity {
        Some(given) => (given.origin, given.datum, Some(given.capacity)),
        None => (String::new(), None, None),
    };
    let id = id_of(args.name.as_deref(), &search);
    let draft = draft_of(DraftFacts {
        id: id.clone(),
        name: args.name.clone(),
        latitude_deg: search.latitude_deg,
        longitude_deg: search.longitude_deg,
        time_zone: found.time_zone,
        contact: args.contact.clone(),
        datum: args.datum.as_deref().map(datum_word),
        capacity,
        capacity_origin: origin,
        capacity_datum: args
            .table
            .hypsography_datum
            .clone()
            .or(table_datum)
            .as_deref()
            .map(datum_word),
        today: day_of(args, &found.candidates, now),
        candidates: found.candidates,
    });
    let species: Vec<&str> = builtin_ids().collect();
    let text = render_draft(&draft, args.units.into(), &species);
    let path = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{id}.toml")));
    let listing = render_found(&groups_of(&draft.facts.candidates), args.units.into());
    if is_standard_output(&path) {
        output::remark(listing.trim_end());
        output::print(&text)?;
        return Ok(Status::Good);
    }
    write(&path, &text, args.force)?;
    if listing.is_empty() {
        output::remark(
            "no station was found: the draft holds weather by position only; look farther with --within",
        );
    }
    output::print(&listing)?;
    output::remark(&format!(
        "written: {path}; answer its questions, then `plungeline lake check {path}`",
        path = path.display()
    ));
    Ok(Status::Good)
}

/// What the catalogues have around the position, that of the name where no position was given.
async fn look(
    args: &LakeNewArgs,
    at: Option<(f64, f64)>,
    now: DateTime<Utc>,
) -> Result<(Search, Found), Error> {
    let mode = match (&args.replay, &args.record) {
        (Some(dir), _) => Mode::Replay {
            dir: dir.clone(),
            as_of: now,
        },
        (None, Some(dir)) => Mode::Record {
            dir: dir.clone(),
            as_of: now,
        },
        (None, None) => Mode::Live,
    };
    let settings = Settings {
        contact: args.contact.clone(),
        ..Settings::default()
    }
    .with_keys(|name| std::env::var(name).ok());
    let client = Client::new(mode, settings).await?;
    let at = match (at, &args.name) {
        (Some(at), _) => at,
        (None, name) => {
            let place = ask::place_named(&client, name.as_deref().unwrap_or_default()).await?;
            output::remark(&format!(
                "position {:.4},{:.4} of {} ({} {})",
                place.latitude_deg, place.longitude_deg, place.name, place.service, place.station
            ));
            (place.latitude_deg, place.longitude_deg)
        }
    };
    let search = search(at, &args.within)?;
    let found = ask::near(&client, &search).await;
    Ok((search, found))
}

/// The day by which a series still runs: today; in a replay that of the newest value in it, for its replies are of
/// that day.
fn day_of(args: &LakeNewArgs, candidates: &[Candidate], now: DateTime<Utc>) -> NaiveDate {
    let newest = || candidates.iter().filter_map(|c| c.until).max();
    args.replay
        .as_ref()
        .and_then(|_| newest())
        .unwrap_or_else(|| now.date_naive())
}

/// A table of the lake's shape.
struct Given {
    /// Its file, for people.
    origin: String,
    /// Vertical datum, where the file itself states it.
    datum: Option<String>,
    /// The shape.
    capacity: Capacity,
}

/// The hypsography of a table.
fn capacity(args: &TableArgs) -> Result<Option<Given>, Error> {
    let Some(path) = &args.hypsography else {
        return Ok(None);
    };
    let bytes = read_file(path, FILE_CAP_BYTES)?;
    let (kind, rows, datum) = match columns_of(args) {
        Some(columns) => (columns.kind, rows_of_csv(path, &bytes, &columns)?, None),
        None => rows_of_rating(path, &bytes)?,
    };
    let capacity = hypsography_of(kind, &rows).map_err(|source| DraftError::Table {
        path: path.clone(),
        source,
    })?;
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
    Ok(Some(Given {
        origin: name.unwrap_or_default(),
        datum,
        capacity,
    }))
}

/// The columns of a CSV table; `None` where none are named.
fn columns_of(args: &TableArgs) -> Option<CapacityColumns> {
    let (kind, figure, unit) = match (&args.area_column, &args.storage_column) {
        (Some(column), _) => (CapacityKind::Area, column, &args.area_unit),
        (None, Some(column)) => (CapacityKind::Storage, column, &args.storage_unit),
        (None, None) => return None,
    };
    Some(CapacityColumns {
        elevation: args.elevation_column.clone().unwrap_or_default(),
        elevation_unit: args.elevation_unit.word().to_owned(),
        kind,
        figure: figure.clone(),
        figure_unit: unit.clone(),
    })
}

fn rows_of_csv(path: &Path, bytes: &[u8], columns: &CapacityColumns) -> Result<Vec<(f64, f64)>, Error> {
    let (rows, faults) = read_capacity(bytes, columns).map_err(|fault| read_error("csv", path, fault))?;
    if let (true, Some(first)) = (rows.is_empty(), faults.first()) {
        return Err(DraftError::NoRows {
            path: path.to_owned(),
            first: first.clone(),
        }
        .into());
    }
    for fault in &faults {
        output::remark(&format!("left out: {}: {fault}", path.display()));
    }
    Ok(rows)
}

/// Kind, rows in SI and datum of a rating file. A CSV file without its columns named is told which options name them.
type RatingRows = (CapacityKind, Vec<(f64, f64)>, Option<String>);

fn rows_of_rating(path: &Path, bytes: &[u8]) -> Result<RatingRows, Error> {
    let fault = |fault| Error::from(read_error(cwms::NAME, path, fault));
    let plain = unpacked(bytes, FILE_CAP_BYTES).map_err(fault)?;
    if plain.iter().find(|b| !b.is_ascii_whitespace()) != Some(&b'<') {
        return Err(DraftError::NoColumns {
            path: path.to_owned(),
        }
        .into());
    }
    let rating = read_rating(&plain).map_err(fault)?;
    let (kind, rows) = rating.capacity_rows().map_err(fault)?;
    Ok((kind, rows, rating.datum))
}

fn read_error(service: &'static str, path: &Path, fault: ReadError) -> SourceError {
    SourceError::Read {
        service,
        origin: path.display().to_string(),
        fault,
    }
}

fn is_standard_output(path: &Path) -> bool {
    path == Path::new("-")
}

fn refuse_existing(path: &Path, force: bool) -> Result<(), error::DraftError> {
    if !force && path.exists() {
        return Err(DraftError::Exists {
            path: path.to_owned(),
        });
    }
    Ok(())
}

/// Writes the draft; without `force` only where nothing stands, also if it came to stand there a moment ago.
fn write(path: &Path, text: &str, force: bool) -> Result<(), DraftError> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true);
    if force {
        options.create(true).truncate(true);
    } else {
        options.create_new(true);
    }
    let written = options
        .open(path)
        .and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|source| match source.kind() {
        std::io::ErrorKind::AlreadyExists => DraftError::Exists {
            path: path.to_owned(),
        },
        _ => DraftError::Write {
            path: path.to_owned(),
            source,
        },
    })
}

/// Lower-case letters, digits and hyphens of the name; without one, of the position.
fn id_of(name: Option<&str>, search: &Search) -> String {
    let slug = |text: &str| {
        let lower: String = text
            .chars()
            .map(|c| {
                if c.is_ascii_alphanumeric() {
                    c.to_ascii_lowercase()
                } else {
                    ' '
                }
            })
            .collect();
        let joined = lower.split_whitespace().collect::<Vec<_>>().join("-");
        joined
            .chars()
            .take(60)
            .collect::<String>()
            .trim_matches('-')
            .to_owned()
    };
    let by_name = name.map(slug).filter(|id| !id.is_empty());
    by_name.unwrap_or_else(|| {
        slug(&format!(
            "lake {:.2} {:.2}",
            search.latitude_deg, search.longitude_deg
        ))
    })
}
