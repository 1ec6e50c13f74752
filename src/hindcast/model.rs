//! The lake of a hindcast, run over its past weather.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::input::HindcastInput;
use super::mean_flow::add_mean_flows;
use super::observed::Observed;
use super::pairs::ModelledDay;
use crate::column::forcing::Forcing;
use crate::column::layered::{FACTORS, ModelFactors};
use crate::column::reservoir::{
    DayMeans, LakeSetup, Reservoir, RunError, UNKNOWN_EXTINCTION_PER_M, demand_of, run_lake,
};

/// A spin-up shorter than this holds no winter that makes a lake forget how it began: then it begins with the first profile.
const SHORT_SPIN_UP_DAYS: i64 = 270;
/// Room above the highest level, m; where the table ends below, shores are taken to go on.
const FREEBOARD_M: f64 = 5.0;

/// Why a lake could not be modelled.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// No areas.
    #[error(
        "modelling lake {lake}: found no [hypsography], wanted area by elevation; add its rows or its file"
    )]
    NoHypsography {
        /// Lake.
        lake: String,
    },
    /// A parameter that is not known.
    #[error(
        "modelling lake {lake}: found the parameter {name} = {value}, wanted a positive factor of {known}; mend `fixed` of [hindcast]"
    )]
    Parameter {
        /// Lake.
        lake: String,
        /// Name found.
        name: String,
        /// Value found.
        value: f64,
        /// Names that are known.
        known: String,
    },
    /// The run.
    #[error("modelling lake {lake}: {fault}")]
    Run {
        /// Lake.
        lake: String,
        /// Why.
        #[source]
        fault: RunError,
    },
}

/// Names of the factors that a lake file may fix and a fit moves, in the order of a fit: those of [`FACTORS`] with the
/// suffix of a ratio, without the exchange, of which a lake of one column has none.
pub fn fit_names() -> impl Iterator<Item = String> {
    FACTORS
        .iter()
        .filter(|name| **name != "exchange")
        .map(|name| format!("{name}_frac"))
}

/// The factors with the one of a name times `ratio`; `None` for a name that is not among [`fit_names`].
pub fn times(factors: ModelFactors, name: &str, ratio: f64) -> Option<ModelFactors> {
    let stem = name.strip_suffix("_frac").filter(|stem| *stem != "exchange")?;
    let place = FACTORS.iter().position(|known| *known == stem)?;
    let mut list = factors.list();
    list[place] *= ratio;
    Some(ModelFactors::from_list(list))
}

/// A lake ready to be run, with what was taken for want of knowledge.
#[derive(Debug, Clone)]
pub struct PastLake {
    /// Name of the lake's id, for errors.
    pub id: String,
    /// The lake.
    pub setup: LakeSetup,
    /// What drives it.
    pub forcing: Forcing,
    /// Factors that the lake file fixes; 1 for the others.
    pub factors: ModelFactors,
    /// First day that is compared.
    pub compare_from: NaiveDate,
    /// The lake's own day follows the sun of its longitude: shift from UTC.
    pub day_shift: Duration,
    /// Sum of the mean flows that stand in for unknown ones, m3/s; 0 where none does.
    pub mean_flow_m3s: f64,
    /// Whether clarity was not known.
    pub clarity_unknown: bool,
    /// Whether the run begins with the first observed profile, for want of a winter before it.
    pub starts_from_profile: bool,
    /// Whether shores above the table of the hypsography were taken to go on as below.
    pub freeboard: bool,
}

impl PastLake {
    /// From what was read.
    ///
    /// # Errors
    /// [`ModelError::NoHypsography`], [`ModelError::Parameter`].
    pub fn new(input: &HindcastInput) -> Result<PastLake, ModelError> {
        let lake = &input.lake;
        let hypsography = lake
            .hypsography
            .clone()
            .ok_or_else(|| ModelError::NoHypsography {
                lake: lake.id.clone(),
            })?;
        let mut factors = ModelFactors::default();
        for (name, value) in &input.fixed {
            factors = Some(*value)
                .filter(|value| *value > 0.0 && value.is_finite())
                .and_then(|value| times(factors, name, value))
                .ok_or_else(|| ModelError::Parameter {
                    lake: lake.id.clone(),
                    name: name.clone(),
                    value: *value,
                    known: fit_names().collect::<Vec<_>>().join(", "),
                })?;
        }
        let day_shift = Duration::seconds((lake.longitude_deg / 15.0 * 3600.0).round() as i64);
        let mut forcing = input.forcing.clone();
        let spin_up = input.compare_from - forcing.start;
        let mut compare_from = input.compare_from.date_naive();
        let mut start_degc = Vec::new();
        if spin_up < Duration::days(SHORT_SPIN_UP_DAYS) {
            let first = first_profile(&input.temperatures);
            if let Some((time, profile)) = first {
                cut_to(&mut forcing, time);
                compare_from = (time + day_shift).date_naive() + Duration::days(1);
                start_degc = profile;
            }
        }
        let mean_flow_m3s = add_mean_flows(lake, &mut forcing, input.start_elevation_m);
        let known_m = forcing.level_m.iter().copied().fold(f64::INFINITY, f64::min);
        let lowest_elevation_m = if forcing.level_m.is_empty() && !forcing.rivers.is_empty() {
            lake.minimum_pool_elevation_m
        } else {
            known_m
        };
        let highest_m = forcing
            .level_m
            .iter()
            .copied()
            .fold(input.start_elevation_m, f64::max);
        let freeboard = hypsography
            .top_elevation_m()
            .is_some_and(|top_m| top_m < highest_m + FREEBOARD_M);
        let hypsography = if freeboard {
            hypsography.with_freeboard(FREEBOARD_M)
        } else {
            hypsography
        };
        let starts_from_profile = !start_degc.is_empty();
        Ok(PastLake {
            id: lake.id.clone(),
            setup: LakeSetup {
                hypsography,
                start_elevation_m: input.start_elevation_m,
                lowest_elevation_m: lowest_elevation_m.min(input.start_elevation_m),
                extinction_per_m: lake
                    .clarity
                    .as_ref()
                    .map_or([UNKNOWN_EXTINCTION_PER_M; 12], |c| c.extinction_per_m),
                demand: demand_of(lake),
                outlet_elevation_m: lake.outlets.iter().map(|outlet| outlet.elevation_m).collect(),
                start_degc,
            },
            forcing,
            factors,
            compare_from,
            starts_from_profile,
            freeboard,
            day_shift,
            mean_flow_m3s,
            clarity_unknown: lake.clarity.is_none(),
        })
    }

