//! A lake through a span of past or coming weather.

use std::ops::Range;

use chrono::{Duration, NaiveDate};

use super::drive::DriveBuffer;
use super::model::Reservoir;
use super::one::LakeSetup;
use super::setup::SetupError;
use crate::column::forcing::Forcing;
use crate::column::layered::{Lanes, ModelFactors, thickness_m};
use crate::column::network::StepError;

/// Why a run could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RunError {
    /// The columns.
    #[error(transparent)]
    Setup(#[from] SetupError),
    /// A step that cannot be made.
    #[error("on {day}: {fault}")]
    Step {
        /// Day.
        day: NaiveDate,
        /// Why.
        #[source]
        fault: StepError,
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

/// Runs a lake through the whole forcing, lane by lane with its own factors, and hands over the means of each day of the
/// main body; a day begins `day_shift` before midnight in UTC (a lake in the east has a positive one).
///
/// # Errors
/// [`RunError`].
pub fn run_lake<const L: usize>(
    setup: &LakeSetup,
    forcing: &Forcing,
    day_shift: Duration,
    factors: &[ModelFactors; L],
    mut on_day: impl FnMut(&DayMeans<L>),
) -> Result<Reservoir<L>, RunError> {
    let mut lake = setup.cold::<L>(forcing, *factors)?;
    run_days(
        &mut lake,
        [forcing; L],
        0..forcing.weather.len(),
        day_shift,
        |day| {
            on_day(day);
            true
        },
    )?;
    Ok(lake)
}

/// Takes a lake through the steps in `steps` of its lanes' forcings, counted from the beginning of each, and hands over the means
/// of each day that ends among them, as [`run_lake`] has them; a day that began before `steps` is the mean of what of it is
/// among them. Ends early, with the day that was handed over, where `on_day` says `false`. The forcings have their steps alike.
///
/// # Errors
/// [`RunError::Step`]; the lake is then not to be used.
pub fn run_days<const L: usize>(
    lake: &mut Reservoir<L>,
    forcings: [&Forcing; L],
    steps: Range<usize>,
    day_shift: Duration,
    mut on_day: impl FnMut(&DayMeans<L>) -> bool,
) -> Result<(), RunError> {
    let mut day = DaySums::new(lake.main().1.layers());
    let mut buffer = DriveBuffer::default();
    let clock = forcings[0];
    let day_of = |step: usize| (clock.step_start(step) + day_shift).date_naive();
    for i in steps {
        let drive = buffer.gather(forcings, i);
        lake.step(&drive).map_err(|fault| RunError::Step {
            day: clock.step_start(i).date_naive(),
            fault,
        })?;
        day.add(lake);
        if day_of(i + 1) != day_of(i) && !on_day(&day.take(day_of(i), lake)) {
            break;
        }
    }
    Ok(())
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

    fn add(&mut self, lake: &Reservoir<L>) {
        let (_, column) = lake.main();
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
    fn take(&mut self, day: NaiveDate, lake: &Reservoir<L>) -> DayMeans<L> {
        let (grid, column) = lake.main();
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
                    .map(|layer| column.surface_elevation_m[lane] - column.middle_m(grid, layer, lane))
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
