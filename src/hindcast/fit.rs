//! A few factors of the model, estimated against observed profiles: on all years, and on the others of each block of years.

use std::collections::{BTreeMap, HashMap};

use chrono::{Datelike, NaiveDate};

use super::model::{ModelError, PastLake, fit_names, modelled_day, times};
use super::observed::{ObservedProfile, Profiles};
use super::pairs::ModelledDay;
use crate::column::layered::ModelFactors;
use crate::column::reservoir::DayMeans;
use crate::math::interpolate::linear;
use crate::math::map_fit::Prior;
use crate::math::map_rounds::MapRounds;

/// Standard deviations of the logarithms of the factors before anything is seen, in the order of [`fit_names`] (project choice;
/// 0.6-1.4 for the wind, 0.9-1.1 for the sky in the literature, lognormal with 0.5 for the oxygen demand).
const PRIOR_SPREAD: [f64; 6] = [0.15, 0.25, 0.015, 0.7, 0.4, 0.5];
/// Error of a modelled value that a fit reckons with, degC or mg/L.
const ERROR: f64 = 1.0;
/// Values of one day that count as independent.
const INDEPENDENT_A_DAY: f64 = 2.0;
/// Most blocks of years.
const MOST_BLOCKS: usize = 4;
/// Rounds of a search at most.
const MOST_ROUNDS: usize = 8;
/// A search ends when a round lowers its cost by less than this share.
const TOLERANCE: f64 = 2e-3;
/// Parameter sets that are run side by side: a search over five factors and four without a block make two such runs.
const LANES: usize = 5;

/// A block of years and the factors that were fitted on all others.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Years.
    pub years: Vec<i32>,
    /// Factors from the other years.
    pub factors: ModelFactors,
}

/// What a fit found.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Factors from all years.
    pub factors: ModelFactors,
    /// Name, factor, and standard deviation of its logarithm before and after, of those that were fitted.
    pub table: Vec<(String, f64, f64, f64)>,
    /// Blocks of years; empty where there are observations of one year only, and then nothing can be held out.
    pub blocks: Vec<Block>,
    /// Rounds of runs.
    pub rounds: usize,
}

/// Observed points of a quantity in the order in which residuals stand.
struct Points<'p> {
    by_day: HashMap<NaiveDate, (&'p ObservedProfile, usize)>,
    count: usize,
    of_oxygen: bool,
}

