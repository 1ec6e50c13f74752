//! The conditions of a coming morning, as far as they follow from forecasts and projections; the rest stands as it is.

use chrono::{DateTime, Days, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use super::assemble::{balance, bridge_level, states_of};
use super::flow::{InflowRecord, inflow_condition, inflow_records};
use super::level::{LEVEL_READING_SD_M, percentile_for_date};
use super::light::light;
use super::morning::Morning;
use super::outlook::LevelDay;
use super::trip::trip_window;
use super::weather::TripWeather;
use super::{Change, Conditions, InflowCondition, PoolCondition, RiverTempCondition};
use crate::lake::{InflowId, Lake};
use crate::quantity::Quantity;
use crate::series::{Daily, Gap, SeriesSet};

/// Standard deviations between the 10 and the 90 % quantile of a normal distribution.
const SD_IN_80_PERCENT: f64 = 2.563;

/// Discharge of an inflow on a coming standard day.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowAhead {
    /// Inflow.
    pub inflow: InflowId,
    /// Standard day.
    pub date: NaiveDate,
    /// Its mean, the median over members.
    pub mean_m3s: f64,
}

/// What stands on a coming morning as it stands today, because nothing forecasts it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Held {
    /// The water of the lake by depth: the columns could not be run so far.
    Water,
    /// The level.
    Level,
    /// The flow of an inflow; a pulse only grows older.
    Flow {
        /// Which.
        inflow: InflowId,
    },
    /// The temperature of a river.
    RiverTemp {
        /// Which.
        inflow: InflowId,
    },
    /// Turbidity.
    Turbidity,
    /// Bait by zone.
    Forage,
}

/// What is foreseen of a coming morning beside the weather.
#[derive(Debug, Clone, Copy)]
pub struct Foreseen<'a> {
    /// Clock of that morning.
    pub at: DateTime<Utc>,
    /// Flows of the coming days, all of them.
    pub flows: &'a [FlowAhead],
    /// Surface of the main body.
    pub surface_degc: Option<f64>,
    /// Temperatures of rivers.
    pub river_temps: &'a [(InflowId, f64)],
}

/// The conditions of coming mornings of one lake.
pub struct ConditionsAhead<'a> {
    lake: &'a Lake,
    set: &'a SeriesSet,
    today: &'a Conditions,
    records: Vec<InflowRecord<'a>>,
    level: Option<Daily>,
}

