//! Catch per rod-hour by stretch, season and temperature of the surface, with its interval.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use super::rows::SpeciesRows;
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

/// Hours in one place and the fish of one species caught in them, whatever part they have in a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Caught {
    /// Civil day at the lake.
    pub date: NaiveDate,
    /// Zone.
    pub zone: ZoneId,
    /// Stretch within it.
    pub stretch: Option<String>,
    /// Rod-hours.
    pub effort_h: f64,
    /// Fish.
    pub catch: u32,
    /// Temperature of the surface there, as far as known.
    pub surface_temp_degc: Option<f64>,
}

/// The hours and fish of the rows of a fit.
pub fn caught_in(rows: &SpeciesRows<'_>) -> Vec<Caught> {
    let of_trips = rows
        .trips
        .iter()
        .flat_map(|trip| trip.efforts.iter().map(move |effort| (trip.date, effort)));
    of_trips
        .map(|(date, effort)| Caught {
            date,
            zone: effort.zone.clone(),
            stretch: effort.stretch.clone(),
            effort_h: effort.effort_h,
            catch: effort.catch,
            surface_temp_degc: effort.surface_temp_degc,
        })
        .collect()
}

/// A place of the table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum TablePlace {
    /// All hours in the zone.
    WholeZone,
    /// One of its stretches.
    Stretch {
        /// Its id.
        id: String,
    },
    /// Hours in the zone for which no stretch was told, where others have one.
    NoStretchTold,
}

/// Catch per rod-hour of one place under one condition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct StretchCatch {
    /// Zone.
    pub zone: ZoneId,
    /// Which part of it.
    pub place: TablePlace,
    /// Season; `None` for the whole year.
    pub season: Option<Season>,
    /// Temperature of the surface; `None` for all.
    pub temperature: Option<TemperatureClass>,
    /// Stays: a place of a trip, once for each reason it was chosen for.
    pub stays: usize,
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

type Key = (ZoneId, TablePlace, Option<Season>, Option<TemperatureClass>);

/// The table: every zone and each of its stretches over all, by season, and by temperature of the surface.
///
/// The interval is Jeffreys' for a Poisson rate ([`rate_interval`]), widened by the scatter of catches: `1 + mu / k` with the mean
/// catch of a stay `mu` and the dispersion `k` of the fit (project choice).
pub fn stretch_table(caught: &[Caught], dispersion: f64) -> Vec<StretchCatch> {
    let mut sums: BTreeMap<Key, (usize, f64, u32)> = BTreeMap::new();
    for one in caught {
        let parted = caught
            .iter()
            .any(|other| other.zone == one.zone && other.stretch.is_some());
        let part = match &one.stretch {
            Some(id) => Some(TablePlace::Stretch { id: id.clone() }),
            None => parted.then_some(TablePlace::NoStretchTold),
        };
        let season = Some(Season::of(one.date));
        let temperature = Some(TemperatureClass::of(one.surface_temp_degc));
        for place in std::iter::once(TablePlace::WholeZone).chain(part) {
            for (season, temperature) in [(None, None), (season, None), (None, temperature)] {
                let key = (one.zone.clone(), place.clone(), season, temperature);
                let sum = sums.entry(key).or_default();
                *sum = (sum.0 + 1, sum.1 + one.effort_h, sum.2.saturating_add(one.catch));
            }
        }
    }
    let row = |((zone, place, season, temperature), (stays, effort_h, catch)): (Key, (usize, f64, u32))| {
        let fish = f64::from(catch);
        let widening = 1.0 + fish / stays as f64 / dispersion;
        let (low_per_h, high_per_h) = rate_interval(fish, effort_h, widening, CONFIDENCE)?;
        Some(StretchCatch {
            zone,
            place,
            season,
            temperature,
            stays,
            effort_h,
            catch,
            catch_per_h: fish / effort_h,
            low_per_h,
            high_per_h,
        })
    };
    sums.into_iter().filter_map(row).collect()
}
