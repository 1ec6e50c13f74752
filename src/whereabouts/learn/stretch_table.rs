//! Catch per rod-hour by stretch, season and temperature of the surface, with its interval.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use super::rows::{Effort, SpeciesRows};
use crate::lake::ZoneId;
use crate::math::counts::rate_interval;

/// Confidence of the interval.
const CONFIDENCE: f64 = 0.8;

/// A season of three months.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Season {
    /// December to February.
    Winter,
    /// March to May.
    Spring,
    /// June to August.
    Summer,
    /// September to November.
    Autumn,
}

impl Season {
    /// The season of a day, in months as meteorology has them.
    pub fn of(date: NaiveDate) -> Season {
        match date.month() {
            12 | 1 | 2 => Season::Winter,
            3..=5 => Season::Spring,
            6..=8 => Season::Summer,
            _ => Season::Autumn,
        }
    }
}

/// A class of the temperature of the surface (project choice: 8 to 15 degC is where trout are said to bite best, from 19 degC
/// they bite poorly; McMichael & Kaya 1991).
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TemperatureClass {
    /// Below 8 degC.
    Cold,
    /// 8 to below 15 degC.
    Cool,
    /// 15 to below 19 degC.
    Mild,
    /// 19 degC and more.
    Warm,
    /// Nobody wrote it down.
    NotKnown,
}

impl TemperatureClass {
    /// The class of a temperature.
    pub fn of(temp_degc: Option<f64>) -> TemperatureClass {
        match temp_degc {
            None => TemperatureClass::NotKnown,
            Some(t) if t < 8.0 => TemperatureClass::Cold,
            Some(t) if t < 15.0 => TemperatureClass::Cool,
            Some(t) if t < 19.0 => TemperatureClass::Mild,
            Some(_) => TemperatureClass::Warm,
        }
    }
}

/// Catch per rod-hour of one stretch under one condition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct StretchCatch {
    /// Zone.
    pub zone: ZoneId,
    /// Stretch; `None` for hours in the zone without one.
    pub stretch: Option<String>,
    /// Season; `None` for the whole year.
    pub season: Option<Season>,
    /// Temperature of the surface; `None` for all.
    pub temperature: Option<TemperatureClass>,
    /// Trips.
    pub trips: usize,
    /// Rod-hours.
    pub effort_h: f64,
    /// Fish.
    pub catch: u32,
    /// Fish per rod-hour.
    pub catch_per_h: f64,
    /// Lower end of its 80 % interval.
    pub low_per_h: f64,
    /// Upper end.
    pub high_per_h: f64,
}

type Key = (ZoneId, Option<String>, Option<Season>, Option<TemperatureClass>);

/// The table: every stretch over all, by season, and by temperature of the surface.
///
/// The interval is Jeffreys' for a Poisson rate ([`rate_interval`]), widened by the scatter of catches: `1 + mu / k` with the mean
/// catch of a row `mu` and the dispersion `k` of the fit (project choice).
pub fn stretch_table(rows: &SpeciesRows<'_>, dispersion: f64) -> Vec<StretchCatch> {
    let mut sums: BTreeMap<Key, (usize, f64, u32)> = BTreeMap::new();
    for trip in rows.trips {
        let season = Season::of(trip.date);
        for effort in &trip.efforts {
            let mut add = |season, temperature| {
                let key = (effort.zone.clone(), effort.stretch.clone(), season, temperature);
                let sum = sums.entry(key).or_default();
                *sum = (sum.0 + 1, sum.1 + effort.effort_h, sum.2 + effort.catch);
            };
            add(None, None);
            add(Some(season), None);
            add(None, Some(temperature_of(effort)));
        }
    }
    sums.into_iter()
        .filter_map(
            |((zone, stretch, season, temperature), (trips, effort_h, catch))| {
                let fish = f64::from(catch);
                let widening = 1.0 + fish / trips as f64 / dispersion;
                let (low_per_h, high_per_h) = rate_interval(fish, effort_h, widening, CONFIDENCE)?;
                Some(StretchCatch {
                    zone,
                    stretch,
                    season,
                    temperature,
                    trips,
                    effort_h,
                    catch,
                    catch_per_h: fish / effort_h,
                    low_per_h,
                    high_per_h,
                })
            },
        )
        .collect()
}

fn temperature_of(effort: &Effort) -> TemperatureClass {
    TemperatureClass::of(effort.surface_temp_degc)
}
