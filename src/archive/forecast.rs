//! Forecasts as they were issued, member by member: one file beside each call, one for each turnover outlook, never rewritten.

use std::path::PathBuf;

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use serde::{Deserialize, Serialize};

use super::{ArchiveError, Issued};
use crate::lake::ZoneId;

/// Name and version of a kept forecast's form.
pub const FORECAST_FORM: &str = "plungeline-forecast-1";
/// Name and version of a kept turnover outlook's form.
pub const TURNOVER_FORM: &str = "plungeline-turnover-forecast-1";

/// What one brief said of the days ahead, member by member and uncorrected. What a brief could not forecast is empty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptForecast {
    /// [`FORECAST_FORM`].
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// Lake id.
    pub lake: String,
    /// Clock of the brief: nothing later was used.
    pub as_of: DateTime<Utc>,
    /// By the wall clock.
    pub made_at: DateTime<Utc>,
    /// Whether from saved replies.
    pub replayed: bool,
    /// Hour of the civil day at the lake that the levels stand for; `None` without levels.
    pub level_hour: Option<NaiveTime>,
    /// Newest level that was known, m.
    pub level_newest_m: Option<f64>,
    /// Mean surface temperature of standard days, degC.
    pub surface: Vec<KeptDay>,
    /// Depth of the seasonal thermocline at eight in the morning, m.
    pub thermocline: Vec<KeptThermocline>,
    /// Level of civil days, m.
    pub level: Vec<KeptDay>,
    /// Flow of all gauges of the inflows together, means of standard days, m3/s.
    pub gauged: Vec<KeptDay>,
    /// Newest day of that flow that was known, and the flow, m3/s.
    pub gauged_newest: Option<(NaiveDate, f64)>,
}

/// One day of a forecast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptDay {
    /// Day.
    pub date: NaiveDate,
    /// Values, in the unit of the forecast.
    pub members: Vec<f64>,
}

/// The thermocline of one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptThermocline {
    /// Day.
    pub date: NaiveDate,
    /// Depths of the members that have one, m.
    pub members: Vec<f64>,
    /// Members without one: mixed, or nearly so.
    pub without: usize,
}

/// When one lake's autumn turnover was expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptTurnover {
    /// [`TURNOVER_FORM`].
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// Lake id.
    pub lake: String,
    /// Clock of the outlook: nothing later was used.
    pub as_of: DateTime<Utc>,
    /// By the wall clock.
    pub made_at: DateTime<Utc>,
    /// Whether from saved replies.
    pub replayed: bool,
    /// By place: the main body, arms.
    pub places: Vec<KeptPlace>,
}

/// The turnover of one place: a distribution over dates, with what lies before and after it. The three parts add up to 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptPlace {
    /// Zone.
    pub zone: ZoneId,
    /// Probability that it was mixed already at the clock.
    pub already_prob: f64,
    /// First standard day of `day_prob`.
    pub first_day: NaiveDate,
    /// Probability of each day, beginning with `first_day`.
    pub day_prob: Vec<f64>,
    /// Probability that it does not turn over by the last of these days: the censored rest.
    pub later_prob: f64,
}

impl KeptTurnover {
    /// Probability that a zone has turned over by the end of a standard day; `None` for a zone that is not in the outlook.
    pub fn turned_over_prob(&self, zone: &ZoneId, day: NaiveDate) -> Option<f64> {
        let place = self.places.iter().find(|place| &place.zone == zone)?;
        let days = (day - place.first_day).num_days() + 1;
        let counted = usize::try_from(days).unwrap_or(0);
        Some(place.already_prob + place.day_prob.iter().take(counted).sum::<f64>())
    }

    /// First standard day by whose end a zone has turned over with at least `wanted_prob`; `None` where it was so before the first day
    /// already, or never is.
    pub fn day_reached(&self, zone: &ZoneId, wanted_prob: f64) -> Option<NaiveDate> {
        let place = self.places.iter().find(|place| &place.zone == zone)?;
        let mut reached_prob = place.already_prob;
        // Sums of weights are off by rounding.
        let enough = |prob: f64| prob >= wanted_prob - 1e-9;
        if enough(reached_prob) {
            return None;
        }
        place
            .first_day
            .iter_days()
            .zip(&place.day_prob)
            .find_map(|(day, prob)| {
                reached_prob += prob;
                enough(reached_prob).then_some(day)
            })
    }
}

/// Keeps one forecast. The same content made twice is one file.
///
/// # Errors
/// [`ArchiveError::Write`] when the folder cannot be written.
pub fn keep_forecast(archive: &Issued, forecast: &KeptForecast) -> Result<PathBuf, ArchiveError> {
    keep(archive, forecast.as_of, forecast)
}

/// Keeps one turnover outlook. The same content made twice is one file.
///
/// # Errors
/// As [`keep_forecast`].
pub fn keep_turnover(archive: &Issued, outlook: &KeptTurnover) -> Result<PathBuf, ArchiveError> {
    keep(archive, outlook.as_of, outlook)
}

fn keep<T: Serialize>(archive: &Issued, as_of: DateTime<Utc>, kept: &T) -> Result<PathBuf, ArchiveError> {
    let json = serde_json::to_string(kept).map_err(|error| ArchiveError::Write {
        path: archive.folder().to_owned(),
        source: std::io::Error::other(error),
    })?;
    archive.keep(as_of, &json)
}
