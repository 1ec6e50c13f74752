//! Tables to rows in time: spans of means, instants.

use std::path::Path;

use chrono::{DateTime, Duration, Utc};

use super::drawn::{drawn_rows, mend_drawn};
use super::error::InputError;
use super::input::Files;
use super::note::InputNote;
use crate::column::forcing::{FlowRecord, Steps, Track, WeatherRecord};
use crate::lake::{Rows, Scale, StampAt, TableFile, WeatherTable, WeatherWhat};
use crate::math::span_means::SpanRow;
use crate::physics::atmosphere::wind_height_factor;
use crate::sources::csv::{Columns, StampZone, Wanted, read_columns};
use crate::sources::stamp::Stamp;
use crate::units::S_PER_DAY;

/// Height of the wind that drives the columns, m.
const WIND_HEIGHT_M: f64 = 10.0;
/// Roughness of water, m.
const WATER_ROUGHNESS_M: f64 = 2e-4;
/// Longest gap of a weather table that is filled where the lake file says nothing: half a day, and of rows of more than
/// 4 h three rows (project choice).
const LONGEST_GAP_S: f64 = 12.0 * 3600.0;
const LONGEST_GAP_ROWS: f64 = 3.0;

/// Columns of a table, with the zone of its stamps.
pub(super) struct Read {
    pub columns: Columns,
    pub zone: StampZone,
}

/// The columns of a table; rows that were left out become a note.
pub(super) fn read_table(
    table: &TableFile,
    names: &[&str],
    times_repeat: bool,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Read, InputError> {
    let fault = |fault| InputError::Read {
        file: table.file.clone(),
        fault,
    };
    let zone = StampZone::read(&table.stamp_zone).map_err(fault)?;
    let wanted = Wanted {
        time: Some(&table.time),
        zone,
        missing: &table.missing,
        columns: names,
        times_repeat,
    };
    let bytes = files.bytes(&table.file)?;
    let columns = read_columns(&bytes, &wanted).map_err(fault)?;
    note_faults(&table.file, columns.fault_count, columns.faults.first(), notes);
    Ok(Read { columns, zone })
}

pub(super) fn note_faults(
    file: &Path,
    count: usize,
    first: Option<&crate::sources::RowFault>,
    notes: &mut Vec<InputNote>,
) {
    if let Some(first) = first {
        notes.push(InputNote::RowsLeftOut {
            file: file.to_owned(),
            count,
            first: first.to_string(),
        });
    }
}

/// The span that a row stands for. A row of 24 hours is a civil day of its zone, 23 or 25 hours long where clocks
/// change.
fn span_of(
    stamp: Stamp,
    step_s: f64,
    at: StampAt,
    zone: StampZone,
) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let instant = instant_of(stamp, zone)?;
    let step = Duration::milliseconds((step_s * 1000.0).round() as i64);
    let whole_day = step_s == S_PER_DAY;
    let day_off = |days: i64| match zone {
        StampZone::Named(zone) if whole_day => {
            let civil = instant.with_timezone(&zone).naive_local() + Duration::days(days);
            StampZone::Named(zone).instant(civil, None)
        }
        _ => instant.checked_add_signed(step * i32::try_from(days).ok()?),
    };
    match at {
        StampAt::Start => Some((instant, day_off(1)?)),
        StampAt::End => Some((day_off(-1)?, instant)),
        StampAt::Middle => Some((instant - step / 2, instant + step / 2)),
    }
}

/// The instant of a stamp; of a day its first.
fn instant_of(stamp: Stamp, zone: StampZone) -> Option<DateTime<Utc>> {
    match stamp {
        Stamp::Instant(instant) => Some(instant),
        Stamp::Day(day) => zone.day_start(day),
    }
}

fn seconds(at: DateTime<Utc>, steps: Steps) -> f64 {
    (at - steps.start).num_milliseconds() as f64 / 1000.0
}

/// Spans of every row, in seconds since the start.
fn spans(read: &Read, step_s: f64, at: StampAt, shift_s: f64, steps: Steps) -> Vec<Option<(f64, f64)>> {
    let one = |stamp: &Stamp| {
        let (from, to) = span_of(*stamp, step_s, at, read.zone)?;
        Some((seconds(from, steps) + shift_s, seconds(to, steps) + shift_s))
    };
    read.columns.stamps.iter().map(one).collect()
}

fn span_rows(
    spans: &[Option<(f64, f64)>],
    values: &[Option<f64>],
    to_si: impl Fn(f64) -> f64,
) -> Vec<SpanRow> {
    spans
        .iter()
        .zip(values)
        .filter_map(|(span, value)| {
            let (from, to) = (*span)?;
            Some(SpanRow {
                from,
                to,
                value: value.map(&to_si),
            })
        })
        .collect()
}

