//! A lake as one column through a span of past or coming weather.

use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};

use super::defaults::{ModelFactors, site_of};
use super::faces::layer_faces_m;
use super::grid::{Grid, GridError};
use super::ice::thickness_m;
use super::lake_column::{LakeColumn, LakeColumnError, StepFlows};
use super::parameters::{ColumnParameters, OxygenDemand};
use super::state::{Column, Lanes, Water};
use crate::column::forcing::{Forcing, RiverFlow, Weather};
use crate::lake::Hypsography;
use crate::math::interpolate::linear_pairs;
use crate::physics::oxygen::{OxygenState, oxygen_saturation_mg_l};
use crate::physics::water::MAX_DENSITY_TEMP_DEGC;
use crate::units::S_PER_DAY;

/// Days over which the coldest air of the first year is sought for a cold start.
const COLD_DAYS: usize = 30;

/// What a run needs to know of the lake.
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

/// Why a run could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RunError {
    /// Levels that make no layers.
    #[error(
        "laying out the lake: found bed {bed_m:.2} m, lowest level {lowest_m:.2} m, level {level_m:.2} m, top of the table {top_m:.2} m, wanted them to rise in that order; mend the levels or the hypsography"
    )]
    Levels {
        /// Bed.
        bed_m: f64,
        /// Lowest level.
        lowest_m: f64,
        /// Level at the beginning.
        level_m: f64,
        /// Top of the table.
        top_m: f64,
    },
    /// Layers.
    #[error(transparent)]
    Grid(#[from] GridError),
    /// A step that cannot be made.
    #[error("on {day}: {fault}")]
    Step {
        /// Day.
        day: NaiveDate,
        /// Why.
        #[source]
        fault: LakeColumnError,
    },
}

/// Means of a day of every lane, layers from the surface down.
#[derive(Debug, Clone, PartialEq)]
pub struct DayMeans<const L: usize> {
    /// Day, by the clock of the forcing.
    pub day: NaiveDate,
    /// Depth of the middle of each layer below the surface of the day, m, shape `[lane][layer]`.
    pub depth_m: [Vec<f64>; L],
    /// Temperature, degC, the same shape.
    pub temp_degc: [Vec<f64>; L],
    /// Oxygen, mg/L, the same shape.
    pub oxygen_mg_l: [Vec<f64>; L],
    /// Elevation of the surface at the end of the day, m.
    pub surface_elevation_m: Lanes<L>,
    /// Ice at the end of the day, m.
    pub ice_m: Lanes<L>,
}

/// A lake at its beginning: with the profile that is known, or isothermal at its coldest air of thirty days within the first year, at least at the temperature of
/// greatest density, and then to be run through a winter before anything is read off it. Saturated with oxygen.
///
/// # Errors
/// [`RunError::Levels`], [`RunError::Grid`].
pub fn cold_lake<const L: usize>(setup: &LakeSetup, forcing: &Forcing) -> Result<LakeColumn<L>, RunError> {
    let table = &setup.hypsography;
    let level_m = setup.start_elevation_m;
    let bed_m = table.bed_elevation_m().unwrap_or(f64::NAN);
    let top_m = table.top_elevation_m().unwrap_or(f64::NAN);
    let levels = RunError::Levels {
        bed_m,
        lowest_m: setup.lowest_elevation_m,
        level_m,
        top_m,
    };
    let faces = layer_faces_m(bed_m, setup.lowest_elevation_m, (level_m, top_m)).ok_or(levels.clone())?;
    let area_m2 = table.volume_slope_m2(level_m).ok_or(levels.clone())?;
    let site = site_of(area_m2, level_m - bed_m);
    let grid = Grid::new(table.clone(), faces)?;
    let temp_degc = coldest_degc(forcing).max(MAX_DENSITY_TEMP_DEGC);
    let pressure_pa = forcing.weather.first().map_or(f64::NAN, |w| w.pressure_pa);
    let water = |elevation_m: f64, _| {
        let temp_degc = linear_pairs(&setup.start_degc, level_m - elevation_m).unwrap_or(temp_degc);
        Water {
            temp_degc,
            oxygen_mg_l: oxygen_saturation_mg_l(OxygenState {
                temp_degc,
                solids_g_kg: 0.0,
                pressure_pa,
            }),
            river_frac: 0.0,
        }
    };
    let column = Column::filled(&grid, [level_m; L], water).ok_or(levels)?;
    Ok(LakeColumn::new(grid, column, site))
}

/// Least mean of thirty days of the air within the first year, degC; not a number without weather.
fn coldest_degc(forcing: &Forcing) -> f64 {
    let a_day = (S_PER_DAY / forcing.step_s).round().max(1.0) as usize;
    let year = &forcing.weather[..forcing.weather.len().min(365 * a_day)];
    year.chunks(COLD_DAYS * a_day)
        .map(|month| month.iter().map(|w| w.air_temp_degc).sum::<f64>() / month.len() as f64)
        .fold(f64::NAN, f64::min)
}

