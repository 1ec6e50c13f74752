//! Reference: the surface from air temperature alone, by the quick model of the brief.

use chrono::{Datelike, NaiveDate};

use super::observed::ObservedProfile;
use super::pairs::Pair;
use crate::column::SurfaceFit;
use crate::column::quick::{MeanDepth, fit_surface};
use crate::series::Daily;

/// Days that the model runs before its first value is used, to forget its start.
const SPIN_UP_DAYS: i64 = 120;

/// The surface of the quick model, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct QuickSurface {
    /// First day of the air temperature.
    pub first: NaiveDate,
    /// Surface temperature. Shape `[day]`; the first 120 days still know their start.
    pub temp_degc: Vec<f64>,
    /// How it was fitted.
    pub fit: SurfaceFit,
}

impl QuickSurface {
    /// Surface temperature of `day`; `None` outside the air temperature and in the first 120 days.
    pub fn at(&self, day: NaiveDate) -> Option<f64> {
        let index = (day - self.first).num_days();
        let index = usize::try_from(index).ok().filter(|_| index >= SPIN_UP_DAYS)?;
        self.temp_degc.get(index).copied()
    }

    /// The reference for each pair, whatever its depth. Shape as `pairs`.
    pub fn of_pairs(&self, pairs: &[Pair]) -> Vec<Option<f64>> {
        pairs.iter().map(|p| self.at(p.day)).collect()
    }
}

/// The air-to-water equation over daily mean air temperature from `first` on, without gaps, shape `[day]`.
///
/// With `observed` empty its parameters come from the mean depth alone (Piccolroaz 2016): the reference of an unfitted
/// model. With observed surfaces (`surface_of`) they are fitted to the last six years of them, as the brief does: the
/// reference of a fitted model, in-sample over those years. `None` without air temperature.
pub fn quick_surface(
    first: NaiveDate,
    air_temp_degc: &[f64],
    observed: &Daily,
    mean_depth_m: f64,
) -> Option<QuickSurface> {
    let depth = MeanDepth {
        depth_m: mean_depth_m,
        assumed: false,
    };
    let fitted = fit_surface(first, air_temp_degc, observed, depth)?;
    let year_frac: Vec<f64> = first
        .iter_days()
        .take(air_temp_degc.len())
        .map(year_frac)
        .collect();
    let start_degc = fitted
        .best
        .equilibrium_degc(*air_temp_degc.first()?, *year_frac.first()?);
    Some(QuickSurface {
        first,
        temp_degc: fitted.best.run_degc(start_degc, air_temp_degc, &year_frac),
        fit: fitted.fit,
    })
}

/// Share of the year gone at the middle of `day`.
fn year_frac(day: NaiveDate) -> f64 {
    let days = if day.leap_year() { 366.0 } else { 365.0 };
    (f64::from(day.ordinal0()) + 0.5) / days
}

/// Observed surface day by day: the shallowest value of each profile, if not deeper than `surface_depth_m`. Empty
/// without any.
pub fn surface_of(profiles: &[ObservedProfile], surface_depth_m: f64) -> Daily {
    let seen: Vec<(NaiveDate, f64)> = profiles
        .iter()
        .filter(|p| p.depth_m.first().is_some_and(|z| *z <= surface_depth_m))
        .filter_map(|p| Some((p.day, *p.value.first()?)))
        .collect();
    let (Some(first), Some(last)) = (seen.first(), seen.last()) else {
        return Daily::new(NaiveDate::default(), Vec::new());
    };
    let mut value = vec![None; (last.0 - first.0).num_days() as usize + 1];
    for (day, temp_degc) in &seen {
        value[(*day - first.0).num_days() as usize] = Some(*temp_degc);
    }
    Daily::new(first.0, value)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    fn air() -> (NaiveDate, Vec<f64>) {
        let first = NaiveDate::from_ymd_opt(2010, 1, 1).unwrap();
        let air = first
            .iter_days()
            .take(4 * 365)
            .map(|d| 10.0 - 10.0 * (TAU * year_frac(d)).cos())
            .collect();
        (first, air)
    }

    #[test]
    fn without_observations_the_depth_regression_stands_and_the_start_is_not_used() {
        let (first, air) = air();
        let none = Daily::new(first, Vec::new());
        let quick = quick_surface(first, &air, &none, 20.0).unwrap();
        assert_eq!(quick.at(first), None);
        let day = |month| NaiveDate::from_ymd_opt(2012, month, 15).unwrap();
        // A lake of 20 m under air of 0 to 20 degC is warm in August and cold in February; any surface outside is a fault.
        let (summer, winter) = (quick.at(day(8)).unwrap(), quick.at(day(2)).unwrap());
        assert!(
            (15.0..27.0).contains(&summer) && (0.0..8.0).contains(&winter),
            "{summer} {winter}"
        );
        assert_eq!(quick_surface(first, &[], &none, 20.0), None);
    }

    #[test]
    fn the_observed_surface_is_the_shallowest_value_if_shallow_enough() {
        let profile = |day: u32, depth_m: f64| {
            let day = NaiveDate::from_ymd_opt(2020, 7, day).unwrap();
            ObservedProfile {
                day,
                time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
                depth_m: vec![depth_m, 9.0],
                value: vec![20.0, 9.0],
            }
        };
        let found = surface_of(&[profile(1, 0.5), profile(2, 3.0), profile(3, 1.0)], 1.0);
        assert_eq!(found.value, [Some(20.0), None, Some(20.0)]);
        assert!(surface_of(&[profile(2, 3.0)], 1.0).value.is_empty());
    }
}