impl<'p> Points<'p> {
    fn new(profiles: &'p [ObservedProfile], from: usize, of_oxygen: bool) -> Points<'p> {
        let (mut by_day, mut count) = (HashMap::new(), 0);
        for profile in profiles {
            by_day.insert(profile.day, (profile, from + count));
            count += profile.depth_m.len();
        }
        Points {
            by_day,
            count,
            of_oxygen,
        }
    }

    /// Writes the residuals of a modelled day.
    fn write<const L: usize>(&self, day: &DayMeans<L>, residuals: &mut [Vec<f64>]) {
        let Some((profile, first)) = self.by_day.get(&day.day) else {
            return;
        };
        for (lane, residuals) in residuals.iter_mut().enumerate() {
            let field = if self.of_oxygen {
                &day.oxygen_mg_l[lane]
            } else {
                &day.temp_degc[lane]
            };
            for (k, (depth_m, value)) in profile.depth_m.iter().zip(&profile.value).enumerate() {
                // Above the first modelled depth and below the last, that one.
                if let Some(modelled) = linear(&day.depth_m[lane], field, *depth_m) {
                    residuals[first + k] = modelled - value;
                }
            }
        }
    }
}

/// Fits the factors that the lake file does not fix. Each search is least squares with Gaussian priors on the logarithms, Levenberg-Marquardt of our own
/// ([`MapRounds`]): a library's calls the model for one set of parameters at a time, while here all searches, of all years and
/// without each block, share their runs, five sets of factors side by side on two threads. The search of all years differentiates; those
/// without a block take the slopes that it found, less the block's rows.
///
/// Without observations the answer is the prior, that is the published defaults.
///
/// # Errors
/// [`ModelError::Run`].
pub fn fit_past_lake(
    past: &PastLake,
    temperature: &Profiles,
    oxygen: &Profiles,
    fixed: &[String],
) -> Result<Fitted, ModelError> {
    let temperature_points = Points::new(&temperature.profiles, 0, false);
    let oxygen_points = Points::new(&oxygen.profiles, temperature_points.count, true);
    let free: Vec<(String, f64)> = fit_names()
        .zip(PRIOR_SPREAD)
        .filter(|(name, _)| !fixed.contains(name))
        .filter(|(name, _)| name != "demand_frac" || oxygen_points.count > 0)
        .collect();
    let blocks = year_blocks(temperature);
    let points = temperature_points.count + oxygen_points.count;
    let years = point_years(&temperature.profiles, &oxygen.profiles);
    let days = temperature.profiles.len() + oxygen.profiles.len();
    let weight = INDEPENDENT_A_DAY * days as f64 / points.max(1) as f64 / (ERROR * ERROR);
    let prior = || Prior {
        mean: vec![0.0; free.len()],
        spread: free.iter().map(|(_, spread)| *spread).collect(),
    };
    let mut searches: Vec<MapRounds> = (0..=blocks.len())
        .filter_map(|_| MapRounds::new(prior(), weight, TOLERANCE))
        .collect();
    let (mut rounds, mut slopes) = (0, None);
    while rounds < MOST_ROUNDS && searches.iter().any(|search| !search.is_done()) {
        rounds += 1;
        let mut wanted: Vec<Vec<f64>> = Vec::new();
        for (k, search) in searches
            .iter()
            .enumerate()
            .filter(|(_, search)| !search.is_done())
        {
            match k {
                0 => wanted.extend(search.ask()),
                _ => wanted.push(search.trial().to_vec()),
            }
        }
        let wanted: Vec<ModelFactors> = wanted.iter().map(|at| moved(past.factors, &free, at)).collect();
        let found = residuals_of(past, &wanted, (&temperature_points, &oxygen_points))?;
        let mut found = found.into_iter();
        for (k, search) in searches.iter_mut().enumerate() {
            if search.is_done() {
                continue;
            }
            let Some(block) = k.checked_sub(1) else {
                let own: Vec<Vec<f64>> = found.by_ref().take(free.len() + 1).collect();
                slopes = search.tell(&own);
                continue;
            };
            let (Some(all), Some(slopes)) = (found.next(), &slopes) else {
                continue;
            };
            let kept: Vec<usize> = (0..years.len())
                .filter(|row| !blocks[block].contains(&years[*row]))
                .collect();
            let own: Vec<f64> = kept.iter().map(|row| all[*row]).collect();
            search.tell_with(&own, &slopes.select_rows(&kept));
        }
    }
    let fit_of = |search: &MapRounds| search.found();
    let whole = searches.first().and_then(fit_of);
    let at = |search: &MapRounds| {
        search
            .found()
            .map_or(past.factors, |fit| moved(past.factors, &free, &fit.at))
    };
    let table = whole.as_ref().map_or_else(Vec::new, |fit| {
        let row = |(place, (name, before)): (usize, &(String, f64))| {
            let after = fit.covariance[(place, place)].max(0.0).sqrt();
            (name.clone(), fit.at[place].exp(), *before, after)
        };
        free.iter().enumerate().map(row).collect()
    });
    Ok(Fitted {
        factors: searches.first().map_or(past.factors, at),
        table,
        blocks: blocks
            .into_iter()
            .zip(searches.iter().skip(1))
            .map(|(years, search)| Block {
                years,
                factors: at(search),
            })
            .collect(),
        rounds,
    })
}

/// Days of the years of each block, modelled with what the other years taught, and the release that the first block
/// could not draw, m3.
///
/// # Errors
/// [`ModelError::Run`].
pub fn held_out_days(past: &PastLake, fitted: &Fitted) -> Result<(Vec<ModelledDay>, f64), ModelError> {
    let mut factors = [past.factors; MOST_BLOCKS];
    for (slot, block) in factors.iter_mut().zip(&fitted.blocks) {
        *slot = block.factors;
    }
    let mut days = Vec::new();
    let lake = past.run::<MOST_BLOCKS>(&factors, |day| {
        let lane = fitted
            .blocks
            .iter()
            .position(|b| b.years.contains(&day.day.year()));
        days.extend(lane.map(|lane| modelled_day(day, lane)));
    })?;
    Ok((days, lake.books().undrawn_m3[0]))
}

/// The factors, each free one times the exponential of its logarithm.
fn moved(factors: ModelFactors, free: &[(String, f64)], logs: &[f64]) -> ModelFactors {
    free.iter().zip(logs).fold(factors, |held, ((name, _), log)| {
        // Every free name is one of those that a fit moves.
        times(held, name, log.exp()).unwrap_or(held)
    })
}

/// Residuals of each set of factors, run five at a time, on two threads.
fn residuals_of(
    past: &PastLake,
    wanted: &[ModelFactors],
    points: (&Points<'_>, &Points<'_>),
) -> Result<Vec<Vec<f64>>, ModelError> {
    let length = points.0.count + points.1.count;
    let run = |chunk: &[ModelFactors]| -> Result<Vec<Vec<f64>>, ModelError> {
        let mut factors = [past.factors; LANES];
        factors[..chunk.len()].copy_from_slice(chunk);
        let mut residuals = vec![vec![0.0; length]; chunk.len()];
        past.run::<LANES>(&factors, |day| {
            points.0.write(day, &mut residuals);
            points.1.write(day, &mut residuals);
        })?;
        Ok(residuals)
    };
    let chunks: Vec<&[ModelFactors]> = wanted.chunks(LANES).collect();
    let mut all = Vec::with_capacity(wanted.len());
    for pair in chunks.chunks(2) {
        let found: Vec<Result<Vec<Vec<f64>>, ModelError>> = std::thread::scope(|scope| {
            let threads: Vec<_> = pair.iter().map(|chunk| scope.spawn(|| run(chunk))).collect();
            threads
                .into_iter()
                .map(|thread| match thread.join() {
                    Ok(found) => found,
                    Err(panic) => std::panic::resume_unwind(panic),
                })
                .collect()
        });
        for residuals in found {
            all.extend(residuals?);
        }
    }
    Ok(all)
}

/// The year of each point, in the order of residuals.
fn point_years(temperature: &[ObservedProfile], oxygen: &[ObservedProfile]) -> Vec<i32> {
    temperature
        .iter()
        .chain(oxygen)
        .flat_map(|profile| std::iter::repeat_n(profile.day.year(), profile.depth_m.len()))
        .collect()
}

/// Blocks of years that follow each other, with about as many observed days in each; none for a single year.
fn year_blocks(observed: &Profiles) -> Vec<Vec<i32>> {
    let mut days: BTreeMap<i32, usize> = BTreeMap::new();
    for profile in &observed.profiles {
        *days.entry(profile.day.year()).or_default() += 1;
    }
    let count = days.len().min(MOST_BLOCKS);
    if count < 2 {
        return Vec::new();
    }
    let whole: usize = days.values().sum();
    let mut blocks: Vec<Vec<i32>> = vec![Vec::new()];
    let mut so_far = 0;
    let years = days.len();
    for (k, (year, n)) in days.into_iter().enumerate() {
        let full = so_far * count >= whole * blocks.len();
        let must = years - k == count - blocks.len();
        let may = blocks.len() < count && blocks.last().is_some_and(|block| !block.is_empty());
        if may && (full || must) {
            blocks.push(Vec::new());
        }
        if let Some(block) = blocks.last_mut() {
            block.push(year);
        }
        so_far += n;
    }
    blocks
}