/// Runs a lake through the whole forcing, lane by lane with its own factors, and hands over the means of each day; a
/// day begins `day_shift` before midnight in UTC (a lake in the east has a positive one).
///
/// # Errors
/// [`RunError`].
pub fn run_lake<const L: usize>(
    setup: &LakeSetup,
    forcing: &Forcing,
    day_shift: Duration,
    factors: &[ModelFactors; L],
    mut on_day: impl FnMut(&DayMeans<L>),
) -> Result<LakeColumn<L>, RunError> {
    let mut lake = cold_lake::<L>(setup, forcing)?;
    let mut day = DaySums::new(lake.grid.layers());
    let mut rivers: Vec<RiverFlow> = Vec::with_capacity(forcing.rivers.len());
    let mut releases: Vec<(f64, f64)> = Vec::with_capacity(forcing.release_m3s.len());
    let mut parameters = None;
    let day_of = |step: usize| (step_start(forcing, step) + day_shift).date_naive();
    for (i, weather) in forcing.weather.iter().enumerate() {
        let time = step_start(forcing, i);
        let month = time.month0() as usize;
        let own: &[ColumnParameters; L] = match &mut parameters {
            Some((held, own)) if *held == month => own,
            slot => {
                let extinction = setup.extinction_per_m[month];
                let area_km2 = lake.site.lake_area_km2;
                let own = factors.map(|f| f.parameters(area_km2, extinction, setup.demand));
                &slot.insert((month, own)).1
            }
        };
        rivers.clear();
        rivers.extend(forcing.rivers.iter().map(|river| river[i]));
        releases.clear();
        releases.extend(
            setup
                .outlet_elevation_m
                .iter()
                .zip(&forcing.release_m3s)
                .map(|(e, q)| (*e, q[i])),
        );
        let flows = StepFlows {
            rivers: &rivers,
            releases: &releases,
            level_m: forcing.level_m.get(i).copied(),
        };
        let each: [Weather; L] = [*weather; L];
        lake.step(&each, flows, own, forcing.step_s)
            .map_err(|fault| RunError::Step {
                day: time.date_naive(),
                fault,
            })?;
        day.add(&lake);
        if day_of(i + 1) != day_of(i) {
            on_day(&day.take(day_of(i), &lake));
        }
    }
    Ok(lake)
}

fn step_start(forcing: &Forcing, step: usize) -> DateTime<Utc> {
    forcing.start + Duration::milliseconds((forcing.step_s * 1000.0 * step as f64).round() as i64)
}

/// Sums over a day, by layer.
struct DaySums<const L: usize> {
    count: Vec<Lanes<L>>,
    temp_degc: Vec<Lanes<L>>,
    oxygen_mg_l: Vec<Lanes<L>>,
}

impl<const L: usize> DaySums<L> {
    fn new(layers: usize) -> Self {
        let none = vec![[0.0; L]; layers];
        DaySums {
            count: none.clone(),
            temp_degc: none.clone(),
            oxygen_mg_l: none,
        }
    }

    fn add(&mut self, lake: &LakeColumn<L>) {
        let column = &lake.column;
        for layer in 0..self.count.len() {
            for lane in 0..L {
                let is_water = f64::from(u8::from(layer <= column.top[lane]));
                self.count[layer][lane] += is_water;
                self.temp_degc[layer][lane] += is_water * column.temp_degc[layer][lane];
                self.oxygen_mg_l[layer][lane] += is_water * column.oxygen_mg_l[layer][lane];
            }
        }
    }

    /// The means, and empty sums again.
    fn take(&mut self, day: NaiveDate, lake: &LakeColumn<L>) -> DayMeans<L> {
        let column = &lake.column;
        let layers = |lane: usize| (0..=column.top[lane]).rev();
        let mean = |field: &[Lanes<L>], lane: usize| -> Vec<f64> {
            layers(lane)
                .map(|layer| field[layer][lane] / self.count[layer][lane])
                .collect()
        };
        let means = DayMeans {
            day,
            depth_m: std::array::from_fn(|lane| {
                layers(lane)
                    .map(|layer| column.surface_elevation_m[lane] - column.middle_m(&lake.grid, layer, lane))
                    .collect()
            }),
            temp_degc: std::array::from_fn(|lane| mean(&self.temp_degc, lane)),
            oxygen_mg_l: std::array::from_fn(|lane| mean(&self.oxygen_mg_l, lane)),
            surface_elevation_m: column.surface_elevation_m,
            ice_m: thickness_m(column),
        };
        for sums in [&mut self.count, &mut self.temp_degc, &mut self.oxygen_mg_l] {
            sums.fill([0.0; L]);
        }
        means
    }
}
