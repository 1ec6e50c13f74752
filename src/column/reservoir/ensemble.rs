//! A lake as an ensemble: blocks of lanes, each lane with its own factors, and its own weather where there is more than one.

use std::ops::Range;

use super::drive::DriveBuffer;
use super::model::Reservoir;
use super::one::LakeSetup;
use super::run::RunError;
use super::setup::SetupError;
use crate::column::assimilate::{
    Analysis, AssimilationError, AssimilationOptions, Place, Seen, WaterObservation, assimilate,
};
use crate::column::forcing::Forcing;
use crate::column::layered::ModelFactors;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// One step of a block: member `m` under the forcing `m` of those given, counted round.
fn step_block<const L: usize>(
    lake: &mut Reservoir<L>,
    block: usize,
    buffer: &mut DriveBuffer<L>,
    (forcings, step): (&[&Forcing], usize),
) -> Result<(), RunError> {
    let of_lane = |lane: usize| forcings[(block * L + lane) % forcings.len()];
    let drive = buffer.gather(std::array::from_fn(of_lane), step);
    lake.step(&drive).map_err(|fault| RunError::Step {
        day: of_lane(0).step_start(step).date_naive(),
        fault,
    })
}

/// The members of a lake, `L` a block.
#[derive(Debug, Clone)]
pub struct Ensemble<const L: usize> {
    /// The lake, shape `[block]`.
    pub lakes: Vec<Reservoir<L>>,
}

impl<const L: usize> Ensemble<L> {
    /// All members of a lake of one column as [`LakeSetup::cold`] has them.
    ///
    /// # Errors
    /// Those of [`LakeSetup::cold`].
    pub fn cold(
        setup: &LakeSetup,
        forcing: &Forcing,
        factors: &[[ModelFactors; L]],
    ) -> Result<Self, SetupError> {
        let lakes = factors.iter().map(|own| setup.cold(forcing, *own));
        Ok(Ensemble {
            lakes: lakes.collect::<Result<_, _>>()?,
        })
    }

    /// Number of members.
    pub fn members(&self) -> usize {
        self.lakes.len() * L
    }

    /// What the members differ in, shape `[block][lane]`.
    pub fn factors(&self) -> Vec<[ModelFactors; L]> {
        self.lakes.iter().map(|lake| *lake.factors()).collect()
    }

    /// One step, counted from 0, of every member: member `m` under the forcing `m` of those given, counted round. All
    /// forcings have their steps alike.
    ///
    /// # Errors
    /// [`RunError::Step`]; the ensemble is then not to be used.
    pub fn step(&mut self, forcings: &[&Forcing], step: usize) -> Result<(), RunError> {
        let mut buffer = DriveBuffer::default();
        for (block, lake) in self.lakes.iter_mut().enumerate() {
            step_block(lake, block, &mut buffer, (forcings, step))?;
        }
        Ok(())
    }

    /// Several steps, those in `steps`, as [`Ensemble::step`] makes them: to the bit the same, the blocks shared out among the
    /// processor's cores.
    ///
    /// # Errors
    /// [`RunError::Step`], of the first block that fails; the ensemble is then not to be used.
    pub fn run(&mut self, forcings: &[&Forcing], steps: Range<usize>) -> Result<(), RunError> {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let share = self.lakes.len().div_ceil(cores).max(1);
        let run_some = |first: usize, lakes: &mut [Reservoir<L>]| -> Result<(), RunError> {
            let mut buffer = DriveBuffer::default();
            for step in steps.clone() {
                for (block, lake) in lakes.iter_mut().enumerate() {
                    step_block(lake, first + block, &mut buffer, (forcings, step))?;
                }
            }
            Ok(())
        };
        if share >= self.lakes.len() {
            return run_some(0, &mut self.lakes);
        }
        std::thread::scope(|scope| {
            let chunks = self.lakes.chunks_mut(share).enumerate();
            let run_some = &run_some;
            let running: Vec<_> = chunks
                .map(|(chunk, lakes)| scope.spawn(move || run_some(chunk * share, lakes)))
                .collect();
            let joined = running.into_iter().map(|thread| {
                thread
                    .join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
            });
            joined.collect::<Result<Vec<()>, RunError>>().map(|_| ())
        })
    }

    /// Corrects the members by observations of one time, and books what that puts into each. Columns that are closed in
    /// any member are left out: their observations are told as not seen, and nothing reaches them.
    ///
    /// # Errors
    /// [`AssimilationError`]; nothing has changed then.
    pub fn assimilate(
        &mut self,
        observations: &[WaterObservation],
        options: &AssimilationOptions,
    ) -> Result<Analysis<L>, AssimilationError> {
        let mut factors = self.factors();
        let Some(first) = self.lakes.first() else {
            return Err(AssimilationError::TooFew { found: 0 });
        };
        let layout = first.network().layout().clone();
        let open: Vec<bool> = (0..layout.places.len())
            .map(|column| {
                self.lakes
                    .iter()
                    .all(|lake| lake.network().closed().open(column) == [true; L])
            })
            .collect();
        let mut options = options.clone();
        options.localisation.cut_off(&open);
        let mut places: Vec<Place<'_, L>> = layout
            .places
            .iter()
            .map(|place| Place {
                grid: &place.grid,
                columns: Vec::with_capacity(self.lakes.len()),
            })
            .collect();
        for lake in &mut self.lakes {
            for (place, column) in places.iter_mut().zip(lake.network_mut().columns_mut()) {
                place.columns.push(column);
            }
        }
        let closed = |o: &WaterObservation| open.get(o.place) == Some(&false);
        let (shut, seen): (Vec<_>, Vec<_>) = observations.iter().copied().partition(closed);
        let mut analysis = assimilate(&mut places, &mut factors, &seen, &options)?;
        analysis.seen.extend(shut.into_iter().map(|observation| Seen {
            observation,
            innovation_and_variance: None,
        }));
        for (block, lake) in self.lakes.iter_mut().enumerate() {
            lake.set_factors(factors[block]);
            let booked = &mut lake.network_mut().budget_mut().analysis;
            for (place, _) in analysis.increments.iter().zip(&open).filter(|(_, open)| **open) {
                for (lane, put) in place[block].iter().enumerate() {
                    booked.warmth[lane] += put.heat_j / HEAT_CAPACITY_J_M3_K;
                    booked.oxygen[lane] += put.oxygen_g;
                    booked.river_m3[lane] += put.river_m3;
                }
            }
        }
        Ok(analysis)
    }
}
