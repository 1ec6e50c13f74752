//! A lake of one column: what a hindcast of a lake without arms runs.

use super::model::Reservoir;
use super::setup::{ReservoirSetup, SetupError};
use super::shelter::Shelters;
use crate::column::forcing::Forcing;
use crate::column::layered::{ModelFactors, OxygenDemand, Water, layer_faces_m, saturated_mg_l, site_of};
use crate::column::network::{Layout, Part, RiverOptions};
use crate::lake::{Hypsography, ZoneId};
use crate::math::interpolate::linear_pairs;
use crate::physics::water::MAX_DENSITY_TEMP_DEGC;
use crate::units::S_PER_DAY;

/// Days over which the coldest air of the first year is sought for a cold start.
const COLD_DAYS: usize = 30;

/// What a run needs to know of a lake of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct LakeSetup {
    /// Area and volume by elevation.
    pub hypsography: Hypsography,
    /// Level at the beginning.
    pub start_elevation_m: f64,
    /// Lowest level that is expected; layers are fine to 20 m below it.
    pub lowest_elevation_m: f64,
    /// Light extinction of each month, January first.
    pub extinction_per_m: [f64; 12],
    /// Oxygen demand.
    pub demand: OxygenDemand,
    /// Elevations of the outlets, in the order of the forcing's releases.
    pub outlet_elevation_m: Vec<f64>,
    /// Temperature by depth at the beginning, depths increasing; empty for a cold start.
    pub start_degc: Vec<(f64, f64)>,
}

impl LakeSetup {
    /// The one column, with a number of rivers into it.
    ///
    /// # Errors
    /// [`SetupError`].
    pub fn reservoir(&self, rivers: usize) -> Result<ReservoirSetup, SetupError> {
        let table = &self.hypsography;
        let level_m = self.start_elevation_m;
        let bed_m = table.bed_elevation_m().unwrap_or(f64::NAN);
        let top_m = table.top_elevation_m().unwrap_or(f64::NAN);
        let levels = || SetupError::Levels {
            bed_m,
            lowest_m: self.lowest_elevation_m,
            level_m,
            top_m,
        };
        let faces_m = layer_faces_m(bed_m, self.lowest_elevation_m, (level_m, top_m)).ok_or_else(levels)?;
        let area_m2 = table.volume_slope_m2(level_m).ok_or_else(levels)?;
        let part = Part {
            zone: ZoneId::new("main"),
            hypsography: table.clone(),
            toward_lake: None,
            valley: None,
        };
        Ok(ReservoirSetup {
            layout: Layout::join(&faces_m, vec![part])?,
            sites: vec![site_of(area_m2)],
            shelters: vec![Shelters::even(area_m2 / 1e6)],
            extinction_per_m: self.extinction_per_m,
            demand: self.demand,
            river_columns: vec![0; rivers],
            outlet_elevation_m: self.outlet_elevation_m.clone(),
            river_options: RiverOptions::default(),
            without_column: Vec::new(),
        })
    }

    /// The lake at its beginning: with the profile that is known, or isothermal at its coldest air of thirty days within the
    /// first year, at least at the temperature of greatest density, and then to be run through a winter before anything is
    /// read off it. Saturated with oxygen.
    ///
    /// # Errors
    /// [`SetupError`].
    pub fn cold<const L: usize>(
        &self,
        forcing: &Forcing,
        factors: [ModelFactors; L],
    ) -> Result<Reservoir<L>, SetupError> {
        let setup = self.reservoir(forcing.rivers.len())?;
        let level_m = self.start_elevation_m;
        let temp_degc = coldest_degc(forcing).max(MAX_DENSITY_TEMP_DEGC);
        let pressure_pa = forcing.weather.first().map_or(f64::NAN, |w| w.pressure_pa);
        let water = |_: usize, elevation_m: f64, _: usize| {
            let temp_degc = linear_pairs(&self.start_degc, level_m - elevation_m).unwrap_or(temp_degc);
            Water {
                temp_degc,
                oxygen_mg_l: saturated_mg_l(temp_degc, pressure_pa),
                river_frac: 0.0,
            }
        };
        Reservoir::filled(&setup, factors, [level_m; L], water).ok_or(SetupError::Levels {
            bed_m: self.hypsography.bed_elevation_m().unwrap_or(f64::NAN),
            lowest_m: self.lowest_elevation_m,
            level_m,
            top_m: self.hypsography.top_elevation_m().unwrap_or(f64::NAN),
        })
    }
}

/// Least mean of thirty days of the air within the first year, degC; not a number without weather.
fn coldest_degc(forcing: &Forcing) -> f64 {
    let a_day = (S_PER_DAY / forcing.step_s).round().max(1.0) as usize;
    let year = &forcing.weather[..forcing.weather.len().min(365 * a_day)];
    year.chunks(COLD_DAYS * a_day)
        .map(|month| month.iter().map(|w| w.air_temp_degc).sum::<f64>() / month.len() as f64)
        .fold(f64::NAN, f64::min)
}
