//! Writing trips: each call is one transaction.

use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use rusqlite::{Statement, Transaction, TransactionBehavior, params};

use super::open::{TripLog, refused};
use super::read::{Select, current_trips, newest_version, numbers};
use crate::trips::error::TripError;
use crate::trips::model::Trip;

/// What is done with a trip that is in the log already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Twins {
    /// Nothing is added at all.
    Refuse,
    /// It is passed over, and the others are added.
    Skip,
    /// It is added once more.
    Add,
}

/// What came of adding trips.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Added {
    /// Numbers of the new trips.
    pub numbers: Vec<u32>,
    /// Day of each trip that was there already, and the number it has.
    pub twins: Vec<(NaiveDate, u32)>,
}

impl TripLog {
    /// Adds trips in one transaction.
    ///
    /// # Errors
    /// [`TripError::Twin`] for a trip that is there already, where twins are refused; [`TripError::Full`],
    /// [`TripError::Database`].
    pub fn add(&mut self, trips: &[Trip], twins: Twins, at: DateTime<Utc>) -> Result<Added, TripError> {
        let path = self.path.clone();
        let told = |source| refused("writing", &path, source);
        let transaction = begin(self)?;
        let mut there = match twins {
            Twins::Refuse | Twins::Skip => current_trips(&transaction).map_err(told)?,
            Twins::Add => Vec::new(),
        };
        let mut number = numbers(&transaction)
            .map_err(told)?
            .into_iter()
            .max()
            .unwrap_or(0);
        let mut insert = Insert::new(&transaction).map_err(told)?;
        let mut added = Added::default();
        for trip in trips {
            let twin = there.iter().find(|(_, other)| trip.is_twin_of(other));
            match (twin, twins) {
                (Some((number, _)), Twins::Refuse) => {
                    return Err(TripError::Twin {
                        date: trip.date,
                        number: *number,
                    });
                }
                (Some((number, _)), Twins::Skip) => {
                    added.twins.push((trip.date, *number));
                    continue;
                }
                _ => number += 1,
            }
            insert.trip.execute([number]).map_err(told)?;
            insert.version((number, 1), trip, false, at).map_err(told)?;
            if twins != Twins::Add {
                there.push((number, trip.clone()));
            }
            added.numbers.push(number);
        }
        drop(insert);
        transaction.commit().map_err(told)?;
        Ok(added)
    }

    /// Puts a new version of a trip in the place of the one it has; gives its number of version. A trip that was removed
    /// comes back so.
    ///
    /// # Errors
    /// [`TripError::NoTrip`], [`TripError::Full`], [`TripError::Database`].
    pub fn edit(&mut self, number: u32, trip: &Trip, at: DateTime<Utc>) -> Result<u32, TripError> {
        self.new_version(number, at, |_, _| Ok((trip.clone(), false)))
    }

    /// Removes a trip; its versions stay.
    ///
    /// # Errors
    /// As [`TripLog::edit`].
    pub fn remove(&mut self, number: u32, at: DateTime<Utc>) -> Result<u32, TripError> {
        self.new_version(number, at, |transaction, newest| {
            Ok((Select::new(transaction)?.version(number, newest)?.trip, true))
        })
    }

    fn new_version(
        &mut self,
        number: u32,
        at: DateTime<Utc>,
        make: impl FnOnce(&Transaction<'_>, u32) -> rusqlite::Result<(Trip, bool)>,
    ) -> Result<u32, TripError> {
        let path = self.path.clone();
        let told = |source| refused("writing", &path, source);
        let transaction = begin(self)?;
        let Some(newest) = newest_version(&transaction, number).map_err(told)? else {
            let there = numbers(&transaction).map_err(told)?;
            return Err(TripError::NoTrip {
                number,
                there: in_words(&there),
            });
        };
        let (trip, removed) = make(&transaction, newest).map_err(told)?;
        let written = Insert::new(&transaction)
            .and_then(|mut insert| insert.version((number, newest + 1), &trip, removed, at));
        written.map_err(told)?;
        transaction.commit().map_err(told)?;
        Ok(newest + 1)
    }
}

/// The numbers that there are, in words.
pub(super) fn in_words(numbers: &[u32]) -> String {
    match (numbers.iter().min(), numbers.iter().max()) {
        (Some(first), Some(last)) => format!("numbers from {first} to {last}"),
        _ => "an empty log".to_owned(),
    }
}

fn begin(log: &mut TripLog) -> Result<Transaction<'_>, TripError> {
    let path = log.path.clone();
    let begun = log
        .connection
        .transaction_with_behavior(TransactionBehavior::Immediate);
    begun.map_err(|source| refused("writing", &path, source))
}

