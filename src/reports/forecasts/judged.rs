//! Kept forecasts against what came: which of them count, and the cases of each lead.

use std::collections::BTreeMap;

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveTime, Utc};

use super::page::{ForecastOf, Group};
use crate::archive::{KeptDay, KeptForecast};
use crate::clock::LakeClock;
use crate::conditions::{LEVEL_READING_SD_M, ObservedDays};
use crate::lake::Lake;
use crate::math::streams::{normal, stream};
use crate::physics::stratification::seasonal_thermocline_depth_m;
use crate::series::Daily;
use crate::skill::crps::EnsembleCase;
use crate::skill::daily_reference::KnownDays;
use crate::skill::lead_scores::LeadCase;

/// Longest lead that is scored, days: as far as briefs forecast.
pub(super) const LONGEST_LEAD_DAYS: i64 = 16;
/// Standard error of a day's mean surface temperature for the main body: instrument, and one place for kilometres of water (common
/// practice, no source; as the columns take readings up).
const SURFACE_ERROR_DEGC: f64 = 0.4;
/// Of a thermocline from a profile with a few depths (common practice, no source).
const THERMOCLINE_ERROR_M: f64 = 0.5;
/// Of a gauged flow, as a share of it (common practice, no source).
const FLOW_ERROR_FRAC: f64 = 0.05;
const ERROR_SEED: u64 = 0x65_7272_6F72;
/// Hour of a level where no forecast names one; nothing is judged by it.
const NO_HOUR: NaiveTime = NaiveTime::MIN;

/// Which forecasts count.
pub struct Counted<'f> {
    /// The first made of each day, in order.
    pub scored: Vec<&'f KeptForecast>,
    /// Of replayed mornings.
    pub replayed: usize,
    /// Made after the day of their clock.
    pub late: usize,
    /// Not the first of their day.
    pub not_first: usize,
}

/// Parts forecasts that can be scored from the others. With `with_replayed` those of replayed mornings count as made at their clock.
pub fn counted<'f>(forecasts: &'f [KeptForecast], clock: &LakeClock, with_replayed: bool) -> Counted<'f> {
    let mut first: BTreeMap<NaiveDate, &KeptForecast> = BTreeMap::new();
    let (mut replayed, mut late, mut not_first) = (0, 0, 0);
    let made = |f: &KeptForecast| if f.replayed { f.as_of } else { f.made_at };
    for forecast in forecasts {
        replayed += usize::from(forecast.replayed);
        if forecast.replayed && !with_replayed {
            continue;
        }
        let day = clock.standard_day(forecast.as_of);
        let next = day.checked_add_days(Days::new(1)).unwrap_or(day);
        if made(forecast) >= clock.standard_day_start(next) {
            late += 1;
            continue;
        }
        match first.get(&day) {
            None => drop(first.insert(day, forecast)),
            Some(other) => {
                not_first += 1;
                if (forecast.as_of, made(forecast)) < (other.as_of, made(other)) {
                    first.insert(day, forecast);
                }
            }
        }
    }
    Counted {
        scored: first.into_values().collect(),
        replayed,
        late,
        not_first,
    }
}

/// Hour of the day that the levels of the newest forecast stand for.
pub fn level_hour(forecasts: &[KeptForecast]) -> NaiveTime {
    let newest = forecasts.iter().rev().find_map(|forecast| forecast.level_hour);
    newest.unwrap_or(NO_HOUR)
}

/// A forecast of one day that is past and was observed, with the part of the cases that it belongs to.
pub(super) struct JudgedCase {
    pub case: LeadCase,
    /// Mean and variance of the members without the error of observation.
    pub mean: f64,
    pub variance: f64,
    pub groups: Vec<Group>,
}

/// The cases of one thing.
pub(super) struct Judged {
    pub cases: Vec<JudgedCase>,
    pub past: usize,
    pub unobserved: usize,
}

/// Standard error of an observation.
pub(super) fn error_of(of: ForecastOf) -> f64 {
    match of {
        ForecastOf::SurfaceTemp => SURFACE_ERROR_DEGC,
        ForecastOf::Thermocline => THERMOCLINE_ERROR_M,
        ForecastOf::Level => LEVEL_READING_SD_M,
        ForecastOf::GaugedInflow => FLOW_ERROR_FRAC,
    }
}

/// Standard error of a day's mean surface temperature.
pub(super) fn surface_error_degc() -> f64 {
    SURFACE_ERROR_DEGC
}

/// What was observed of one thing, day by day.
pub fn record_of(of: ForecastOf, observed: &ObservedDays) -> Option<Daily> {
    match of {
        ForecastOf::SurfaceTemp => observed.surface.as_ref().map(|(daily, _)| daily.clone()),
        ForecastOf::Level => observed.level.as_ref().map(|(daily, _)| daily.clone()),
        ForecastOf::GaugedInflow => observed.gauged.clone(),
        ForecastOf::Thermocline => {
            let depth_of = |profile: &crate::conditions::MainBodyProfile| {
                let depth_m = seasonal_thermocline_depth_m(&profile.depth_m, &profile.temp_degc)?;
                Some((profile.date, depth_m))
            };
            let found: BTreeMap<NaiveDate, f64> = observed.profiles.iter().filter_map(depth_of).collect();
            let (first, last) = (*found.keys().next()?, *found.keys().next_back()?);
            let days = first.iter_days().take_while(|day| *day <= last);
            Some(Daily::new(
                first,
                days.map(|day| found.get(&day).copied()).collect(),
            ))
        }
    }
}

