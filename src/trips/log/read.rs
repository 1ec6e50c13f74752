//! Reading trips and their versions.

use std::str::FromStr;

use chrono::{DateTime, Utc};
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension as _, Row, Statement};

use super::open::{TripLog, refused};
use super::write::in_words;
use crate::lake::{SpeciesId, ZoneId};
use crate::trips::error::TripError;
use crate::trips::model::{Catch, Instrument, Leg, Light, Mark, MarkKind, Origin, Reading, Reason, Trip};

/// A trip as it stands now, with its number.
pub type StoredTrip = (u32, Trip);

/// A version of a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct Version {
    /// Number of the version, from 1.
    pub version: u32,
    /// When it was written.
    pub recorded_at: DateTime<Utc>,
    /// Whether it says that the trip was removed.
    pub removed: bool,
    /// The trip.
    pub trip: Trip,
}

impl TripLog {
    /// All trips as they stand, those that were removed left out, by day and number.
    ///
    /// # Errors
    /// [`TripError::Database`].
    pub fn trips(&self) -> Result<Vec<StoredTrip>, TripError> {
        let mut trips = current_trips(&self.connection).map_err(|e| refused("reading", &self.path, e))?;
        trips.sort_by_key(|(number, trip)| (trip.date, *number));
        Ok(trips)
    }

    /// All versions of a trip, oldest first; the last one is how it stands.
    ///
    /// # Errors
    /// [`TripError::NoTrip`], [`TripError::Database`].
    pub fn versions(&self, number: u32) -> Result<Vec<Version>, TripError> {
        let told = |e| refused("reading", &self.path, e);
        let newest = newest_version(&self.connection, number).map_err(told)?;
        let Some(newest) = newest else {
            let there = numbers(&self.connection).map_err(told)?;
            return Err(TripError::NoTrip {
                number,
                there: in_words(&there),
            });
        };
        let mut select = Select::new(&self.connection).map_err(told)?;
        let versions = (1..=newest).map(|version| select.version(number, version));
        versions.collect::<rusqlite::Result<_>>().map_err(told)
    }

    /// One version of a trip; without a number, how it stands.
    ///
    /// # Errors
    /// [`TripError::NoVersion`], and as [`TripLog::versions`].
    pub fn version(&self, number: u32, version: Option<u32>) -> Result<Version, TripError> {
        let mut versions = self.versions(number)?;
        let newest = versions.len();
        let wanted = version.map_or(newest, |v| v as usize);
        match wanted.checked_sub(1).filter(|at| *at < newest) {
            Some(at) => Ok(versions.swap_remove(at)),
            None => Err(TripError::NoVersion {
                number,
                version: version.unwrap_or_default(),
                newest: u32::try_from(newest).unwrap_or(u32::MAX),
            }),
        }
    }
}

/// The numbers of all trips that there ever were.
pub(super) fn numbers(from: &Connection) -> rusqlite::Result<Vec<u32>> {
    let mut statement = from.prepare("select number from trips order by number")?;
    let found = statement.query_map([], |row| row.get(0))?;
    found.collect()
}

/// The newest version of a trip.
pub(super) fn newest_version(from: &Connection, number: u32) -> rusqlite::Result<Option<u32>> {
    let sql = "select version from versions where number = ?1 order by version desc limit 1";
    from.prepare(sql)?
        .query_row([number], |row| row.get(0))
        .optional()
}

/// All trips that are not removed.
pub(super) fn current_trips(from: &Connection) -> rusqlite::Result<Vec<StoredTrip>> {
    let mut statement =
        from.prepare("select number, max(version) from versions group by number order by number")?;
    let newest = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let newest: Vec<(u32, u32)> = newest.collect::<rusqlite::Result<_>>()?;
    let mut select = Select::new(from)?;
    let mut trips = Vec::with_capacity(newest.len());
    for (number, version) in newest {
        let version = select.version(number, version)?;
        if !version.removed {
            trips.push((number, version.trip));
        }
    }
    Ok(trips)
}

/// The statements that read a version with all its parts, made once for as many versions as are read.
pub(super) struct Select<'c> {
    version: Statement<'c>,
    legs: Statement<'c>,
    catches: Statement<'c>,
    marks: Statement<'c>,
    readings: Statement<'c>,
}

