//! A few factors of the model, estimated against observed profiles: on all years, and on the others of each block of years.

use std::collections::BTreeMap;

use chrono::Datelike;

use super::fit_runs::{Points, Runs, moved};
use super::model::{ModelError, PastLake, fit_names, modelled_day};
use super::observed::{ObservedProfile, Profiles};
use super::pairs::ModelledDay;
use crate::column::layered::ModelFactors;
use crate::math::map_fit::Search;

/// Standard deviations of the logarithms of the factors before anything is seen, in the order of [`fit_names`] (project choice;
/// 0.6-1.4 for the wind, 0.9-1.1 for the sky in the literature, lognormal with 0.5 for the oxygen demand).
const PRIOR_SPREAD: [f64; 6] = [0.15, 0.25, 0.015, 0.7, 0.4, 0.5];
/// Error of a modelled value that a fit reckons with, degC or mg/L.
const ERROR: f64 = 1.0;
/// Values of one day that count as independent.
const INDEPENDENT_A_DAY: f64 = 2.0;
/// Most blocks of years.
const MOST_BLOCKS: usize = 4;
/// Sets of factors that a search tries, about.
const MOST_TRIALS: usize = 8;
/// A search ends when a step lowers its cost by less than this share.
const TOLERANCE: f64 = 2e-3;

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
    /// Factors that the lake file fixes, by name.
    pub fixed: Vec<(String, f64)>,
    /// Blocks of years; empty where there are observations of one year only, and then nothing can be held out.
    pub blocks: Vec<Block>,
    /// Sets of factors that the search of all years tried.
    pub trials: usize,
}

/// Fits the factors that the lake file does not fix: least squares with Gaussian priors on the logarithms ([`fit_map_of`](crate::math::map_fit::fit_map_of)), first on
/// all years. The search without a block of years begins where that one ended and keeps its slopes, less the block's rows: a year
/// more or less turns them little, and each step is one run instead of one for each factor.
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
    let points = temperature_points.count + oxygen_points.count;
    let days = temperature.profiles.len() + oxygen.profiles.len();
    let search = Search {
        weight: INDEPENDENT_A_DAY * days as f64 / points.max(1) as f64 / (ERROR * ERROR),
        steps: MOST_TRIALS,
        tolerance: TOLERANCE,
    };
    let runs = Runs {
        past,
        free: &free,
        points: (&temperature_points, &oxygen_points),
    };
    let Some((whole, slopes)) = runs.search_all(search)? else {
        return Ok(Fitted {
            factors: past.factors,
            table: Vec::new(),
            fixed: Vec::new(),
            blocks: Vec::new(),
            trials: 0,
        });
    };
    let years = point_years(&temperature.profiles, &oxygen.profiles);
    let blocks = runs.search_blocks(search, year_blocks(temperature), &years, (&whole.at, &slopes))?;
    let row = |(place, (name, before)): (usize, &(String, f64))| {
        let after = whole.covariance[(place, place)].max(0.0).sqrt();
        (name.clone(), whole.at[place].exp(), *before, after)
    };
    Ok(Fitted {
        factors: moved(past.factors, &free, &whole.at),
        table: free.iter().enumerate().map(row).collect(),
        fixed: Vec::new(),
        blocks,
        trials: whole.steps,
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
