//! The members at the beginning of a cold run.

use chrono::{DateTime, Datelike as _, Utc};

use super::advance::{LANES, MEMBERS};
use super::error::AnalysisError;
use crate::column::assimilate::{FactorSpread, draw_factors};
use crate::column::forcing::Forcing;
use crate::column::layered::ModelFactors;
use crate::column::reservoir::{Ensemble, Reservoir, ReservoirSetup};
use crate::column::stored::cold_start;
use crate::lake::Lake;
use crate::math::quantiles::mean;
use crate::physics::water::MAX_DENSITY_TEMP_DEGC;
use crate::series::SeriesSet;

/// Seed of every draw. The same on every morning, so that two mornings differ by their data and not by their draws.
pub const SEED: u64 = 0x706C_756E_6765;
/// Hours at the beginning whose mean air is the lake's temperature: the later half of the thirty days that the start is
/// the middle of.
const BEGINNING_H: usize = 15 * 24;

/// Where a run without a saved state begins: as [`cold_start`] finds it for the first of this month, so that it does not move
/// from day to day, which would make every saved state worthless. `None` without a winter.
pub(super) fn beginning(lake: &Lake, set: &SeriesSet, as_of: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let first = as_of
        .date_naive()
        .with_day(1)?
        .and_time(chrono::NaiveTime::MIN)
        .and_utc();
    cold_start(lake, set, first)
}

/// Factors of all members, shape `[block][lane]`: as far apart as the lake file states them, by default where it says nothing.
pub(super) fn factors(lake: &Lake) -> Vec<[ModelFactors; LANES]> {
    let spread = FactorSpread::stated(&lake.model_factors);
    (0..MEMBERS / LANES)
        .map(|block| std::array::from_fn(|lane| draw_factors(SEED, block * LANES + lane, &spread)))
        .collect()
}

/// The lake at the level of its beginning, of one temperature at all depths: the mean air of the first half month, at least
/// that of greatest density; saturated with oxygen, without river water.
///
/// # Errors
/// [`AnalysisError::NoLevel`], [`AnalysisError::Level`].
pub(super) fn cold(
    (lake, setup): (&Lake, &ReservoirSetup),
    past: &Forcing,
    newest_level_m: Option<f64>,
) -> Result<Ensemble<LANES>, AnalysisError> {
    let known = past.level_m.first().copied().or(newest_level_m);
    let level_m = known.ok_or(AnalysisError::NoLevel)?;
    let first = &past.weather[..past.weather.len().min(BEGINNING_H)];
    let air_degc: Vec<f64> = first.iter().map(|w| w.air_temp_degc).collect();
    let pressure_pa: Vec<f64> = first.iter().map(|w| w.pressure_pa).collect();
    // A forcing has at least an hour.
    let temp_degc = mean(&air_degc).unwrap_or(f64::NAN).max(MAX_DENSITY_TEMP_DEGC);
    let pressure_pa = mean(&pressure_pa).unwrap_or(f64::NAN);
    let lakes = factors(lake).into_iter().map(|factors| {
        Reservoir::isothermal(setup, factors, level_m, (temp_degc, pressure_pa))
            .ok_or(AnalysisError::Level { level_m })
    });
    Ok(Ensemble {
        lakes: lakes.collect::<Result<_, _>>()?,
    })
}
