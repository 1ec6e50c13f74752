//! The outlook of a lake from its runs and conditions.

use chrono::{DateTime, NaiveDate, Utc};

use super::chances::{contrast, place_outlook};
use super::value::{
    InflowDriver, LEAST_YEARS, OutlookBasis, OutlookDrivers, OutlookLacking, OutlookState, TURNOVER_FORM,
    TurnoverOutlook, WANTED_YEARS, YearLeftOut,
};
use crate::column::turnover::{STAYS_DAYS, SeasonRuns, YearWeights};
use crate::conditions::Conditions;
use crate::lake::{Lake, SeriesPlace};
use crate::math::analogs::FEW_ANALOGS;
use crate::plan::is_level_late;
use crate::quantity::Quantity;
use crate::reports::header;
use crate::reports::trust::newest_age_h;

/// What an outlook is made from.
#[derive(Debug, Clone, Copy)]
pub struct OutlookOf<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Conditions of the morning.
    pub conditions: &'a Conditions,
    /// First and last day of the season.
    pub season: (NaiveDate, NaiveDate),
}

/// Nothing yet.
fn empty(lake: &Lake, as_of: DateTime<Utc>, state: OutlookState) -> TurnoverOutlook {
    TurnoverOutlook {
        form: TURNOVER_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: header(lake),
        as_of,
        state,
        enough: true,
        lacking: Vec::new(),
        places: Vec::new(),
        basis: None,
        drivers: None,
        species: lake.species.iter().map(|species| species.id.clone()).collect(),
        gaps: Vec::new(),
    }
}

/// That it is not the season, and when that begins.
pub fn outlook_out_of_season(lake: &Lake, as_of: DateTime<Utc>, next_from: NaiveDate) -> TurnoverOutlook {
    empty(lake, as_of, OutlookState::OutOfSeason { next_from })
}

/// The outlook, or why there is none.
pub fn turnover_outlook(of: &OutlookOf<'_>, runs: Result<&SeasonRuns, &str>) -> TurnoverOutlook {
    let (lake, conditions) = (of.lake, of.conditions);
    let state = match runs {
        Ok(season) if season.runs.is_empty() => OutlookState::NotMade {
            why: "the store has no past year's weather of these months; pull more of it (`plungeline pull --history 40`)"
                .to_owned(),
        },
        Ok(_) => OutlookState::Made {
            season_from: of.season.0,
            season_until: of.season.1,
        },
        Err(why) => OutlookState::NotMade { why: why.to_owned() },
    };
    let mut outlook = empty(lake, conditions.as_of, state);
    outlook.lacking = lacking(of, runs.ok());
    if let Ok(season) = runs {
        for gap in &season.gaps {
            if !outlook.gaps.contains(gap) {
                outlook.gaps.push(gap.clone());
            }
        }
        if !season.runs.is_empty() {
            let places = season
                .places
                .iter()
                .filter_map(|place| Some((lake.zone(&place.zone)?, place)));
            outlook.places = places
                .map(|(zone, place)| place_outlook(zone, place, season))
                .collect();
            outlook.basis = Some(basis(season));
            outlook.drivers = Some(drivers(of, season));
        }
    }
    outlook.enough = outlook.lacking.is_empty();
    outlook
}

fn lacking(of: &OutlookOf<'_>, season: Option<&SeasonRuns>) -> Vec<OutlookLacking> {
    let (lake, conditions) = (of.lake, of.conditions);
    let mut lacking = Vec::new();
    if is_level_late(lake, conditions) {
        let used = conditions.pool.as_ref();
        let age_h = used.map(|pool| (conditions.as_of - pool.observed_at).num_seconds() as f64 / 3600.0);
        lacking.push(OutlookLacking::Level { age_h });
    }
    let place = SeriesPlace::Lake;
    for quantity in [Quantity::AirTemp, Quantity::WindSpeed] {
        let age = newest_age_h(lake, &conditions.inputs, quantity, &place, false);
        let told = lacking
            .iter()
            .any(|l| matches!(l, OutlookLacking::Weather { .. }));
        if age.late && !told {
            lacking.push(OutlookLacking::Weather { age_h: age.age_h });
        }
    }
    match season {
        None => lacking.push(OutlookLacking::Runs),
        Some(season) => {
            let found = years(season).len();
            if found < LEAST_YEARS {
                lacking.push(OutlookLacking::Years { found });
            }
        }
    }
    lacking
}

fn years(season: &SeasonRuns) -> Vec<i32> {
    let mut years: Vec<i32> = season.runs.iter().map(|run| run.year).collect();
    years.sort_unstable();
    years.dedup();
    years
}

fn basis(season: &SeasonRuns) -> OutlookBasis {
    let years = years(season);
    let (forecast_h, blend_h) = season.forecast_and_blend_h;
    let (shaped, smooth) = season.shaped_days;
    // The runs go on for some days, to tell whether the water stays mixed.
    let run_days = (season.until - season.today).num_days() + STAYS_DAYS + 1;
    let days = run_days as f64 * years.len() as f64;
    OutlookBasis {
        from: season.from,
        years: years.len(),
        first_year: years.first().copied().unwrap_or_default(),
        last_year: years.last().copied().unwrap_or_default(),
        runs: season.runs.len(),
        effective_years: season.effective_years,
        few_analogs: season.effective_years < FEW_ANALOGS,
        few_years: years.len() < WANTED_YEARS,
        by_likeness: season.weights == YearWeights::Analog,
        left_out: season
            .left_out
            .iter()
            .map(|out| YearLeftOut {
                year: out.year,
                lacking: out.lacking.map(str::to_owned),
            })
            .collect(),
        forecast_days: forecast_h as f64 / 24.0,
        blend_days: blend_h as f64 / 24.0,
        forecast_members: season.forecast_members,
        shaped_frac: (shaped as f64 / days).min(1.0),
        smooth_frac: (smooth as f64 / days).min(1.0),
        held_runs: season.held_runs,
    }
}

fn drivers(of: &OutlookOf<'_>, season: &SeasonRuns) -> OutlookDrivers {
    let (lake, conditions) = (of.lake, of.conditions);
    let main = season
        .places
        .iter()
        .find(|place| place.zone == lake.main_body().id);
    let name = |id: &crate::lake::InflowId| {
        let inflow = lake.inflows.iter().find(|inflow| inflow.id == *id);
        inflow.map_or_else(|| id.to_string(), |inflow| inflow.name.clone())
    };
    let surface = conditions.surface.as_ref();
    let of_thirds = |of: fn(&crate::column::turnover::RunYear) -> f64| contrast(season, main?, of);
    OutlookDrivers {
        below_full_m: lake.full_pool_elevation_m - season.level_m,
        level_percentile_frac: conditions
            .pool
            .as_ref()
            .and_then(|pool| pool.percentile_for_date_frac),
        inflows: conditions
            .inflows
            .iter()
            .map(|inflow| InflowDriver {
                inflow: inflow.inflow.clone(),
                name: name(&inflow.inflow),
                discharge_m3s: inflow.discharge_m3s,
                mean_m3s: inflow.mean_m3s,
            })
            .collect(),
        residence_days: conditions.balance.residence_days,
        cooling_degc_per_day: surface.and_then(|s| Some(s.trend_14d.as_ref()?.rate_degc_per_day)),
        warmth: of_thirds(|run| run.air_temp_degc),
        wind: of_thirds(|run| run.wind_speed_m_s),
    }
}