/// What was known of a thing at the issue of a forecast: days that were over, and for level and inflow the newest value that the
/// forecast itself began with.
pub fn known_at(
    of: ForecastOf,
    (record, clock): (&Daily, &LakeClock),
    as_of: DateTime<Utc>,
    begun_with: Option<&KeptForecast>,
) -> KnownDays {
    let before = |day: NaiveDate| day.pred_opt().unwrap_or(day);
    match of {
        ForecastOf::Level => {
            let today = clock.civil_day(as_of);
            let newer = begun_with.and_then(|f| Some((today, f.level_newest_m?)));
            KnownDays::new(record, before(today), newer)
        }
        ForecastOf::GaugedInflow => {
            let newer = begun_with.and_then(|f| f.gauged_newest);
            KnownDays::new(record, before(clock.standard_day(as_of)), newer)
        }
        ForecastOf::SurfaceTemp | ForecastOf::Thermocline => {
            KnownDays::new(record, before(clock.standard_day(as_of)), None)
        }
    }
}

/// The cases of one thing among `forecasts`, up to `page_as_of`.
pub(super) fn judged(
    of: ForecastOf,
    (lake, clock): (&Lake, &LakeClock),
    forecasts: &[&KeptForecast],
    (record, page_as_of): (Option<&Daily>, DateTime<Utc>),
) -> Judged {
    let mut judged = Judged {
        cases: Vec::new(),
        past: 0,
        unobserved: 0,
    };
    let over = |date: NaiveDate| match of {
        ForecastOf::Level => date <= clock.civil_day(page_as_of),
        _ => date < clock.standard_day(page_as_of),
    };
    for forecast in forecasts {
        let issued = match of {
            ForecastOf::Level => clock.civil_day(forecast.as_of),
            _ => clock.standard_day(forecast.as_of),
        };
        let known = record.map(|record| known_at(of, (record, clock), forecast.as_of, Some(forecast)));
        for day in days_of(of, forecast) {
            let lead = (day.date - issued).num_days();
            if !(1..=LONGEST_LEAD_DAYS).contains(&lead) || !over(day.date) || day.members.len() < 2 {
                continue;
            }
            judged.past += 1;
            let Some(observed) = record.and_then(|record| record.get(day.date)) else {
                judged.unobserved += 1;
                continue;
            };
            let references = known.as_ref().and_then(|known| known.references(day.date));
            let (climatology, persistence) = match references {
                Some(references) => (Some(references.climatology), references.persistence),
                None => (None, None),
            };
            let (mean, variance) = moments(&day.members);
            judged.cases.push(JudgedCase {
                case: LeadCase {
                    issued,
                    lead: lead as u32,
                    ensemble: EnsembleCase {
                        members: with_error(of, (issued, day.date), &day.members),
                        observed,
                    },
                    persistence,
                    climatology,
                },
                mean,
                variance,
                groups: groups_of(lake, forecast, day.date),
            });
        }
    }
    judged
}

/// The days of one thing; of a thermocline those on which at least half of the members have one.
fn days_of(of: ForecastOf, forecast: &KeptForecast) -> Vec<KeptDay> {
    match of {
        ForecastOf::SurfaceTemp => forecast.surface.clone(),
        ForecastOf::Level => forecast.level.clone(),
        ForecastOf::GaugedInflow => forecast.gauged.clone(),
        ForecastOf::Thermocline => (forecast.thermocline.iter())
            .filter(|day| day.members.len() >= day.without)
            .map(|day| KeptDay {
                date: day.date,
                members: day.members.clone(),
            })
            .collect(),
    }
}

/// The members with the error that an observation has, drawn by the days of issue and target.
fn with_error(of: ForecastOf, (issued, date): (NaiveDate, NaiveDate), members: &[f64]) -> Vec<f64> {
    let mut numbers = stream(ERROR_SEED, &format!("{of:?}/{issued}/{date}"));
    let error = error_of(of);
    let add = |member: &f64| match of {
        ForecastOf::GaugedInflow => member * (1.0 + error * normal(&mut numbers)),
        _ => member + error * normal(&mut numbers),
    };
    members.iter().map(add).collect()
}

/// Mean and variance of members, of which there are two at least.
pub fn moments(members: &[f64]) -> (f64, f64) {
    let count = members.len() as f64;
    let mean = members.iter().sum::<f64>() / count;
    let squares: f64 = members.iter().map(|x| (x - mean).powi(2)).sum();
    (mean, squares / (count - 1.0))
}

fn groups_of(lake: &Lake, forecast: &KeptForecast, date: NaiveDate) -> Vec<Group> {
    let quarter = (date.month() % 12) / 3;
    let seasons = [Group::Winter, Group::Spring, Group::Summer, Group::Autumn];
    let turned = if lake.latitude_deg < 0.0 { 2 } else { 0 };
    let season = seasons[(quarter as usize + turned) % 4];
    let regime = forecast
        .thermocline
        .iter()
        .find(|day| day.date == date)
        .map(|day| {
            if day.members.len() >= day.without {
                Group::Stratified
            } else {
                Group::Mixing
            }
        });
    std::iter::once(season).chain(regime).collect()
}