    /// The factors that the lake file fixes, and the medians that it states of the others.
    pub fn stated_factors(&self, input: &HindcastInput) -> ModelFactors {
        let fixed = |name: &str| input.fixed.iter().any(|(other, _)| other == name);
        let stated = input.lake.model_factors.iter().filter(|f| !fixed(&f.name));
        // A name without a place here is that of the exchange between reaches, of which a hindcast's lake has one.
        stated.fold(self.factors, |held, f| {
            times(held, &f.name, f.median_frac).unwrap_or(held)
        })
    }

    /// The day that an instant belongs to: that of the sun at the lake.
    pub fn day_of(&self, time: DateTime<Utc>) -> NaiveDate {
        (time + self.day_shift).date_naive()
    }

    /// Runs `L` sets of factors side by side and hands over each day from the first that is compared on. Returns the lake
    /// at its end, with its books.
    ///
    /// # Errors
    /// [`ModelError::Run`].
    pub fn run<const L: usize>(
        &self,
        factors: &[ModelFactors; L],
        mut on_day: impl FnMut(&DayMeans<L>),
    ) -> Result<Reservoir<L>, ModelError> {
        run_lake(&self.setup, &self.forcing, self.day_shift, factors, |day| {
            if day.day >= self.compare_from {
                on_day(day);
            }
        })
        .map_err(|fault| ModelError::Run {
            lake: self.id.clone(),
            fault,
        })
    }

    /// All days of one set of factors, and the release that could not be drawn, m3.
    ///
    /// # Errors
    /// [`ModelError::Run`].
    pub fn days(&self, factors: ModelFactors) -> Result<(Vec<ModelledDay>, f64), ModelError> {
        let mut days = Vec::new();
        let lake = self.run::<1>(&[factors], |day| days.push(modelled_day(day, 0)))?;
        Ok((days, lake.books().undrawn_m3[0]))
    }
}

/// An instant and its pairs of depth and temperature.
type TimedProfile = (DateTime<Utc>, Vec<(f64, f64)>);

/// The first observed profile and its instant, in pairs of depth and temperature. `None` without observations.
fn first_profile(observed: &[Observed]) -> Option<TimedProfile> {
    let time = observed.first()?.time;
    let mut points: Vec<(f64, f64)> = observed
        .iter()
        .take_while(|point| point.time - time < Duration::days(1))
        .map(|point| (point.depth_m, point.value.max(0.0)))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    points.dedup_by(|next, held| next.0 <= held.0);
    Some((time, points))
}

/// Takes away the steps that end by `time`.
fn cut_to(forcing: &mut Forcing, time: DateTime<Utc>) {
    let gone_s = (time - forcing.start).num_seconds() as f64;
    let steps = ((gone_s / forcing.step_s).floor().max(0.0) as usize).min(forcing.weather.len());
    forcing.start += Duration::milliseconds((forcing.step_s * 1000.0 * steps as f64).round() as i64);
    forcing.weather.drain(..steps);
    for series in forcing
        .release_m3s
        .iter_mut()
        .chain(std::iter::once(&mut forcing.level_m))
    {
        series.drain(..steps.min(series.len()));
    }
    for river in &mut forcing.rivers {
        river.drain(..steps.min(river.len()));
    }
}

/// The day of one lane.
pub fn modelled_day<const L: usize>(day: &DayMeans<L>, lane: usize) -> ModelledDay {
    ModelledDay {
        day: day.day,
        depth_m: day.depth_m[lane].clone(),
        temp_degc: day.temp_degc[lane].clone(),
        oxygen_mg_l: Some(day.oxygen_mg_l[lane].clone()),
        surface_elevation_m: day.surface_elevation_m[lane],
        ice_m: day.ice_m[lane],
    }
}
