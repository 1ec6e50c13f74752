//! A record of the weather as it was given: rows of means over spans of any length.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};

use crate::lake::WeatherWhat;
use crate::math::span_means::{Filled, Filling, SpanFault, SpanMeans, SpanRow};

/// Rows of one quantity, in SI, times in seconds since the start of the forcing.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Rows in order of time.
    pub rows: Vec<SpanRow>,
    /// Usual length of a span.
    pub step_s: f64,
    /// Longest gap that is filled.
    pub longest_gap_s: f64,
}

/// Rows of each quantity that was given.
pub type WeatherRecord = BTreeMap<WeatherWhat, Track>;

/// Where the weather is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Height of the lake above the sea, for the standard atmosphere.
    pub elevation_m: f64,
}

/// The steps wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Beginning of the first.
    pub start: DateTime<Utc>,
    /// Length of each.
    pub step_s: f64,
    /// How many.
    pub count: usize,
}

impl Steps {
    /// End of the last, in seconds since the start.
    pub fn end_s(&self) -> f64 {
        self.step_s * self.count as f64
    }

    /// The instant so many seconds after the start.
    pub fn instant(&self, after_s: f64) -> DateTime<Utc> {
        self.start + Duration::milliseconds((after_s * 1000.0).round() as i64)
    }
}

/// Why there is no forcing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ForcingError {
    /// A gap longer than what is filled.
    #[error(
        "making steps of {what}: found no value from {from} to {to}, wanted gaps of at most {longest_h} h; \
         mend the table, shorten the hindcast (start, end, spin_up_days), or raise longest_gap_h of the table"
    )]
    Gap {
        /// Quantity.
        what: String,
        /// Beginning.
        from: DateTime<Utc>,
        /// End.
        to: DateTime<Utc>,
        /// Longest gap that is filled.
        longest_h: f64,
    },
    /// Two rows overlap.
    #[error(
        "making steps of {what}: found a row at {at} that begins before the row ahead of it ends, wanted rows one after the \
         other; correct step_h and stamp of the table, or remove the row"
    )]
    Overlap {
        /// Quantity.
        what: String,
        /// Beginning of the second row.
        at: DateTime<Utc>,
    },
    /// No value at all in the time of the hindcast.
    #[error(
        "making steps of {what}: found no value from {from} to {to}, the time of the hindcast; correct start and end, or the table"
    )]
    Empty {
        /// Quantity.
        what: String,
        /// Beginning of the hindcast.
        from: DateTime<Utc>,
        /// End.
        to: DateTime<Utc>,
    },
    /// A value that the quantity never takes.
    #[error(
        "making steps of {what}: found {value} at {at}, wanted {low} to {high} (SI); correct the unit of the column, or name \
         the text that means no value under `missing`"
    )]
    Unbelievable {
        /// Quantity.
        what: String,
        /// Beginning of the row.
        at: DateTime<Utc>,
        /// Value in SI.
        value: f64,
        /// Least that is believed.
        low: f64,
        /// Most.
        high: f64,
    },
    /// A quantity that cannot be derived from the others.
    #[error(
        "making steps of the weather: found no {what}, wanted one; add its column to [[hindcast.weather]]"
    )]
    Missing {
        /// What is missing.
        what: &'static str,
    },
    /// Two quantities that belong together stand in rows of different times.
    #[error(
        "making steps of the weather: found rows of {first} and {second} at different times, wanted the same; put both in one table"
    )]
    Apart {
        /// One quantity.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
}

/// A quantity without a shape of its own.
pub(super) fn no_shape(_from_s: f64, _to_s: f64) -> f64 {
    1.0
}

/// The track over the steps, gaps filled along `shape`; ratios to a shape below `least_shape_frac` tell nothing.
pub(super) fn filled(
    what: &str,
    track: &Track,
    steps: Steps,
    shape: &dyn Fn(f64, f64) -> f64,
    least_shape_frac: f64,
) -> Result<(SpanMeans, Filled), ForcingError> {
    let filling = Filling {
        longest_gap: track.longest_gap_s,
        step: track.step_s,
        shape,
        least_shape: least_shape_frac,
    };
    let what = || what.to_owned();
    SpanMeans::filled(&track.rows, (0.0, steps.end_s()), filling).map_err(|fault| match fault {
        SpanFault::Overlap { at } => ForcingError::Overlap {
            what: what(),
            at: steps.instant(at),
        },
        SpanFault::Gap { from, to } => ForcingError::Gap {
            what: what(),
            from: steps.instant(from),
            to: steps.instant(to),
            longest_h: track.longest_gap_s / 3600.0,
        },
        SpanFault::Empty => ForcingError::Empty {
            what: what(),
            from: steps.start,
            to: steps.instant(steps.end_s()),
        },
    })
}

/// Notes the first value out of `[low, high]`.
pub(super) fn believed(
    what: &str,
    rows: &[SpanRow],
    steps: Steps,
    (low, high): (f64, f64),
) -> Result<(), ForcingError> {
    let strange = |row: &&SpanRow| row.value.is_some_and(|value| !(low..=high).contains(&value));
    match rows.iter().find(strange) {
        None => Ok(()),
        Some(row) => Err(ForcingError::Unbelievable {
            what: what.to_owned(),
            at: steps.instant(row.from),
            value: row.value.unwrap_or_default(),
            low,
            high,
        }),
    }
}