impl<'c> Select<'c> {
    /// Makes them.
    pub(super) fn new(from: &'c Connection) -> rusqlite::Result<Select<'c>> {
        let prepare = |what: &str, table: &str, order: &str| {
            from.prepare(&format!(
                "select {what} from {table} where number = ?1 and version = ?2 {order}"
            ))
        };
        let leg = "zone, stretch, start, duration_h, rods, depth_m, speed_m_s, drift_m_s, drift_deg, presentation, reason, light, \
                   catch_known";
        let reading = "zone, time, instrument, depth_m, temp_degc, temp_error_degc, oxygen_mg_l, oxygen_error_mg_l, secchi_m";
        let fish = "leg, species, count, released, length_m, depth_m";
        Ok(Select {
            version: prepare("recorded_at, removed, date, origin, note", "versions", "")?,
            legs: prepare(leg, "legs", "order by leg")?,
            catches: prepare(fish, "catches", "order by leg, entry")?,
            marks: prepare("zone, time, kind, depth_m, count", "marks", "order by entry")?,
            readings: prepare(reading, "readings", "order by entry")?,
        })
    }

    /// A version with all its parts.
    pub(super) fn version(&mut self, number: u32, version: u32) -> rusqlite::Result<Version> {
        let key = [number, version];
        let mut found = self.version.query_row(key, |row| {
            let trip = Trip {
                date: parsed(row, 2)?,
                origin: word(row, 3, Origin::from_word)?,
                note: row.get(4)?,
                legs: Vec::new(),
                marks: Vec::new(),
                readings: Vec::new(),
            };
            Ok(Version {
                version,
                recorded_at: parsed(row, 0)?,
                removed: row.get(1)?,
                trip,
            })
        })?;
        let trip = &mut found.trip;
        trip.legs = all(&mut self.legs, key, leg_of)?;
        let fish = all(&mut self.catches, key, |row| {
            Ok((row.get::<_, u32>(0)? as usize, fish_of(row)?))
        })?;
        for (leg, fish) in fish {
            // The tables hold no catch without its leg.
            if let Some(leg) = leg.checked_sub(1).and_then(|at| trip.legs.get_mut(at)) {
                leg.catches.push(fish);
            }
        }
        trip.marks = all(&mut self.marks, key, mark_of)?;
        trip.readings = all(&mut self.readings, key, reading_of)?;
        Ok(found)
    }
}

fn all<T>(
    statement: &mut Statement<'_>,
    key: [u32; 2],
    read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    let rows = statement.query_map(key, read)?;
    rows.collect()
}

fn mark_of(row: &Row<'_>) -> rusqlite::Result<Mark> {
    Ok(Mark {
        zone: ZoneId(row.get(0)?),
        time: maybe_parsed(row, 1)?,
        kind: word(row, 2, MarkKind::from_word)?,
        depth_m: row.get(3)?,
        count: row.get(4)?,
    })
}

fn reading_of(row: &Row<'_>) -> rusqlite::Result<Reading> {
    Ok(Reading {
        zone: ZoneId(row.get(0)?),
        time: maybe_parsed(row, 1)?,
        instrument: word(row, 2, Instrument::from_word)?,
        depth_m: row.get(3)?,
        temp_degc: row.get(4)?,
        temp_error_degc: row.get(5)?,
        oxygen_mg_l: row.get(6)?,
        oxygen_error_mg_l: row.get(7)?,
        secchi_m: row.get(8)?,
    })
}

fn leg_of(row: &Row<'_>) -> rusqlite::Result<Leg> {
    Ok(Leg {
        zone: ZoneId(row.get(0)?),
        stretch: row.get(1)?,
        start: maybe_parsed(row, 2)?,
        duration_h: row.get(3)?,
        rods: row.get(4)?,
        depth_m: row.get(5)?,
        speed_m_s: row.get(6)?,
        drift_m_s: row.get(7)?,
        drift_deg: row.get(8)?,
        presentation: row.get(9)?,
        reason: maybe_word(row, 10, Reason::from_word)?,
        light: maybe_word(row, 11, Light::from_word)?,
        catch_known: row.get(12)?,
        catches: Vec::new(),
    })
}

fn fish_of(row: &Row<'_>) -> rusqlite::Result<Catch> {
    Ok(Catch {
        species: SpeciesId(row.get(1)?),
        count: row.get(2)?,
        released: row.get(3)?,
        length_m: row.get(4)?,
        depth_m: row.get(5)?,
    })
}

/// A text that is none of those that are written: the file was changed by another hand.
fn strange(at: usize, text: &str) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(
        at,
        Type::Text,
        format!("found {text:?}, no word of a trip log").into(),
    )
}

fn maybe_parsed<T: FromStr>(row: &Row<'_>, at: usize) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(at)?;
    text.map(|text| text.parse().map_err(|_| strange(at, &text)))
        .transpose()
}

fn parsed<T: FromStr>(row: &Row<'_>, at: usize) -> rusqlite::Result<T> {
    maybe_parsed(row, at)?.ok_or_else(|| strange(at, "nothing"))
}

fn maybe_word<T>(row: &Row<'_>, at: usize, of: fn(&str) -> Option<T>) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(at)?;
    text.map(|text| of(&text).ok_or_else(|| strange(at, &text)))
        .transpose()
}

fn word<T>(row: &Row<'_>, at: usize, of: fn(&str) -> Option<T>) -> rusqlite::Result<T> {
    maybe_word(row, at, of)?.ok_or_else(|| strange(at, "nothing"))
}
