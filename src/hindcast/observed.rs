//! Observations, gathered to one profile a day.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Depths nearer than this are one depth, m (project choice: no sensor is placed to a centimetre).
const SAME_DEPTH_M: f64 = 0.005;

/// One observation of the lake's water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// When; a profile known by its date alone stands at noon of that day.
    pub time: DateTime<Utc>,
    /// Depth below the surface of that time.
    pub depth_m: f64,
    /// What was measured: temperature in degC, or oxygen in mg/L.
    pub value: f64,
}

/// The observations of one day, from the surface down.
#[derive(Debug, Clone, PartialEq)]
pub struct ObservedProfile {
    /// Day.
    pub day: NaiveDate,
    /// First observation of the day.
    pub time: DateTime<Utc>,
    /// Depths, increasing, none twice. Shape `[depth]`.
    pub depth_m: Vec<f64>,
    /// Values, means over the day. Shape `[depth]`.
    pub value: Vec<f64>,
}

/// What was done with the observations as they came.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ObservedCounts {
    /// Observations as they came.
    pub rows: usize,
    /// Left out: depth or value is not a finite number.
    pub not_finite: usize,
    /// Left out: above the surface.
    pub above_surface: usize,
    /// Left out: below 0, which neither the water of a lake nor its oxygen can be.
    pub below_zero: usize,
    /// Went into the mean of one depth on one day together with another: readings of a sensor in the course of the
    /// day, or a row that is there twice.
    pub merged: usize,
    /// Points left: one for each depth and day.
    pub points: usize,
    /// Days with a profile.
    pub days: usize,
}

/// Profiles by day with the count of what was left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Profiles {
    /// In the order of time, one a day.
    pub profiles: Vec<ObservedProfile>,
    /// What was done.
    pub counts: ObservedCounts,
}

impl Profiles {
    /// Places of the profiles in time: first and last day; `None` without any.
    pub fn span(&self) -> Option<(NaiveDate, NaiveDate)> {
        Some((self.profiles.first()?.day, self.profiles.last()?.day))
    }
}

/// Gathers observations to one profile a day. `day_of` is the day that the model's daily means are of
/// (`LakeClock::standard_day`). Several readings at one depth on one day become their mean, as the modelled value is
/// a mean of the day. Depth 0 is the surface and stays.
pub fn daily_profiles(observed: &[Observed], day_of: impl Fn(DateTime<Utc>) -> NaiveDate) -> Profiles {
    let mut counts = ObservedCounts {
        rows: observed.len(),
        ..ObservedCounts::default()
    };
    let mut by_day: BTreeMap<NaiveDate, Vec<&Observed>> = BTreeMap::new();
    for row in observed {
        let refused = if !(row.depth_m.is_finite() && row.value.is_finite()) {
            Some(&mut counts.not_finite)
        } else if row.depth_m < 0.0 {
            Some(&mut counts.above_surface)
        } else if row.value < 0.0 {
            Some(&mut counts.below_zero)
        } else {
            None
        };
        match refused {
            Some(count) => *count += 1,
            None => by_day.entry(day_of(row.time)).or_default().push(row),
        }
    }
    let profiles: Vec<ObservedProfile> = by_day
        .into_iter()
        .filter_map(|(day, rows)| profile_of(day, rows))
        .collect();
    counts.days = profiles.len();
    counts.points = profiles.iter().map(|p| p.depth_m.len()).sum();
    let left_out = counts.not_finite + counts.above_surface + counts.below_zero;
    counts.merged = counts.rows - left_out - counts.points;
    Profiles { profiles, counts }
}

fn profile_of(day: NaiveDate, mut rows: Vec<&Observed>) -> Option<ObservedProfile> {
    let time = rows.iter().map(|r| r.time).min()?;
    rows.sort_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
    let (mut depth_m, mut value) = (Vec::new(), Vec::new());
    for run in rows.chunk_by(|a, b| b.depth_m - a.depth_m < SAME_DEPTH_M) {
        let count = run.len() as f64;
        depth_m.push(run[0].depth_m);
        value.push(run.iter().map(|r| r.value).sum::<f64>() / count);
    }
    Some(ObservedProfile {
        day,
        time,
        depth_m,
        value,
    })
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;
    use proptest::prelude::*;

    use super::*;

    fn noon(day: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_000_000_000, 0).unwrap() + TimeDelta::days(day)
    }

    fn row(day: i64, depth_m: f64, value: f64) -> Observed {
        Observed {
            time: noon(day),
            depth_m,
            value,
        }
    }

    #[test]
    fn what_cannot_be_is_left_out_and_counted_and_doubles_become_a_mean() {
        let rows = [
            row(0, 5.0, 10.0),
            row(0, 0.0, 20.0),
            row(0, 0.0, 22.0),
            row(0, f64::NAN, 1.0),
            row(0, 1.0, f64::INFINITY),
            row(0, -1.0, 15.0),
            row(1, 0.0, -0.1),
            row(1, 0.0, 3.0),
        ];
        let found = daily_profiles(&rows, |t| t.date_naive());
        // By hand: two days; 21 is the mean of 20 and 22.
        assert_eq!(found.profiles.len(), 2);
        assert_eq!(found.profiles[0].depth_m, [0.0, 5.0]);
        assert_eq!(found.profiles[0].value, [21.0, 10.0]);
        let wanted = ObservedCounts {
            rows: 8,
            not_finite: 2,
            above_surface: 1,
            below_zero: 1,
            merged: 1,
            points: 3,
            days: 2,
        };
        assert_eq!(found.counts, wanted);
    }

    proptest! {
        #[test]
        fn every_row_is_in_a_profile_or_in_a_count(
            rows in prop::collection::vec((0i64..5, -1.0f64..10.0, -1.0f64..30.0), 0..60)
        ) {
            let rows: Vec<Observed> = rows.into_iter().map(|(d, z, v)| row(d, z, v)).collect();
            let found = daily_profiles(&rows, |t| t.date_naive());
            let c = found.counts;
            prop_assert_eq!(c.rows, c.points + c.merged + c.not_finite + c.above_surface + c.below_zero);
            for p in &found.profiles {
                prop_assert!(p.depth_m.windows(2).all(|w| w[1] > w[0]));
                prop_assert_eq!(p.depth_m.len(), p.value.len());
            }
        }
    }
}
