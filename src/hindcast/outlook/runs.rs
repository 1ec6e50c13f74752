//! The members through the past, corrected by what was measured, and on from each issue through other years' weather.

use std::collections::BTreeMap;

use chrono::{Datelike, Duration, NaiveDate};

use super::OutlookError;
use super::weather::{first_step, same_day, spliced};
use crate::column::assimilate::{
    AssimilationOptions, FactorSpread, Localisation, WaterField, WaterObservation, draw_factors,
};
use crate::column::forcing::Forcing;
use crate::column::layered::ModelFactors;
use crate::column::reservoir::{DayMeans, Ensemble, Reservoir, RunError, run_days};
use crate::column::turnover::{Hemisphere, MixDay, STAYS_DAYS, mixings};
use crate::hindcast::model::PastLake;
use crate::hindcast::observed::{ObservedProfile, Profiles};
use crate::units::S_PER_DAY;

/// Members that are stepped side by side.
const LANES: usize = 8;
/// Half-width in depth below the surface layer within which a measured temperature corrects the water, m (project choice:
/// a few sensors' distance of a chain).
const REACH_DEPTH_M: f64 = 3.0;
/// Standard error of a measured temperature for its day and the whole column, degC (common practice, no source).
const PROFILE_ERROR_DEGC: f64 = 0.5;
/// Seed of the factors.
const SEED: u64 = 0x706C_756E_6765;
/// Days that members are run on after the day by which an outlook with that lead should be over (project choice: four standard
/// deviations of a date).
const BEYOND_DAYS: i64 = 80;

/// When an outlook is issued: at the beginning of `day`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Issue {
    /// Day at whose beginning it is issued.
    pub day: NaiveDate,
    /// Year of stratification.
    pub year: i32,
    /// Days ahead.
    pub lead_days: u32,
}

/// What one member came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct MemberDate {
    /// Year whose weather it had.
    pub weather_year: i32,
    /// First mixed day; `None` where it had not turned over by the end of its run.
    pub day: Option<NaiveDate>,
}

/// The members of one issue.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Issued {
    /// When.
    pub issue: Issue,
    /// Members in order.
    pub members: Vec<MemberDate>,
    /// Last day of their runs.
    pub run_to: NaiveDate,
}

/// What a run through the past gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct PastRun {
    /// Issues in the order of time.
    pub issued: Vec<Issued>,
    /// Surface of each day, mean over members, degC.
    pub surface_degc: BTreeMap<NaiveDate, f64>,
}

/// What a run is made of.
pub(super) struct Wanted<'a> {
    pub past: &'a PastLake,
    /// Factors about which members are drawn.
    pub factors: ModelFactors,
    pub profiles: &'a Profiles,
    pub hemisphere: Hemisphere,
    /// Issues, in any order.
    pub issues: &'a [Issue],
    /// Years whose weather is used.
    pub weather_years: &'a [i32],
    /// Blocks of eight members.
    pub blocks: usize,
}

type Days = Vec<Vec<MixDay>>;

/// Runs the members through the past and issues on the way. A profile corrects the members at the end of its day; so an
/// outlook knows the weather and the profiles of the days before its own, and nothing else of its year.
pub(super) fn run_past(wanted: &Wanted<'_>) -> Result<PastRun, OutlookError> {
    let (past, forcing) = (wanted.past, &wanted.past.forcing);
    let spread = FactorSpread::default();
    let blocks: Vec<[ModelFactors; LANES]> = (0..wanted.blocks)
        .map(|block| {
            std::array::from_fn(|lane| {
                let drawn = draw_factors(SEED, block * LANES + lane, &spread);
                product(&wanted.factors, &drawn)
            })
        })
        .collect();
    let mut ensemble = Ensemble::<LANES>::cold(&past.setup, forcing, &blocks).map_err(RunError::Setup)?;
    let options = correction();
    let mut found = PastRun::default();
    let mut history: Days = vec![Vec::new(); wanted.blocks * LANES];
    let by_day: BTreeMap<NaiveDate, &ObservedProfile> =
        wanted.profiles.profiles.iter().map(|p| (p.day, p)).collect();
    let mut issues = wanted.issues.to_vec();
    issues.sort();
    let mut issues = issues.into_iter().peekable();
    let mut day = past.day_of(forcing.start) + Duration::days(1);
    let mut step = 0;
    while let Some(first) = first_step(forcing, past.day_shift, day) {
        // Up to the beginning of the day, with what was measured on the day before.
        let ended = day - Duration::days(1);
        let columns = run_blocks(
            &mut ensemble.lakes,
            &|_| forcing,
            step..first,
            past.day_shift,
            &|_| true,
        )?;
        step = first;
        let surface = surface_mean(&ensemble.lakes);
        found.surface_degc.insert(ended, surface);
        for (held, new) in history.iter_mut().zip(columns) {
            held.retain(|c| wanted.hemisphere.year_of(c.day) == wanted.hemisphere.year_of(ended));
            held.extend(new);
        }
        if let Some(profile) = by_day.get(&ended) {
            ensemble.assimilate(&observations(profile), &options)?;
        }
        while let Some(issue) = issues.next_if(|issue| issue.day <= day) {
            if issue.day == day
                && let Some(issued) = issue_from(&ensemble, &history, wanted, issue, first)?
            {
                found.issued.push(issued);
            }
        }
        day += Duration::days(1);
    }
    Ok(found)
}

/// Factors times those that were drawn.
fn product(factors: &ModelFactors, drawn: &ModelFactors) -> ModelFactors {
    let (a, b) = (factors.list(), drawn.list());
    ModelFactors::from_list(std::array::from_fn(|k| a[k] * b[k]))
}

