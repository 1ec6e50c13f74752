//! Modelled days, and each observation beside what was modelled at its day and depth.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::observed::Profiles;
use crate::math::interpolate::linear;

/// How far below the modelled bed an observation may lie and still be compared with the lowest modelled value, m
/// (project choice: soundings and level agree to about that).
const BED_WITHIN_M: f64 = 1.0;

/// Means of one day of the modelled water column.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelledDay {
    /// Day.
    pub day: NaiveDate,
    /// Depths below the surface of that day, increasing, the last one at or just above the bed. Shape `[depth]`.
    pub depth_m: Vec<f64>,
    /// Temperature. Shape `[depth]`.
    pub temp_degc: Vec<f64>,
    /// Oxygen; `None` where it was not modelled. Shape `[depth]`.
    pub oxygen_mg_l: Option<Vec<f64>>,
    /// Elevation of the surface above the lake's datum.
    pub surface_elevation_m: f64,
    /// Thickness of the ice; 0 for open water.
    pub ice_m: f64,
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Compared {
    /// Water temperature, degC.
    Temperature,
    /// Dissolved oxygen, mg/L.
    Oxygen,
}

impl Compared {
    /// What a day has of it; `None` where it was not modelled.
    pub fn of(self, day: &ModelledDay) -> Option<&[f64]> {
        match self {
            Compared::Temperature => Some(&day.temp_degc),
            Compared::Oxygen => day.oxygen_mg_l.as_deref(),
        }
    }
}

/// An observation and what was modelled there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Day of both.
    pub day: NaiveDate,
    /// First observation of that day.
    pub time: DateTime<Utc>,
    /// Depth below the surface.
    pub depth_m: f64,
    /// Observed.
    pub observed: f64,
    /// Modelled, in the same unit.
    pub modelled: f64,
    /// Whether there was ice on the modelled lake.
    pub ice: bool,
}

impl Pair {
    /// Modelled less observed: positive where the model is too high.
    pub fn difference(&self) -> f64 {
        self.modelled - self.observed
    }
}

/// What became of the observed points.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct PairCounts {
    /// Pairs.
    pub pairs: usize,
    /// Of them, on days with modelled ice.
    pub under_ice: usize,
    /// Of them, up to 1 m below the modelled bed, compared with the lowest modelled value.
    pub at_bed: usize,
    /// Left out: the day was not modelled.
    pub day_not_modelled: usize,
    /// Left out: more than 1 m below the modelled bed.
    pub below_bed: usize,
    /// Left out: the model has no finite value there.
    pub no_value: usize,
}

/// Pairs, in the order of day and depth, with their count.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Paired {
    /// Pairs.
    pub pairs: Vec<Pair>,
    /// What became of the points.
    pub counts: PairCounts,
}

/// Puts each observed point beside what was modelled on its day at its depth: straight between the modelled depths,
/// above the first of them that one.
pub fn pair_up(observed: &Profiles, days: &[ModelledDay], compared: Compared) -> Paired {
    let by_day: HashMap<NaiveDate, &ModelledDay> = days.iter().map(|d| (d.day, d)).collect();
    let mut found = Paired::default();
    for profile in &observed.profiles {
        let Some(day) = by_day.get(&profile.day) else {
            found.counts.day_not_modelled += profile.depth_m.len();
            continue;
        };
        let (Some(values), Some(bed_m)) = (compared.of(day), day.depth_m.last()) else {
            found.counts.no_value += profile.depth_m.len();
            continue;
        };
        for (depth_m, value) in profile.depth_m.iter().zip(&profile.value) {
            if *depth_m > bed_m + BED_WITHIN_M {
                found.counts.below_bed += 1;
                continue;
            }
            let Some(modelled) = linear(&day.depth_m, values, *depth_m).filter(|m| m.is_finite()) else {
                found.counts.no_value += 1;
                continue;
            };
            let ice = day.ice_m > 0.0;
            found.counts.at_bed += usize::from(depth_m > bed_m);
            found.counts.under_ice += usize::from(ice);
            found.pairs.push(Pair {
                day: profile.day,
                time: profile.time,
                depth_m: *depth_m,
                observed: *value,
                modelled,
                ice,
            });
        }
    }
    found.counts.pairs = found.pairs.len();
    found
}

#[cfg(test)]
mod tests {
    use super::super::observed::{Observed, daily_profiles};
    use super::*;

    fn day(ice_m: f64) -> ModelledDay {
        ModelledDay {
            day: NaiveDate::from_ymd_opt(2020, 7, 1).unwrap(),
            depth_m: vec![0.5, 9.5, 10.0],
            temp_degc: vec![20.0, 11.0, 10.0],
            oxygen_mg_l: None,
            surface_elevation_m: 100.0,
            ice_m,
        }
    }

    fn observed(date: NaiveDate, depths_m: &[f64]) -> Profiles {
        let time = date.and_hms_opt(12, 0, 0).unwrap().and_utc();
        let rows: Vec<Observed> = depths_m
            .iter()
            .map(|depth_m| Observed {
                time,
                depth_m: *depth_m,
                value: 12.0,
            })
            .collect();
        daily_profiles(&rows, |t| t.date_naive())
    }

    #[test]
    fn a_point_is_compared_straight_between_modelled_depths() {
        let seen = observed(day(0.0).day, &[0.0, 5.0, 10.4, 11.5]);
        let found = pair_up(&seen, &[day(0.0)], Compared::Temperature);
        let modelled: Vec<f64> = found.pairs.iter().map(|p| p.modelled).collect();
        // By hand: at the top the first value; 20 - (5 - 0.5) = 15.5 as the line falls 1 degC a metre; at 10.4 m, just
        // below the bed, the last; 11.5 m is 1.5 m below the bed and left out.
        assert_eq!(modelled, [20.0, 15.5, 10.0]);
        assert_eq!(found.pairs[1].difference(), 3.5);
        assert_eq!(
            (found.counts.pairs, found.counts.at_bed, found.counts.below_bed),
            (3, 1, 1)
        );
    }

    #[test]
    fn days_that_were_not_modelled_and_oxygen_that_was_not_are_counted() {
        let other = observed(day(0.0).day.succ_opt().unwrap(), &[0.0, 1.0]);
        let found = pair_up(&other, &[day(0.0)], Compared::Temperature);
        assert_eq!((found.pairs.len(), found.counts.day_not_modelled), (0, 2));
        let same = observed(day(0.0).day, &[0.0, 1.0]);
        assert_eq!(pair_up(&same, &[day(0.0)], Compared::Oxygen).counts.no_value, 2);
        assert_eq!(
            pair_up(&same, &[day(0.1)], Compared::Temperature)
                .counts
                .under_ice,
            2
        );
    }
}
