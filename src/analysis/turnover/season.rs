//! The chain: the analysed water, the scenarios, the runs, and what becomes of each place in each.

use chrono::{Duration, NaiveDate};

use super::coarse::{COARSE_LAYER_M, poured};
use super::likeness::likeness;
use super::steps::{EndsEarly, RunDays, run_blocks};
use crate::analysis::{Advanced, AnalysisError, LANES, SEED};
use crate::clock::LakeClock;
use crate::column::forcing::Forcing;
use crate::column::reservoir::{ReservoirSetup, level_of};
use crate::column::stored::{Scenario, ScenarioOptions, Scenarios, scenarios};
use crate::column::turnover::{
    MixDay, PlaceRuns, RunEnd, RunYear, STAYS_DAYS, SeasonEnd, SeasonRuns, YearWeights, autumn_before,
    season_end,
};
use crate::lake::{Lake, TurnoverSeason, ZoneId};
use crate::math::analogs::effective_size;
use crate::math::quantiles::mean;
use crate::series::{Consequence, Gap, GapReason, SeriesSet};

/// Longest part of the scenarios that the forecast gives, days.
const FORECAST_DAYS: u32 = 16;
/// Runs that are wanted at least: fewer do not show a tenth of them.
const RUNS: usize = 40;
/// A stride through the members that shares no factor with their number, so that neighbouring years begin with unlike members.
const STRIDE: usize = 13;
/// Days behind the forecast whose air and wind are compared among the runs.
const COMPARED_DAYS: usize = 60;

/// How a season is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonOptions {
    /// Last day that counts.
    pub until: NaiveDate,
    /// How years are weighted.
    pub weights: YearWeights,
    /// Thickness of the layers, m; `None` for the columns of a brief, all of them: slow, and what the fast way is held against.
    pub layer_m: Option<f64>,
    /// Whether runs go on to the last day after every place has turned over: slower, and what the short way is held against.
    pub to_the_end: bool,
}

impl SeasonOptions {
    /// To the end of the season, all years alike, on coarse columns.
    pub fn until(until: NaiveDate) -> SeasonOptions {
        SeasonOptions {
            until,
            weights: YearWeights::Equal,
            layer_m: Some(COARSE_LAYER_M),
            to_the_end: false,
        }
    }
}

/// The season of a lake: as its file says, else by its latitude.
pub fn season_of(lake: &Lake) -> TurnoverSeason {
    lake.turnover
        .unwrap_or_else(|| TurnoverSeason::of_latitude(lake.latitude_deg))
}

/// The season ahead of the analysed water: every past year's weather behind the forecast (ensemble streamflow prediction, Day 1985, with
/// the lake in the place of the snow), each year from the state of another member, so that what is not known of today's water is among
/// what the runs differ by. Levels stay between the minimum and the full pool.
///
/// The runs have one column a zone and layers of 2 m: when water turns over is asked, not how cold it is where.
///
/// # Errors
/// [`AnalysisError`]. A store without a past year is no error: there are no runs then.
pub fn season_runs(
    lake: &Lake,
    set: &SeriesSet,
    advanced: &Advanced,
    options: &SeasonOptions,
) -> Result<SeasonRuns, AnalysisError> {
    let clock = LakeClock::new(lake.time_zone);
    let setup = match options.layer_m {
        Some(layer_m) => ReservoirSetup::coarse(lake, layer_m)?,
        None => ReservoirSetup::of_lake(lake)?,
    };
    // Days after the last tell whether water that mixed on it stays so.
    let beyond = options.until + Duration::days(STAYS_DAYS + 1);
    let mut found = scenarios(
        lake,
        set,
        &ScenarioOptions {
            from: advanced.cold_start,
            as_of: set.as_of,
            until: clock.standard_day_start(beyond),
            forecast_days: FORECAST_DAYS,
            runs: RUNS,
            seed: SEED,
        },
    )?;
    let weights = year_weights(&mut found, options.weights);
    let today = clock.standard_day(advanced.at);
    // The end of a season has an equinox before it within the year; without one nothing before it is summer.
    let autumn = autumn_before(options.until, lake.latitude_deg).unwrap_or(today);
    let ends_early = (!options.to_the_end).then_some((autumn, options.until));
    let days = run(lake, (&setup, advanced), (&found.runs, ends_early), &clock)?;
    let mut zones: Vec<ZoneId> = setup
        .layout
        .places
        .iter()
        .map(|place| place.zone.clone())
        .collect();
    zones.dedup();
    let places = zones
        .iter()
        .map(|zone| place_runs((&setup, advanced), zone, &days, (today, autumn, options.until)));
    Ok(SeasonRuns {
        from: advanced.at,
        today,
        until: options.until,
        effective_years: if found.years.is_empty() {
            0.0
        } else {
            effective_size(&weights.0)
        },
        weights: weights.1,
        places: places.collect(),
        level_m: level_of(&advanced.ensemble).ok_or(AnalysisError::NoLevel)?,
        held_runs: days.iter().filter(|run| run.held).count(),
        runs: run_years(&found, &weights.0),
        left_out: found.left_out,
        forecast_and_blend_h: (found.forecast_h, found.blend_h),
        forecast_members: found.forecast_members,
        shaped_days: found.shaped_days,
        gaps: found.gaps,
    })
}

