//! The days ahead: the members under their own weather, and the surface and thermocline that come of it.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};

use super::advance::{Advanced, LANES};
use super::error::AnalysisError;
use crate::clock::LakeClock;
use crate::column::reservoir::{main_body_degc, surface_degc};
use crate::column::{DayAhead, ShownBy, SurfaceDay};
use crate::lake::Lake;
use crate::math::quantiles::quantiles;
use crate::physics::stratification::seasonal_thermocline_depth_m;

/// Fewest hours of a day that tell its mean: half of it (project choice).
const FEWEST_HOURS: usize = 12;
/// Hour of the standard day at which the thermocline is taken: by then the night has mixed the skin of the day before (project choice,
/// as the hour of readings).
const THERMOCLINE_H: i64 = 8;

/// A day under way.
#[derive(Default)]
struct Day {
    hours: usize,
    /// Sums by member.
    surface_degc: Vec<f64>,
    thermocline_m: Vec<Option<f64>>,
}

/// The main body on the standard days ahead, the day of the clock first (of which the hours that are left count), by member: mean of
/// the surface, and the thermocline of the morning at the depths `depth_m`. Empty where nothing is forecast. The members are left at
/// the end of it.
///
/// # Errors
/// [`AnalysisError::Run`].
pub(super) fn days_ahead(
    lake: &Lake,
    advanced: &mut Advanced,
    depth_m: &[f64],
) -> Result<Vec<DayAhead>, AnalysisError> {
    let forcings: Vec<_> = advanced.forcing.ahead.iter().collect();
    let Some(first) = forcings.first() else {
        return Ok(Vec::new());
    };
    let clock = LakeClock::new(lake.time_zone);
    let hours = forcings.iter().map(|f| f.weather.len()).min().unwrap_or(0);
    let today = clock.standard_day(advanced.at);
    let mut days: BTreeMap<NaiveDate, Day> = BTreeMap::new();
    let members = advanced.ensemble.members();
    for hour in 0..hours {
        advanced.ensemble.run(&forcings, hour..hour + 1)?;
        let begins = first.step_start(hour);
        let date = clock.standard_day(begins);
        let day = days.entry(date).or_default();
        day.hours += 1;
        day.surface_degc.resize(members, 0.0);
        for (block, reservoir) in advanced.ensemble.lakes.iter().enumerate() {
            for (lane, degc) in surface_degc(reservoir).into_iter().enumerate() {
                day.surface_degc[block * LANES + lane] += degc;
            }
        }
        let morning = clock.standard_day_start(date) + Duration::hours(THERMOCLINE_H);
        let ends = begins + Duration::hours(1);
        if begins < morning && ends >= morning {
            let profiles = main_body_degc(&advanced.ensemble, depth_m);
            let of = |temp_degc: &Vec<f64>| seasonal_thermocline_depth_m(depth_m, temp_degc);
            day.thermocline_m = profiles.iter().map(of).collect();
        }
    }
    Ok(days
        .into_iter()
        .filter(|(date, day)| *date == today || day.hours >= FEWEST_HOURS)
        .map(|(date, day)| DayAhead {
            date,
            surface_degc: (day.surface_degc.iter())
                .map(|sum| sum / day.hours as f64)
                .collect(),
            thermocline_m: day.thermocline_m,
        })
        .collect())
}

/// Quantiles over the members of each day's surface.
pub(super) fn surface_outlook(days: &[DayAhead]) -> Vec<SurfaceDay> {
    let of_day = |day: &DayAhead| {
        let [low_degc, median_degc, high_degc] = quantiles(&day.surface_degc, [0.1, 0.5, 0.9])?;
        Some(SurfaceDay {
            date: day.date,
            median_degc,
            low_degc,
            high_degc,
            shown_by: ShownBy::Model,
        })
    };
    days.iter().filter_map(of_day).collect()
}
