//! The run up to the clock: from the newest valid state or from a cold start, corrected by readings on the way, its states
//! kept.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::begin::{SEED, beginning, cold};
use super::error::AnalysisError;
use super::inputs::inputs_by_day;
use super::keep::days_kept;
use super::observed::{ObservedWater, observed_water};
use crate::archive::analysed::{AnalysedState, AnalysedStates, Basis, InputHash, StateError, code_version};
use crate::column::assimilate::{AssimilationOptions, FactorSpread, Localisation};
use crate::column::network::Layout;
use crate::column::reservoir::{Ensemble, ReservoirSetup};
use crate::column::stored::{StoredForcing, StoredOptions, stored_forcing};
use crate::lake::Lake;
use crate::series::SeriesSet;
use crate::sources::csv::WaterReading;

/// Members that are stepped side by side.
pub const LANES: usize = 8;
/// Members of the ensemble.
pub const MEMBERS: usize = 32;
/// Half-width in depth below the surface layer within which a reading corrects the water, m (project choice: below that layer
/// what goes together with the surface among the members goes by their factors, and not by what the gauge has seen).
const REACH_DEPTH_M: f64 = 2.0;
/// Half-width of its reach along the lake, m (project choice: beyond two reaches the water has its own weather and river).
const REACH_ALONG_M: f64 = 5000.0;
/// Length of a column whose thalweg is not known, m (project choice, as long as a reach is meant to be).
const UNKNOWN_LENGTH_M: f64 = 3500.0;

/// What a run is wanted for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdvanceOptions<'a> {
    /// Hash of the lake file's bytes.
    pub lake_file: InputHash,
    /// The angler's own readings of the water.
    pub own: &'a [WaterReading],
    /// Longest time ahead that forcings are wanted for, days; 0 for none.
    pub ahead_days: u32,
}

/// What a run began with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Begun {
    /// The last winter's mixing.
    Cold,
    /// The state at the end of a day.
    State {
        /// The day.
        day: NaiveDate,
    },
}

/// The lake's columns at the clock.
#[derive(Debug)]
pub struct Advanced {
    /// The members.
    pub ensemble: Ensemble<LANES>,
    /// End of the last whole hour before the clock: what the members are the state of.
    pub at: DateTime<Utc>,
    /// Beginning of the cold run that all states come from.
    pub cold_start: DateTime<Utc>,
    /// What this run began with.
    pub begun: Begun,
    /// Hours run.
    pub hours: usize,
    /// Readings of the water since the cold start.
    pub observed: ObservedWater,
    /// How many of them this run took up.
    pub taken_up: usize,
    /// States kept.
    pub kept: usize,
    /// Saved states that were of no use, and states that could not be kept.
    pub told: Vec<StateError>,
    /// The forcing, past and ahead.
    pub forcing: StoredForcing,
}

/// Runs the lake's columns up to the last whole hour before the clock of `set`.
///
/// The run begins with the newest state among `states` that still stands, else cold in the last winter; corrects the members
/// hour by hour by [`observed_water`]; and keeps the states of the days that [`days_kept`] names. Without `states`
/// nothing is taken up or kept. States that cannot be read or written cost time and no result: they are told.
///
/// # Errors
/// [`AnalysisError`].
pub fn advance(
    lake: &Lake,
    set: &SeriesSet,
    newest_level_m: Option<f64>,
    states: Option<&AnalysedStates>,
    options: &AdvanceOptions<'_>,
) -> Result<Advanced, AnalysisError> {
    let setup = ReservoirSetup::of_lake(lake)?;
    let cold_start = beginning(lake, set, set.as_of).ok_or(AnalysisError::NoWinter)?;
    let forcing = stored_forcing(
        lake,
        set,
        &StoredOptions {
            from: cold_start,
            as_of: set.as_of,
            members: MEMBERS,
            seed: SEED,
            ahead_days: options.ahead_days,
        },
    )?;
    let past = &forcing.past;
    let hours = past.weather.len();
    let inputs = states.map(|_| inputs_by_day(set, options.own, past.start));
    let basis = |day: &NaiveDate| {
        let inputs = *inputs.as_ref()?.get(day)?;
        Some(Basis {
            inputs,
            lake_file: options.lake_file,
            code: code_version(),
        })
    };
    let mut told = Vec::new();
    let mut ensemble = cold((lake, &setup), past, newest_level_m)?;
    let mut begun = Begun::Cold;
    if let (Some(states), Some(inputs)) = (states, &inputs) {
        // A step is left to be made, which tells where the rivers go.
        let before = past.step_start(hours - 1).date_naive();
        match states.newest_valid::<LANES>(before, &options.lake_file, inputs) {
            Ok(found) => {
                told.extend(found.passed_over.into_iter().map(|passed| passed.why));
                if let Some(state) = found.state {
                    let day = state.day;
                    match state.take_up(&mut ensemble) {
                        Ok(()) => begun = Begun::State { day },
                        Err(error) => {
                            told.push(error);
                            ensemble = cold((lake, &setup), past, newest_level_m)?;
                        }
                    }
                }
            }
            Err(error) => told.push(error),
        }
    }
    let from = match begun {
        Begun::Cold => 0,
        Begun::State { day } => hour_after(day, past.start),
    };
    let observed = observed_water(lake, set, options.own, &setup.layout);
    let mut run = Run {
        ensemble,
        forcing: &forcing,
        observed: &observed,
        correction: correction(lake, &setup.layout),
        taken_up: 0,
    };
    let today = set.as_of.date_naive();
    let (mut step, mut kept) = (from, 0);
    while step < hours {
        let day = past.step_start(step).date_naive();
        let end = hour_after(day, past.start).min(hours);
        run.hours(step..end)?;
        step = end;
        let is_whole = past.step_start(end).date_naive() > day;
        if let Some(states) = states.filter(|_| is_whole && days_kept(day, today))
            && let Some(basis) = basis(&day)
        {
            match states.keep(&AnalysedState::of(&run.ensemble, day, basis)) {
                Ok(_) => kept += 1,
                Err(error) => told.push(error),
            }
        }
    }
    let (ensemble, taken_up) = (run.ensemble, run.taken_up);
    if let Some(states) = states.filter(|_| kept > 0)
        && let Err(error) = states.prune(|day| days_kept(day, today) && day >= past.start.date_naive())
    {
        told.push(error);
    }
    Ok(Advanced {
        ensemble,
        at: past.step_start(hours),
        cold_start: past.start,
        begun,
        hours: hours - from,
        observed,
        taken_up,
        kept,
        told,
        forcing,
    })
}