/// Weights of the years and how they came about: alike where likeness is not wanted, or not known, which is told.
fn year_weights(found: &mut Scenarios, wanted: YearWeights) -> (Vec<f64>, YearWeights) {
    let count = found.years.len();
    if wanted == YearWeights::Analog {
        match likeness(&found.before.0, &found.before.1) {
            Some(weights) => return (weights, YearWeights::Analog),
            None => found.gaps.push(Gap {
                what: "air of the last three months".to_owned(),
                reason: GapReason::NoData,
                consequence: Consequence::StandIn {
                    stand_in: "equal weights of all years".to_owned(),
                },
            }),
        }
    }
    (vec![1.0 / count.max(1) as f64; count], YearWeights::Equal)
}

/// Runs all scenarios, the last block filled up with the first of them again.
fn run(
    lake: &Lake,
    (setup, advanced): (&ReservoirSetup, &Advanced),
    (scenarios, ends_early): (&[Scenario], EndsEarly),
    clock: &LakeClock,
) -> Result<Vec<RunDays>, AnalysisError> {
    if scenarios.is_empty() {
        return Ok(Vec::new());
    }
    let members = advanced.ensemble.members();
    let (mut blocks, mut forcings) = (Vec::new(), Vec::new());
    for block in 0..scenarios.len().div_ceil(LANES) {
        let run = |lane: usize| (block * LANES + lane) % scenarios.len();
        let own = std::array::from_fn(|lane| (STRIDE * run(lane)) % members);
        let filled = poured(setup, &advanced.ensemble, own).ok_or_else(|| AnalysisError::Level {
            level_m: level_of(&advanced.ensemble).unwrap_or(f64::NAN),
        })?;
        blocks.push(filled);
        let of_lane = |lane: usize| -> &Forcing { &scenarios[run(lane)].forcing };
        forcings.push(std::array::from_fn::<&Forcing, LANES, _>(of_lane));
    }
    let pools_m = (lake.minimum_pool_elevation_m, lake.full_pool_elevation_m);
    let mut days = run_blocks(blocks, &forcings, clock, (pools_m, ends_early))?;
    days.truncate(scenarios.len());
    Ok(days)
}

/// Weight and weather of each run.
fn run_years(found: &Scenarios, weights: &[f64]) -> Vec<RunYear> {
    let times = found.runs.len() / found.years.len().max(1);
    let of = |(i, run): (usize, &Scenario)| {
        // Where the forecast reaches to the end, nothing sets runs apart but its members.
        let own = run.forcing.weather.get(found.forecast_h..).unwrap_or_default();
        let compared = if own.is_empty() {
            &run.forcing.weather[..]
        } else {
            own
        };
        let compared = &compared[..compared.len().min(24 * COMPARED_DAYS)];
        let over = |value: fn(&crate::column::forcing::Weather) -> f64| {
            mean(&compared.iter().map(value).collect::<Vec<f64>>()).unwrap_or(f64::NAN)
        };
        RunYear {
            year: run.year,
            weight_frac: weights[i % weights.len()] / times as f64,
            air_temp_degc: over(|w| w.air_temp_degc),
            wind_speed_m_s: over(|w| w.wind_speed_m_s),
        }
    };
    found.runs.iter().enumerate().map(of).collect()
}

/// What became of a zone: of its deepest column, which is the last to mix.
fn place_runs(
    (setup, advanced): (&ReservoirSetup, &Advanced),
    zone: &ZoneId,
    days: &[RunDays],
    (today, autumn, last): (NaiveDate, NaiveDate, NaiveDate),
) -> PlaceRuns {
    let columns = setup.layout.of_zone(zone);
    let bed_m = |column: &usize| setup.layout.places[*column].bed_elevation_m;
    // A zone was named by one of its columns.
    let column = columns.min_by(|a, b| bed_m(a).total_cmp(&bed_m(b))).unwrap_or(0);
    let level_m = level_of(&advanced.ensemble).unwrap_or(f64::NAN);
    // An arm that is closed today and fills later has its first day later.
    let firsts: Vec<&MixDay> = days
        .iter()
        .filter_map(|run| run.columns[column].first().filter(|first| first.day == today))
        .collect();
    let open = 2 * firsts.len() > days.len();
    PlaceRuns {
        zone: zone.clone(),
        depth_m: (open || days.is_empty()).then(|| (level_m - bed_m(&column)).max(0.0)),
        top_degc: firsts.iter().map(|day| day.top_degc).collect(),
        half_mixed_frac: mean(
            &firsts
                .iter()
                .map(|day| f64::from(u8::from(day.is_half_mixed)))
                .collect::<Vec<f64>>(),
        )
        .unwrap_or(0.0),
        ends: days
            .iter()
            .map(|run| run_end(run, column, (autumn, last)))
            .collect(),
    }
}

fn run_end(run: &RunDays, column: usize, autumn_and_last: (NaiveDate, NaiveDate)) -> RunEnd {
    let days = &run.columns[column];
    let Some((by_density, by_degree)) = season_end(days, autumn_and_last) else {
        return RunEnd::Closed;
    };
    let ended = days.last().is_some_and(|last| last.day < autumn_and_last.1) || !run.open[column];
    match by_density {
        SeasonEnd::NotTurnedOver if ended => RunEnd::Closed,
        _ => RunEnd::Season {
            by_density,
            by_degree,
        },
    }
}
