//! The hours wanted, and the standard days that hold them.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::column::forcing::Steps;

/// Length of a step.
pub(super) const HOUR_S: f64 = 3600.0;

/// Whole hours from a first to a last, and the standard days that they lie in.
#[derive(Debug, Clone)]
pub(super) struct Window {
    /// Beginning of the first hour.
    pub start: DateTime<Utc>,
    /// How many.
    pub hours: usize,
    /// First day that the window touches.
    pub first_day: NaiveDate,
    /// Beginnings of its days and the end of the last, s since the start. Shape `[day + 1]`.
    pub day_edges_s: Vec<f64>,
}

impl Window {
    /// The whole hours from `from` (rounded up) to `to` (rounded down); `None` for less than one.
    pub fn new(from: DateTime<Utc>, to: DateTime<Utc>, clock: &LakeClock) -> Option<Window> {
        let hour = |t: DateTime<Utc>| t.timestamp().div_euclid(3600);
        let first = hour(from + Duration::milliseconds(3_599_999));
        let hours = usize::try_from(hour(to) - first).ok().filter(|n| *n > 0)?;
        let start = DateTime::from_timestamp(first * 3600, 0)?;
        let end = start + Duration::hours(hours as i64);
        let first_day = clock.standard_day(start);
        let last_day = clock.standard_day(end - Duration::seconds(1));
        let edges = first_day
            .iter_days()
            .take((last_day - first_day).num_days() as usize + 2)
            .map(|date| (clock.standard_day_start(date) - start).num_seconds() as f64);
        Some(Window {
            start,
            hours,
            first_day,
            day_edges_s: edges.collect(),
        })
    }

    /// End of the last hour, s since the start.
    pub fn end_s(&self) -> f64 {
        HOUR_S * self.hours as f64
    }

    /// End of the last hour.
    pub fn end(&self) -> DateTime<Utc> {
        self.start + Duration::hours(self.hours as i64)
    }

    /// Seconds since the start.
    pub fn seconds(&self, at: DateTime<Utc>) -> f64 {
        (at - self.start).num_milliseconds() as f64 / 1000.0
    }

    /// The instant so many seconds after the start.
    pub fn instant(&self, after_s: f64) -> DateTime<Utc> {
        self.steps().instant(after_s)
    }

    /// Days that the window touches.
    pub fn days(&self) -> usize {
        self.day_edges_s.len() - 1
    }

    /// Date of a day by its place.
    pub fn date(&self, day: usize) -> NaiveDate {
        self.first_day + Duration::days(day as i64)
    }

    /// Place of a date; `None` outside.
    pub fn day(&self, date: NaiveDate) -> Option<usize> {
        let day = usize::try_from((date - self.first_day).num_days()).ok()?;
        (day < self.days()).then_some(day)
    }

    /// Place of the day that holds an instant, s since the start; `None` outside.
    pub fn day_at(&self, after_s: f64) -> Option<usize> {
        let day = self
            .day_edges_s
            .partition_point(|edge| *edge <= after_s)
            .checked_sub(1)?;
        (day < self.days()).then_some(day)
    }

    /// The steps of a forcing over these hours.
    pub fn steps(&self) -> Steps {
        Steps {
            start: self.start,
            step_s: HOUR_S,
            count: self.hours,
        }
    }
}