/// Place of the first hour after a day, counted from the start.
fn hour_after(day: NaiveDate, start: DateTime<Utc>) -> usize {
    let next = (day + Duration::days(1))
        .and_time(chrono::NaiveTime::MIN)
        .and_utc();
    usize::try_from((next - start).num_hours()).unwrap_or(0)
}

/// A run under way.
struct Run<'a> {
    ensemble: Ensemble<LANES>,
    forcing: &'a StoredForcing,
    observed: &'a ObservedWater,
    correction: AssimilationOptions,
    taken_up: usize,
}

impl Run<'_> {
    /// Some hours, each corrected at its end by the readings made in it.
    fn hours(&mut self, hours: std::ops::Range<usize>) -> Result<(), AnalysisError> {
        let past = &self.forcing.past;
        let mut from = hours.start;
        for hour in hours.clone() {
            let readings = self.observed.within(past.step_start(hour));
            if readings.is_empty() {
                continue;
            }
            self.ensemble.run(&[past], from..hour + 1)?;
            from = hour + 1;
            let analysis = self.ensemble.assimilate(&readings, &self.correction)?;
            self.taken_up += analysis
                .seen
                .iter()
                .filter(|seen| seen.innovation_and_variance.is_some())
                .count();
        }
        self.ensemble.run(&[past], from..hours.end)?;
        Ok(())
    }
}

/// How readings correct the columns of a lake: the water, and not the members' factors. What a brief is corrected by is above all one
/// gauge at the surface, day after day, which cannot tell wind from light or mixing: taken up with full weight on the
/// factors it narrowed them to a set that had the surface right and the deep water wrong, by 2 degC at 20 m of the
/// demonstration lake in July and by 3 at its bed in October, with hardly a spread left to say so.
fn correction(lake: &Lake, layout: &Layout) -> AssimilationOptions {
    let localisation = Localisation::of_places(REACH_DEPTH_M, &apart_m(layout), REACH_ALONG_M);
    AssimilationOptions {
        factor_spread: FactorSpread::stated(&lake.model_factors),
        factor_weight_frac: 0.0,
        ..AssimilationOptions::of(localisation)
    }
}

/// The way through the water between the middles of the columns, m, shape `[column][column]`.
fn apart_m(layout: &Layout) -> Vec<Vec<f64>> {
    let places = &layout.places;
    let half_m = |i: usize| {
        0.5 * places[i]
            .valley
            .as_ref()
            .map_or(UNKNOWN_LENGTH_M, |v| v.length_m())
    };
    // From each column toward the lake, with the way to every column on it.
    let ways: Vec<Vec<(usize, f64)>> = (0..places.len())
        .map(|column| {
            let mut way = vec![(column, 0.0)];
            let (mut at, mut sum_m) = (column, 0.0);
            while let Some((next, _)) = &places[at].toward_lake {
                sum_m += half_m(at) + half_m(*next);
                at = *next;
                way.push((at, sum_m));
            }
            way
        })
        .collect();
    let between = |a: usize, b: usize| {
        let meets = ways[a].iter().find_map(|(place, to_m)| {
            let other = ways[b].iter().find(|(other, _)| other == place)?;
            Some(to_m + other.1)
        });
        // All ways end in the main body.
        meets.unwrap_or(f64::INFINITY)
    };
    (0..places.len())
        .map(|a| (0..places.len()).map(|b| between(a, b)).collect())
        .collect()
}