impl<'a> ConditionsAhead<'a> {
    /// Those after the morning of `today`, the conditions at the clock of `set`.
    pub fn new(lake: &'a Lake, set: &'a SeriesSet, today: &'a Conditions) -> ConditionsAhead<'a> {
        let morning = Morning::new(lake, set);
        // What is missing of the past has been told with the conditions of today.
        let mut told: Vec<Gap> = Vec::new();
        let mut level = states_of(&morning, Quantity::PoolElevation);
        let balance = balance(&morning, level.as_ref());
        let records = inflow_records(&morning, balance.as_ref(), &mut told);
        if let Some(level) = level.as_mut() {
            bridge_level(&morning, level, &records);
        }
        ConditionsAhead {
            lake,
            set,
            today,
            records,
            level: level.map(|(daily, _)| daily),
        }
    }

    /// The conditions of one coming morning, and what of them stands as it does today.
    ///
    /// Level, its changes and where it stands for the date come from the projection; flows, their ratio to the base, and pulses
    /// from the observed days with those of `foreseen` after them, by the same filter as today's; wind, sky and light from the
    /// forecasts for the hours of that day's trip. A day that no forecast covers has no wind, and a gap that says so.
    pub fn at(&self, foreseen: &Foreseen<'_>) -> (Conditions, Vec<Held>) {
        let mut held = Vec::new();
        let mut gaps = Vec::new();
        let of_today = Morning::new(self.lake, self.set);
        let morning = Morning {
            today: of_today.clock.standard_day(foreseen.at),
            ..of_today
        };
        let trip = trip_window(self.lake, foreseen.at);
        let weather = TripWeather::new(&morning, &trip);
        let conditions = Conditions {
            as_of: foreseen.at,
            pool: self.pool(foreseen, (trip.day, morning.today), &mut held),
            storage_m3: None,
            storage_observed_at: None,
            level_projection: None,
            inflows: self.inflows(&morning, foreseen, &mut held),
            surface: self.today.surface.clone().map(|surface| super::SurfaceCondition {
                temp_degc: foreseen.surface_degc.unwrap_or(surface.temp_degc),
                observed_at: foreseen.at,
                trend_7d: None,
                trend_14d: None,
                step: None,
                ..surface
            }),
            river_temps: self.river_temps(foreseen, &mut held),
            wind: weather.wind(&mut gaps),
            sky: weather.sky(&mut gaps),
            light: light(&morning, &trip).ok(),
            gaps,
            ..self.today.clone()
        };
        if !conditions.turbidities.is_empty() {
            held.push(Held::Turbidity);
        }
        if !conditions.forage.is_empty() {
            held.push(Held::Forage);
        }
        (conditions, held)
    }

    /// The level by the projection for `day`; `standard` is the standard day of the morning.
    fn pool(
        &self,
        foreseen: &Foreseen<'_>,
        (day, standard): (NaiveDate, NaiveDate),
        held: &mut Vec<Held>,
    ) -> Option<PoolCondition> {
        let today = self.today.pool.as_ref()?;
        let projected = self.today.level_projection.as_ref();
        let Some(level) = projected.and_then(|p| p.outlook.days.iter().find(|d| d.date == day)) else {
            held.push(Held::Level);
            return Some(today.clone());
        };
        let elevation_m = level.median_m;
        Some(PoolCondition {
            elevation_m,
            observed_at: foreseen.at,
            change_1d: self.change(level, standard, 1),
            change_7d: self.change(level, standard, 7),
            change_30d: self.change(level, standard, 30),
            percentile_for_date_frac: self
                .level
                .as_ref()
                .and_then(|daily| percentile_for_date(daily, standard, elevation_m)),
            ..today.clone()
        })
    }

    /// Change of the projected level over so many days, from an observed day or another projected one.
    fn change(&self, level: &LevelDay, standard: NaiveDate, days: u64) -> Option<Change> {
        let before = standard.checked_sub_days(Days::new(days))?;
        let projected = self.today.level_projection.as_ref()?;
        let observed = self.level.as_ref().and_then(|daily| daily.get(before));
        let projected = || {
            let of = |day: &&LevelDay| day.date == before;
            projected.outlook.days.iter().find(of).map(|day| day.median_m)
        };
        Some(Change {
            change_m: level.median_m - observed.or_else(projected)?,
            sd_m: ((level.high_m - level.low_m) / SD_IN_80_PERCENT).hypot(LEVEL_READING_SD_M),
        })
    }

    /// The inflows with the foreseen days after the observed ones.
    fn inflows(
        &self,
        morning: &Morning<'_>,
        foreseen: &Foreseen<'_>,
        held: &mut Vec<Held>,
    ) -> Vec<InflowCondition> {
        let mut told: Vec<Gap> = Vec::new();
        let of = |today: &InflowCondition| -> Option<InflowCondition> {
            let record = self.records.iter().find(|r| r.inflow.id == today.inflow)?;
            let daily = extended(record, today, foreseen.flows, morning.today)?;
            inflow_condition(morning, &record.with(daily), &mut told)
        };
        let inflows: Vec<_> = self.today.inflows.iter().map(of).collect();
        let aged_days = (foreseen.at - self.today.as_of).num_hours() as f64 / 24.0;
        self.today
            .inflows
            .iter()
            .zip(inflows)
            .map(|(today, ahead)| {
                ahead.unwrap_or_else(|| {
                    held.push(Held::Flow {
                        inflow: today.inflow.clone(),
                    });
                    let mut today = today.clone();
                    if let Some(pulse) = today.pulse.as_mut().filter(|pulse| pulse.peaked) {
                        pulse.days_since_peak += aged_days;
                    }
                    today
                })
            })
            .collect()
    }

    fn river_temps(&self, foreseen: &Foreseen<'_>, held: &mut Vec<Held>) -> Vec<RiverTempCondition> {
        let of = |today: &RiverTempCondition| {
            let ahead = foreseen.river_temps.iter().find(|(id, _)| id == &today.inflow);
            if ahead.is_none() {
                held.push(Held::RiverTemp {
                    inflow: today.inflow.clone(),
                });
            }
            RiverTempCondition {
                inflow: today.inflow.clone(),
                temp_degc: ahead.map_or(today.temp_degc, |(_, temp_degc)| *temp_degc),
                observed_at: foreseen.at,
            }
        };
        self.today.river_temps.iter().map(of).collect()
    }
}

/// The daily record with the foreseen days up to the one before `until`; today's flow stands on days between that neither
/// has. `None` where nothing is foreseen of the inflow.
fn extended(
    record: &InflowRecord<'_>,
    today: &InflowCondition,
    flows: &[FlowAhead],
    until: NaiveDate,
) -> Option<Daily> {
    let of = |date: NaiveDate| {
        let mut own = flows.iter().filter(|f| f.inflow == today.inflow);
        own.find(|f| f.date == date).map(|f| f.mean_m3s)
    };
    let newest = record
        .daily
        .newest_measured(until)
        .map(|i| record.daily.date(i))?;
    let last = until.pred_opt()?;
    let mut daily = record.daily.clone();
    let keep = usize::try_from((newest - daily.first).num_days() + 1).ok()?;
    daily.value.truncate(keep);
    daily.filled.truncate(keep);
    daily.suspect.truncate(keep);
    // A river that is foreseen on the last day is foreseen on the way to it.
    of(last)?;
    for date in newest.iter_days().skip(1).take_while(|date| *date <= last) {
        daily.value.push(Some(of(date).unwrap_or(today.discharge_m3s)));
        daily.filled.push(false);
        daily.suspect.push(false);
    }
    Some(daily)
}
