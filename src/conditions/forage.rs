//! How much bait a zone holds, by the marks of the angler's own sonar.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::lake::ZoneId;

/// Marks an hour at which the index is a half (project choice: a school every quarter of an hour).
const HALF_MARKS_PER_H: f64 = 4.0;
/// Hours of watching below which nothing is said (project choice).
const LEAST_WATCHED_H: f64 = 0.5;

/// Bait in one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ForageCondition {
    /// Zone.
    pub zone: ZoneId,
    /// Index of forage: 0 none seen, 1 far more than anybody sees.
    pub index_frac: f64,
    /// Marks of bait an hour, trips of long ago weighing less.
    pub marks_per_h: f64,
    /// Newest trip that watched there.
    pub newest: NaiveDate,
}

/// The index of forage of a zone with marks of bait, `weighted` by their age with the hours beside them, in so many hours of watching:
/// `r / (r + 4 per h)` of the rate `r` (project choice; what counts is the difference between zones under one angler's eye). `None`
/// where the sonar was watched for less than half an hour in all.
pub fn forage_condition(
    zone: &ZoneId,
    (marks, weighted_h): (f64, f64),
    watched_h: f64,
    newest: NaiveDate,
) -> Option<ForageCondition> {
    (watched_h >= LEAST_WATCHED_H && weighted_h > 0.0).then(|| {
        let marks_per_h = marks / weighted_h;
        ForageCondition {
            zone: zone.clone(),
            index_frac: marks_per_h / (marks_per_h + HALF_MARKS_PER_H),
            marks_per_h,
            newest,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_index_is_a_half_at_four_marks_an_hour_and_nothing_where_nobody_looked() {
        let day = NaiveDate::from_ymd_opt(2025, 10, 1).unwrap();
        let of = |marks, watched_h| {
            let zone = ZoneId::new("main");
            // All of it two weeks old: the rate is that of the marks and hours as they were.
            let faded = (-2.0_f64).exp();
            let found = forage_condition(&zone, (faded * marks, faded * watched_h), watched_h, day);
            found.map(|f| (f.index_frac * 1e12).round() / 1e12)
        };
        // By the equation: 0/4, 4/8, 12/16.
        assert_eq!(
            (of(0.0, 2.0), of(8.0, 2.0), of(24.0, 2.0)),
            (Some(0.0), Some(0.5), Some(0.75))
        );
        assert_eq!(of(3.0, 0.4), None);
    }
}