/// The statements that write a version with all its parts, made once for as many versions as are written.
struct Insert<'t> {
    trip: Statement<'t>,
    version: Statement<'t>,
    leg: Statement<'t>,
    catch: Statement<'t>,
    mark: Statement<'t>,
    reading: Statement<'t>,
}

impl<'t> Insert<'t> {
    fn new(to: &'t Transaction<'_>) -> rusqlite::Result<Insert<'t>> {
        let prepare = |table: &str, columns: &str| {
            let places: Vec<String> = (1..=columns.split(',').count())
                .map(|i| format!("?{i}"))
                .collect();
            to.prepare(&format!(
                "insert into {table} ({columns}) values ({})",
                places.join(", ")
            ))
        };
        let leg = "number, version, leg, zone, stretch, start, duration_h, rods, depth_m, speed_m_s, drift_m_s, drift_deg, \
                   presentation, reason, light, catch_known";
        let reading = "number, version, entry, zone, time, instrument, depth_m, temp_degc, temp_error_degc, oxygen_mg_l, \
                       oxygen_error_mg_l, secchi_m";
        Ok(Insert {
            trip: prepare("trips", "number")?,
            version: prepare(
                "versions",
                "number, version, recorded_at, removed, date, origin, note",
            )?,
            leg: prepare("legs", leg)?,
            catch: prepare(
                "catches",
                "number, version, leg, entry, species, count, released, length_m, depth_m",
            )?,
            mark: prepare(
                "marks",
                "number, version, entry, zone, time, kind, depth_m, count",
            )?,
            reading: prepare("readings", reading)?,
        })
    }

    /// Writes a version.
    fn version(
        &mut self,
        (number, version): (u32, u32),
        trip: &Trip,
        removed: bool,
        at: DateTime<Utc>,
    ) -> rusqlite::Result<()> {
        let (date, origin) = (trip.date.to_string(), trip.origin.word());
        self.version.execute(params![
            number,
            version,
            time_text(at),
            removed,
            date,
            origin,
            trip.note
        ])?;
        for (leg, of) in (1u32..).zip(&trip.legs) {
            self.leg.execute(params![
                number,
                version,
                leg,
                of.zone.as_str(),
                of.stretch,
                of.start.map(time_text),
                of.duration_h,
                of.rods,
                of.depth_m,
                of.speed_m_s,
                of.drift_m_s,
                of.drift_deg,
                of.presentation,
                of.reason.map(|r| r.word()),
                of.light.map(|l| l.word()),
                of.catch_known
            ])?;
            for (entry, fish) in (1u32..).zip(&of.catches) {
                let of = (
                    fish.species.as_str(),
                    fish.count,
                    fish.released,
                    fish.length_m,
                    fish.depth_m,
                );
                self.catch
                    .execute(params![number, version, leg, entry, of.0, of.1, of.2, of.3, of.4])?;
            }
        }
        for (entry, mark) in (1u32..).zip(&trip.marks) {
            let (zone, kind) = (mark.zone.as_str(), mark.kind.word());
            let time = mark.time.map(time_text);
            self.mark.execute(params![
                number,
                version,
                entry,
                zone,
                time,
                kind,
                mark.depth_m,
                mark.count
            ])?;
        }
        for (entry, reading) in (1u32..).zip(&trip.readings) {
            self.reading.execute(params![
                number,
                version,
                entry,
                reading.zone.as_str(),
                reading.time.map(time_text),
                reading.instrument.word(),
                reading.depth_m,
                reading.temp_degc,
                reading.temp_error_degc,
                reading.oxygen_mg_l,
                reading.oxygen_error_mg_l,
                reading.secchi_m
            ])?;
        }
        Ok(())
    }
}

fn time_text(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}