/// Puts the columns of a weather table into the record.
pub(super) fn add_weather(
    table: &WeatherTable,
    steps: Steps,
    files: &Files<'_>,
    record: &mut WeatherRecord,
    notes: &mut Vec<InputNote>,
) -> Result<(), InputError> {
    let names: Vec<&str> = table.columns.iter().map(|c| c.column.as_str()).collect();
    let read = read_table(&table.table, &names, false, files, notes)?;
    let spans = spans(&read, table.step_s, table.stamp, table.stamp_shift_s, steps);
    let longest_gap_s = table
        .longest_gap_s
        .unwrap_or(LONGEST_GAP_S.max(LONGEST_GAP_ROWS * table.step_s));
    let sunlight = table
        .columns
        .iter()
        .position(|c| c.what == WeatherWhat::Shortwave);
    let sunlight = sunlight.map_or(&[][..], |place| &read.columns.values[place]);
    let drawn = drawn_rows(sunlight, table.step_s);
    let count = drawn.iter().filter(|drawn| **drawn).count();
    let a_day = (S_PER_DAY / table.step_s).round().max(1.0) as usize;
    if count > 0 {
        notes.push(InputNote::Drawn {
            file: table.table.file.clone(),
            count,
        });
    }
    for (column, values) in table.columns.iter().zip(&read.columns.values) {
        let mended = (count > 0).then(|| mend_drawn(column.what, values, &drawn, a_day));
        let values = mended.as_ref().unwrap_or(values);
        let height_factor = match column.what {
            WeatherWhat::WindSpeed | WeatherWhat::WindU | WeatherWhat::WindV => {
                wind_height_factor(table.wind_height_m, WIND_HEIGHT_M, WATER_ROUGHNESS_M)
            }
            _ => 1.0,
        };
        let track = Track {
            rows: span_rows(&spans, values, |figure| {
                column.scale.to_si(figure) * height_factor
            }),
            step_s: table.step_s,
            longest_gap_s,
        };
        record.insert(column.what, track);
    }
    Ok(())
}

/// The records of several columns of a table of flows.
pub(super) fn flow_records(
    (table, rows, longest_gap_s): (&TableFile, Rows, f64),
    columns: &[(&str, Scale)],
    steps: Steps,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<FlowRecord>, InputError> {
    let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    let read = read_table(table, &names, false, files, notes)?;
    let record = |(values, (_, scale)): (&Vec<Option<f64>>, &(&str, Scale))| match rows {
        Rows::Means { step_s, stamp } => FlowRecord::Means(Track {
            rows: span_rows(&spans(&read, step_s, stamp, 0.0, steps), values, |f| {
                scale.to_si(f)
            }),
            step_s,
            longest_gap_s,
        }),
        Rows::Instants => {
            let points = read
                .columns
                .stamps
                .iter()
                .zip(values)
                .filter_map(|(stamp, value)| {
                    let at = instant_of(*stamp, read.zone)?;
                    Some((seconds(at, steps), scale.to_si((*value)?)))
                });
            FlowRecord::Instants {
                points: points.collect(),
                longest_gap_s,
            }
        }
    };
    Ok(read.columns.values.iter().zip(columns).map(record).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn span(stamp: &str, step_h: f64, at: StampAt, zone: &str) -> (String, String) {
        let zone = StampZone::read(zone).unwrap();
        let stamp = match stamp.parse::<NaiveDate>() {
            Ok(day) => Stamp::Day(day),
            Err(_) => Stamp::Instant(stamp.parse().unwrap()),
        };
        let (from, to) = span_of(stamp, step_h * 3600.0, at, zone).unwrap();
        let text = |at: DateTime<Utc>| at.format("%m-%dT%H:%M").to_string();
        (text(from), text(to))
    }

    #[test]
    fn a_stamp_lies_at_the_start_the_middle_or_the_end_of_its_span() {
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        let at = "2015-01-02T03:00:00Z";
        assert_eq!(
            span(at, 3.0, StampAt::Start, "UTC"),
            pair("01-02T03:00", "01-02T06:00")
        );
        assert_eq!(
            span(at, 3.0, StampAt::Middle, "UTC"),
            pair("01-02T01:30", "01-02T04:30")
        );
        assert_eq!(
            span(at, 3.0, StampAt::End, "UTC"),
            pair("01-02T00:00", "01-02T03:00")
        );
        assert_eq!(
            span("2015-01-02", 24.0, StampAt::End, "UTC"),
            pair("01-01T00:00", "01-02T00:00")
        );
    }

    #[test]
    fn a_civil_day_of_a_clock_change_is_an_hour_shorter_or_longer() {
        // Europe: 29 March 2015 at 01:00 UTC forward, 25 October at 01:00 UTC back (Directive 2000/84/EC).
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        let day = |day| span(day, 24.0, StampAt::Start, "Europe/Berlin");
        assert_eq!(day("2015-03-29"), pair("03-28T23:00", "03-29T22:00"));
        assert_eq!(day("2015-03-30"), pair("03-29T22:00", "03-30T22:00"));
        assert_eq!(day("2015-10-25"), pair("10-24T22:00", "10-25T23:00"));
        let end = span("2015-03-30", 24.0, StampAt::End, "Europe/Berlin");
        assert_eq!(end, pair("03-28T23:00", "03-29T22:00"));
    }
}
