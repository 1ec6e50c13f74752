//! A lake of one column as an ensemble: blocks of lanes, each lane with its own factors, one weather.

use super::error::AssimilationError;
use super::observation::WaterObservation;
use super::update::{Analysis, AssimilationOptions, Place, assimilate};
use crate::column::forcing::{Forcing, RiverFlow};
use crate::column::layered::{LakeColumn, LakeSetup, ModelFactors, RunError, StepFlows, cold_lake};
use chrono::{DateTime, Datelike as _, Duration, Utc};

/// The members of a lake, `L` a block.
#[derive(Debug, Clone)]
pub struct Ensemble<const L: usize> {
    /// The lake, shape `[block]`.
    pub lakes: Vec<LakeColumn<L>>,
    /// What the members differ in, shape `[block][lane]`.
    pub factors: Vec<[ModelFactors; L]>,
}

impl<const L: usize> Ensemble<L> {
    /// All members as [`cold_lake`] has them.
    ///
    /// # Errors
    /// Those of [`cold_lake`].
    pub fn cold(
        setup: &LakeSetup,
        forcing: &Forcing,
        factors: Vec<[ModelFactors; L]>,
    ) -> Result<Self, RunError> {
        let lake = cold_lake::<L>(setup, forcing)?;
        Ok(Ensemble {
            lakes: vec![lake; factors.len()],
            factors,
        })
    }

    /// Number of members.
    pub fn members(&self) -> usize {
        self.factors.len() * L
    }

    /// One step of the forcing, counted from 0, of every member.
    ///
    /// # Errors
    /// [`RunError::Step`]; the ensemble is then not to be used.
    pub fn step(&mut self, setup: &LakeSetup, forcing: &Forcing, step: usize) -> Result<(), RunError> {
        let time = step_start(forcing, step);
        let extinction_per_m = setup.extinction_per_m[time.month0() as usize];
        let rivers: Vec<RiverFlow> = forcing.rivers.iter().map(|river| river[step]).collect();
        let outlets = setup.outlet_elevation_m.iter().zip(&forcing.release_m3s);
        let releases: Vec<(f64, f64)> = outlets.map(|(e, q)| (*e, q[step])).collect();
        let flows = StepFlows {
            rivers: &rivers,
            releases: &releases,
            level_m: forcing.level_m.get(step).copied(),
        };
        for (lake, factors) in self.lakes.iter_mut().zip(&self.factors) {
            let area_km2 = lake.site.lake_area_km2;
            let own = factors.map(|f| f.parameters(area_km2, extinction_per_m, setup.demand));
            lake.step(&[forcing.weather[step]; L], flows, &own, forcing.step_s)
                .map_err(|fault| RunError::Step {
                    day: time.date_naive(),
                    fault,
                })?;
        }
        Ok(())
    }

    /// Corrects the members by observations of one time, and books what that puts into each.
    ///
    /// # Errors
    /// [`AssimilationError`]; nothing has changed then.
    pub fn assimilate(
        &mut self,
        observations: &[WaterObservation],
        options: &AssimilationOptions,
    ) -> Result<Analysis<L>, AssimilationError> {
        let mut lakes = self.lakes.iter_mut();
        let Some(first) = lakes.next() else {
            return Err(AssimilationError::TooFew { found: 0 });
        };
        let (grid, mut columns, mut booked) = (&first.grid, vec![&mut first.column], vec![&mut first.booked]);
        for lake in lakes {
            columns.push(&mut lake.column);
            booked.push(&mut lake.booked);
        }
        let analysis = assimilate(
            &mut [Place { grid, columns }],
            &mut self.factors,
            observations,
            options,
        )?;
        for (booked, put) in booked
            .into_iter()
            .flatten()
            .zip(analysis.increments.iter().flatten().flatten())
        {
            booked.analysis_heat_j += put.heat_j;
            booked.analysis_oxygen_g += put.oxygen_g;
            booked.analysis_river_m3 += put.river_m3;
        }
        Ok(analysis)
    }
}

/// Beginning of a step of a forcing.
pub fn step_start(forcing: &Forcing, step: usize) -> DateTime<Utc> {
    forcing.start + Duration::milliseconds((forcing.step_s * 1000.0 * step as f64).round() as i64)
}