/// Profiles correct the water and not the factors: what a fault of the model does to the deep water in summer is no news of
/// the wind of autumn.
fn correction() -> AssimilationOptions {
    AssimilationOptions {
        factor_weight_frac: 0.0,
        ..AssimilationOptions::of(Localisation::of_one(REACH_DEPTH_M))
    }
}

fn observations(profile: &ObservedProfile) -> Vec<WaterObservation> {
    profile
        .depth_m
        .iter()
        .zip(&profile.value)
        .map(|(depth_m, value)| WaterObservation {
            time: profile.time,
            place: 0,
            depth_m: *depth_m,
            field: WaterField::Temp,
            value: *value,
            error: PROFILE_ERROR_DEGC,
        })
        .collect()
}

fn surface_mean(lakes: &[Reservoir<LANES>]) -> f64 {
    let surfaces = lakes.iter().flat_map(crate::column::reservoir::surface_degc);
    surfaces.sum::<f64>() / (lakes.len() * LANES) as f64
}

/// The members of an issue, each from its state through the weather of another year; `None` where no other year has weather
/// so far on.
fn issue_from(
    ensemble: &Ensemble<LANES>,
    history: &Days,
    wanted: &Wanted<'_>,
    issue: Issue,
    first: usize,
) -> Result<Option<Issued>, OutlookError> {
    let (past, forcing) = (wanted.past, &wanted.past.forcing);
    let span_days = i64::from(issue.lead_days) + BEYOND_DAYS;
    let steps = (span_days as f64 * S_PER_DAY / forcing.step_s).round() as usize;
    let weather: Vec<(i32, Forcing)> = wanted
        .weather_years
        .iter()
        .filter(|year| **year != issue.year)
        .filter_map(|year| {
            let there = same_day(issue.day, issue.day.year() + year - issue.year)?;
            let from = first_step(forcing, past.day_shift, there)?;
            Some((*year, spliced(forcing, first, from, steps)?))
        })
        .collect();
    if weather.is_empty() {
        return Ok(None);
    }
    let of_member = |member: usize| &weather[member % weather.len()].1;
    let hemisphere = wanted.hemisphere;
    let turned = |columns: &[MixDay]| -> Option<NaiveDate> {
        let all = mixings(columns, hemisphere);
        all.iter().find(|m| m.0 == issue.year).map(|m| m.1.first_mixed)
    };
    // A block is run on until all of its members have turned over and stayed so.
    let go_on = |members: &[Vec<MixDay>]| {
        members.iter().any(|columns| {
            let Some(last) = columns.last() else { return true };
            turned(columns).is_none_or(|day| (last.day - day).num_days() <= STAYS_DAYS)
        })
    };
    let mut lakes = ensemble.lakes.clone();
    let days = run_blocks_from(&mut lakes, &of_member, 0..steps, past.day_shift, history, &go_on)?;
    let members = days
        .iter()
        .enumerate()
        .map(|(m, columns)| MemberDate {
            weather_year: weather[m % weather.len()].0,
            day: turned(columns),
        })
        .collect();
    Ok(Some(Issued {
        issue,
        members,
        run_to: issue.day + Duration::days(span_days - 1),
    }))
}

fn run_blocks<'f>(
    lakes: &mut [Reservoir<LANES>],
    forcing_of: &(dyn Fn(usize) -> &'f Forcing + Sync),
    steps: std::ops::Range<usize>,
    day_shift: Duration,
    go_on: &(dyn Fn(&[Vec<MixDay>]) -> bool + Sync),
) -> Result<Days, RunError> {
    let none = vec![Vec::new(); lakes.len() * LANES];
    run_blocks_from(lakes, forcing_of, steps, day_shift, &none, go_on)
}

/// Runs all blocks, shared out among the processor's cores, and gives the columns of each member: those of `before` and those
/// of the days that ended.
fn run_blocks_from<'f>(
    lakes: &mut [Reservoir<LANES>],
    forcing_of: &(dyn Fn(usize) -> &'f Forcing + Sync),
    steps: std::ops::Range<usize>,
    day_shift: Duration,
    before: &Days,
    go_on: &(dyn Fn(&[Vec<MixDay>]) -> bool + Sync),
) -> Result<Days, RunError> {
    let run_one = |block: usize, lake: &mut Reservoir<LANES>| -> Result<Days, RunError> {
        let forcings = std::array::from_fn(|lane| forcing_of(block * LANES + lane));
        let mut days: Days = before[block * LANES..(block + 1) * LANES].to_vec();
        run_days(
            lake,
            forcings,
            steps.clone(),
            day_shift,
            |means: &DayMeans<LANES>| {
                for (lane, days) in days.iter_mut().enumerate() {
                    days.extend(MixDay::of(
                        means.day,
                        &means.depth_m[lane],
                        &means.temp_degc[lane],
                    ));
                }
                go_on(&days)
            },
        )?;
        Ok(days)
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let share = lakes.len().div_ceil(cores).max(1);
    std::thread::scope(|scope| {
        let run_one = &run_one;
        let running: Vec<_> = lakes
            .chunks_mut(share)
            .enumerate()
            .map(|(chunk, lakes)| {
                scope.spawn(move || -> Result<Days, RunError> {
                    let mut all = Vec::new();
                    for (k, lake) in lakes.iter_mut().enumerate() {
                        all.extend(run_one(chunk * share + k, lake)?);
                    }
                    Ok(all)
                })
            })
            .collect();
        let mut all = Vec::new();
        for thread in running {
            all.extend(
                thread
                    .join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic))?,
            );
        }
        Ok(all)
    })
}
