//! Thermoclines observed and modelled.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::observed::ObservedProfile;
use super::pairs::{ModelledDay, Pair};
use super::statistics::{ErrorFigures, error_figures};
use crate::physics::stratification::seasonal_thermocline_depth_m;

/// Observed thermoclines by day: the season's (Read et al. 2011), so that a warm skin of one day is none. A profile
/// of fewer than three depths or of less than 1 degC from top to bottom has none.
pub fn observed_thermoclines_m(profiles: &[ObservedProfile]) -> BTreeMap<NaiveDate, f64> {
    let of = |p: &ObservedProfile| Some((p.day, seasonal_thermocline_depth_m(&p.depth_m, &p.value)?));
    profiles.iter().filter_map(of).collect()
}

/// How far modelled thermoclines are off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ThermoclineReport {
    /// Error of the depth, m, positive where the modelled one is too deep; `None` without a day on which both have one.
    pub depth_error: Option<ErrorFigures>,
    /// Days of observed profiles that were modelled.
    pub days: usize,
    /// Of them, days without an observed thermocline.
    pub without_observed: usize,
    /// Of those with an observed one, days without a modelled one.
    pub without_modelled: usize,
}

/// Compares thermoclines, both found on the observed depths alone, so that coarse soundings do not count against the
/// model. `pairs` are of temperature, ordered by day and depth.
pub fn thermocline_report(pairs: &[Pair]) -> ThermoclineReport {
    let mut found = ThermoclineReport {
        depth_error: None,
        days: 0,
        without_observed: 0,
        without_modelled: 0,
    };
    let mut differences = Vec::new();
    for day in pairs.chunk_by(|a, b| a.day == b.day) {
        let column = |of: fn(&Pair) -> f64| day.iter().map(of).collect::<Vec<f64>>();
        let depth_m = column(|p| p.depth_m);
        found.days += 1;
        let Some(observed_m) = seasonal_thermocline_depth_m(&depth_m, &column(|p| p.observed)) else {
            found.without_observed += 1;
            continue;
        };
        match seasonal_thermocline_depth_m(&depth_m, &column(|p| p.modelled)) {
            Some(modelled_m) => differences.push(modelled_m - observed_m),
            None => found.without_modelled += 1,
        }
    }
    found.depth_error = error_figures(&differences);
    found
}

/// Modelled thermoclines by day, each on the model's own depths.
pub fn modelled_thermoclines_m(days: &[ModelledDay]) -> BTreeMap<NaiveDate, f64> {
    let of = |d: &ModelledDay| Some((d.day, seasonal_thermocline_depth_m(&d.depth_m, &d.temp_degc)?));
    days.iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs_of(day: u32, observed: &[f64], modelled: &[f64]) -> Vec<Pair> {
        let day = NaiveDate::from_ymd_opt(2020, 7, day).unwrap();
        let of = |(i, (o, m)): (usize, (&f64, &f64))| Pair {
            day,
            time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
            depth_m: i as f64,
            observed: *o,
            modelled: *m,
            ice: false,
        };
        observed.iter().zip(modelled).enumerate().map(of).collect()
    }

    #[test]
    fn a_thermocline_a_metre_too_deep_is_an_error_of_a_metre() {
        let (even, upper, lower) = (
            [10.0; 6],
            [20.0, 20.0, 10.0, 10.0, 10.0, 10.0],
            [20.0, 20.0, 20.0, 10.0, 10.0, 10.0],
        );
        let mut pairs = pairs_of(1, &upper, &lower);
        pairs.extend(pairs_of(2, &even, &upper));
        pairs.extend(pairs_of(3, &upper, &even));
        let found = thermocline_report(&pairs);
        // By hand: the same shape, one metre lower; a day without an observed one, a day without a modelled one.
        let error = found.depth_error.unwrap();
        assert!((error.bias - 1.0).abs() < 1e-12 && error.n == 1, "{error:?}");
        assert_eq!(
            (found.days, found.without_observed, found.without_modelled),
            (3, 1, 1)
        );
    }
}
