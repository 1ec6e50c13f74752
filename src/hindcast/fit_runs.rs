//! Runs of a past lake for the search of its factors: residuals against observed profiles, and their slopes.

use std::collections::HashMap;

use chrono::NaiveDate;
use nalgebra::DMatrix;

use super::fit::Block;
use super::model::{ModelError, PastLake, times};
use super::observed::ObservedProfile;
use crate::column::layered::ModelFactors;
use crate::column::reservoir::DayMeans;
use crate::math::interpolate::linear;
use crate::math::map_fit::{MapFit, Prior, Residuals, Search, fit_map_of};

/// Finite difference of the slopes, as a share of a factor's spread: a model with thresholds (layers that mix or not)
/// has no use for a small one.
const DIFFERENCE_FRAC: f64 = 0.1;
/// Sets of factors that are run side by side on each of two threads: one and a step along each of five take both.
const LANES: usize = 3;

/// Observed points of a quantity in the order in which residuals stand.
pub(super) struct Points<'p> {
    by_day: HashMap<NaiveDate, (&'p ObservedProfile, usize)>,
    pub(super) count: usize,
    of_oxygen: bool,
}

impl<'p> Points<'p> {
    pub(super) fn new(profiles: &'p [ObservedProfile], from: usize, of_oxygen: bool) -> Points<'p> {
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

/// What every search of a lake has in common.
pub(super) struct Runs<'a> {
    pub(super) past: &'a PastLake,
    /// Names of the factors that are searched, and standard deviations of their logarithms before anything is seen.
    pub(super) free: &'a [(String, f64)],
    /// Observed temperatures and oxygen.
    pub(super) points: (&'a Points<'a>, &'a Points<'a>),
}

impl Runs<'_> {
    fn prior(&self) -> Prior {
        Prior {
            mean: vec![0.0; self.free.len()],
            spread: self.free.iter().map(|(_, spread)| *spread).collect(),
        }
    }

    /// The search on all years, and the slopes where it ended. `None` where no factor is free.
    pub(super) fn search_all(&self, search: Search) -> Result<Option<(MapFit, DMatrix<f64>)>, ModelError> {
        let (mut fault, mut slopes) = (None, None);
        let model = AllYears {
            runs: self,
            known: Vec::new(),
            fault: &mut fault,
            last_slopes: &mut slopes,
        };
        let prior = self.prior();
        let found = fit_map_of(&prior, &prior.mean, search, model);
        fault.map_or(Ok(found.zip(slopes)), Err)
    }

    /// The searches without each block of years, two at a time.
    pub(super) fn search_blocks(
        &self,
        search: Search,
        blocks: Vec<Vec<i32>>,
        year_of_row: &[i32],
        whole: (&[f64], &DMatrix<f64>),
    ) -> Result<Vec<Block>, ModelError> {
        let one = |years: &Vec<i32>| -> Result<ModelFactors, ModelError> {
            let rows: Vec<usize> = (0..year_of_row.len())
                .filter(|row| !years.contains(&year_of_row[*row]))
                .collect();
            let mut fault = None;
            let model = OtherYears {
                runs: self,
                slopes: whole.1.select_rows(&rows),
                rows,
                fault: &mut fault,
            };
            let found = fit_map_of(&self.prior(), whole.0, search, model);
            match (fault, found) {
                (Some(fault), _) => Err(fault),
                (None, Some(found)) => Ok(moved(self.past.factors, self.free, &found.at)),
                (None, None) => Ok(self.past.factors),
            }
        };
        let mut factors = Vec::with_capacity(blocks.len());
        for pair in blocks.chunks(2) {
            for found in side_by_side(pair, one) {
                factors.push(found?);
            }
        }
        let with = blocks.into_iter().zip(factors);
        Ok(with.map(|(years, factors)| Block { years, factors }).collect())
    }

    /// Residuals of some sets of factors, in their order.
    fn residuals<const L: usize>(&self, wanted: &[ModelFactors]) -> Result<Vec<Vec<f64>>, ModelError> {
        let mut factors = [self.past.factors; L];
        factors[..wanted.len()].copy_from_slice(wanted);
        let mut residuals = vec![vec![0.0; self.points.0.count + self.points.1.count]; wanted.len()];
        self.past.run::<L>(&factors, |day| {
            self.points.0.write(day, &mut residuals);
            self.points.1.write(day, &mut residuals);
        })?;
        Ok(residuals)
    }

    /// Residuals at a point and their slopes there, all from runs side by side.
    fn with_slopes(&self, logs: &[f64]) -> Result<(Vec<f64>, DMatrix<f64>), ModelError> {
        let steps: Vec<f64> = self
            .free
            .iter()
            .map(|(_, spread)| DIFFERENCE_FRAC * spread)
            .collect();
        let mut wanted = vec![moved(self.past.factors, self.free, logs)];
        for (k, step) in steps.iter().enumerate() {
            let mut beside = logs.to_vec();
            beside[k] += step;
            wanted.push(moved(self.past.factors, self.free, &beside));
        }
        let mut found = Vec::with_capacity(wanted.len());
        let chunks: Vec<&[ModelFactors]> = wanted.chunks(LANES).collect();
        for pair in chunks.chunks(2) {
            for residuals in side_by_side(pair, |chunk| self.residuals::<LANES>(chunk)) {
                found.extend(residuals?);
            }
        }
        let here = found.remove(0);
        let slopes = DMatrix::from_fn(here.len(), steps.len(), |row, k| {
            let slope = (found[k][row] - here[row]) / steps[k];
            if slope.is_finite() { slope } else { 0.0 }
        });
        Ok((here, slopes))
    }
}

/// The factors, each free one times the exponential of its logarithm.
pub(super) fn moved(factors: ModelFactors, free: &[(String, f64)], logs: &[f64]) -> ModelFactors {
    free.iter().zip(logs).fold(factors, |held, ((name, _), log)| {
        // Every free name is one of those that a fit moves.
        times(held, name, log.exp()).unwrap_or(held)
    })
}

/// What a function makes of each of a few things, each on a thread.
fn side_by_side<T: Sync, U: Send>(of: &[T], make: impl Fn(&T) -> U + Sync) -> Vec<U> {
    std::thread::scope(|scope| {
        let threads: Vec<_> = of.iter().map(|one| scope.spawn(|| make(one))).collect();
        threads
            .into_iter()
            .map(|thread| match thread.join() {
                Ok(made) => made,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}

/// All years, with slopes of their own at every point.
struct AllYears<'a> {
    runs: &'a Runs<'a>,
    /// The newest points and their slopes: a trial, and the one it set out from.
    known: Vec<(Vec<f64>, DMatrix<f64>)>,
    fault: &'a mut Option<ModelError>,
    last_slopes: &'a mut Option<DMatrix<f64>>,
}

impl Residuals for AllYears<'_> {
    fn at(&mut self, logs: &[f64]) -> Option<Vec<f64>> {
        match self.runs.with_slopes(logs) {
            Ok((residuals, slopes)) => {
                self.known.truncate(1);
                self.known.insert(0, (logs.to_vec(), slopes));
                Some(residuals)
            }
            Err(fault) => {
                *self.fault = Some(fault);
                None
            }
        }
    }

    fn slopes(&mut self, logs: &[f64], _: &[f64]) -> Option<DMatrix<f64>> {
        let is_known = |known: &&(Vec<f64>, DMatrix<f64>)| known.0 == logs;
        if !self.known.iter().any(|known| is_known(&known)) {
            self.at(logs)?;
        }
        let slopes = self.known.iter().find(is_known).map(|(_, slopes)| slopes.clone());
        self.last_slopes.clone_from(&slopes);
        slopes
    }
}

/// All years but a block, with the slopes that all years had.
struct OtherYears<'a> {
    runs: &'a Runs<'a>,
    rows: Vec<usize>,
    slopes: DMatrix<f64>,
    fault: &'a mut Option<ModelError>,
}

impl Residuals for OtherYears<'_> {
    fn at(&mut self, logs: &[f64]) -> Option<Vec<f64>> {
        let wanted = [moved(self.runs.past.factors, self.runs.free, logs)];
        match self.runs.residuals::<1>(&wanted) {
            Ok(found) => found
                .first()
                .map(|all| self.rows.iter().map(|row| all[*row]).collect()),
            Err(fault) => {
                *self.fault = Some(fault);
                None
            }
        }
    }

    fn slopes(&mut self, _: &[f64], _: &[f64]) -> Option<DMatrix<f64>> {
        Some(self.slopes.clone())
    }
}
