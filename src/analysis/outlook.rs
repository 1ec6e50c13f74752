//! The days ahead: the members under their own weather, and the surface that comes of it.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::advance::{Advanced, LANES};
use super::error::AnalysisError;
use crate::clock::LakeClock;
use crate::column::SurfaceDay;
use crate::column::reservoir::surface_degc;
use crate::lake::Lake;
use crate::math::quantiles::quantiles;

/// Fewest hours of a day that tell its mean: half of it (project choice).
const FEWEST_HOURS: usize = 12;

/// Surface of the main body on the standard days ahead, the day of the clock first (of which the hours that are left count):
/// quantiles over the members of each day's mean. Empty where nothing is forecast. The members are left at the end of it.
///
/// # Errors
/// [`AnalysisError::Run`].
pub(super) fn surface_outlook(
    lake: &Lake,
    advanced: &mut Advanced,
) -> Result<Vec<SurfaceDay>, AnalysisError> {
    let forcings: Vec<_> = advanced.forcing.ahead.iter().collect();
    let Some(first) = forcings.first() else {
        return Ok(Vec::new());
    };
    let clock = LakeClock::new(lake.time_zone);
    let hours = forcings.iter().map(|f| f.weather.len()).min().unwrap_or(0);
    let today = clock.standard_day(advanced.at);
    // Sums by day and member.
    let mut days: BTreeMap<NaiveDate, (usize, Vec<f64>)> = BTreeMap::new();
    let members = advanced.ensemble.members();
    for hour in 0..hours {
        advanced.ensemble.run(&forcings, hour..hour + 1)?;
        let day = clock.standard_day(first.step_start(hour));
        let (count, sums) = days.entry(day).or_insert_with(|| (0, vec![0.0; members]));
        *count += 1;
        for (block, reservoir) in advanced.ensemble.lakes.iter().enumerate() {
            for (lane, degc) in surface_degc(reservoir).into_iter().enumerate() {
                sums[block * LANES + lane] += degc;
            }
        }
    }
    Ok(days
        .into_iter()
        .filter(|(day, (count, _))| *day == today || *count >= FEWEST_HOURS)
        .filter_map(|(date, (count, sums))| {
            let means: Vec<f64> = sums.iter().map(|sum| sum / count as f64).collect();
            let [low_degc, median_degc, high_degc] = quantiles(&means, [0.1, 0.5, 0.9])?;
            Some(SurfaceDay {
                date,
                median_degc,
                low_degc,
                high_degc,
            })
        })
        .collect())
}
