//! What was observed day by day, for forecasts to be judged by: usable values only, nothing filled.

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};

use super::assemble::{balance, day_value_of, states_of};
use super::balance::DayValue;
use super::flow::inflow_records;
use super::morning::Morning;
use super::surface::surface_sources;
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Daily, SeriesSet};

/// Longest time between two readings of a level that is drawn straight over (project choice: a level read twice a day is known
/// between).
const LEVEL_BETWEEN_H: i64 = 13;
/// Depths of a profile that tell of a thermocline (project choice).
const PROFILE_LEAST_DEPTHS: usize = 5;

/// What was observed, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct ObservedDays {
    /// Mean surface temperature of standard days, degC, and its series.
    pub surface: Option<(Daily, String)>,
    /// Level at one hour of civil days, m, and its series.
    pub level: Option<(Daily, String)>,
    /// Flow of all gauges of the inflows together, means of standard days, m3/s.
    pub gauged: Option<Daily>,
    /// Profiles of the main body, in order.
    pub profiles: Vec<MainBodyProfile>,
}

/// Temperatures of the main body at several depths on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct MainBodyProfile {
    /// Standard day.
    pub date: NaiveDate,
    /// Depths, increasing. Shape `[depth]`.
    pub depth_m: Vec<f64>,
    /// Means over the day. Shape `[depth]`.
    pub temp_degc: Vec<f64>,
}

/// What `set` has observed of `lake` up to its clock; levels at `level_hour` of the civil day at the lake. Flags 1 and 2 alone.
pub fn observed_days(lake: &Lake, set: &SeriesSet, level_hour: NaiveTime) -> ObservedDays {
    let morning = Morning::new(lake, set);
    ObservedDays {
        surface: surface(&morning),
        level: level(&morning, level_hour),
        gauged: gauged(&morning),
        profiles: profiles(&morning),
    }
}

/// Its surface alone.
pub fn observed_surface(lake: &Lake, set: &SeriesSet) -> Option<(Daily, String)> {
    surface(&Morning::new(lake, set))
}

/// The days that were measured, and not by suspect readings.
fn measured(daily: &Daily) -> Daily {
    let usable =
        |i: usize| daily.value[i].filter(|v| daily.is_measured(i) && !daily.suspect[i] && v.is_finite());
    Daily::new(daily.first, (0..daily.value.len()).map(usable).collect())
}

fn surface(morning: &Morning) -> Option<(Daily, String)> {
    let source = morning.best_of(&surface_sources(morning)).ok()?;
    let mut daily = measured(&morning.daily(source)?);
    // The day that is still running is no whole day.
    let whole = usize::try_from((morning.today - daily.first).num_days()).unwrap_or(0);
    daily.value.truncate(whole);
    Some((Daily::new(daily.first, daily.value), source.id.to_string()))
}

fn level(morning: &Morning, hour: NaiveTime) -> Option<(Daily, String)> {
    let source = morning
        .source(Quantity::PoolElevation, &morning.lake_places())
        .ok()?;
    let within = readings(morning, source);
    let by_day = morning
        .daily(source)
        .map(|daily| (measured(&daily), day_value_of(source)));
    let first = [
        by_day.as_ref().map(|(daily, _)| daily.first),
        within.first().map(|(time, _)| morning.clock.civil_day(*time)),
    ];
    let first = first.into_iter().flatten().min()?;
    let last = morning.clock.civil_day(morning.set.as_of);
    let value = first.iter_days().take_while(|day| *day <= last).map(|day| {
        let at = morning.clock.instant(day.and_time(hour));
        (at <= morning.set.as_of)
            .then(|| between(&within, at).or_else(|| between_days(morning, by_day.as_ref()?, at)))
            .flatten()
    });
    Some((Daily::new(first, value.collect()), source.id.to_string()))
}

/// Usable readings within the day, in order.
fn readings(morning: &Morning, source: &SeriesSource) -> Vec<(DateTime<Utc>, f64)> {
    let rows = morning.set.observations(&source.id, Cadence::Continuous).iter();
    let usable = rows.filter(|row| row.flag.is_usable() && row.time <= morning.set.as_of);
    usable
        .filter_map(|row| Some((row.time, row.value.filter(|v| v.is_finite())?)))
        .collect()
}

/// Straight between the readings before and after; `None` where these lie too far apart.
fn between(readings: &[(DateTime<Utc>, f64)], at: DateTime<Utc>) -> Option<f64> {
    let after = readings.partition_point(|(time, _)| *time < at);
    let next = readings.get(after)?;
    if next.0 == at {
        return Some(next.1);
    }
    let before = readings.get(after.checked_sub(1)?)?;
    straight(*before, *next, at, Duration::hours(LEVEL_BETWEEN_H))
}

/// The same between daily values, each at the instant that it stands for: noon of a mean, else the end of the day.
fn between_days(morning: &Morning, (daily, is): &(Daily, DayValue), at: DateTime<Utc>) -> Option<f64> {
    let lag_h = match is {
        DayValue::EndOfDay => 24,
        DayValue::Mean => 12,
    };
    let stands = |day: NaiveDate| morning.clock.standard_day_start(day) + Duration::hours(lag_h);
    let around = morning.clock.standard_day(at);
    let before = [around, around.pred_opt()?]
        .into_iter()
        .find(|day| stands(*day) <= at)
        .or_else(|| around.pred_opt()?.pred_opt())?;
    let next = before.succ_opt()?;
    let value = |day: NaiveDate| Some((stands(day), daily.get(day)?));
    straight(value(before)?, value(next)?, at, Duration::hours(24))
}

fn straight(
    before: (DateTime<Utc>, f64),
    next: (DateTime<Utc>, f64),
    at: DateTime<Utc>,
    longest: Duration,
) -> Option<f64> {
    let apart = next.0 - before.0;
    let part = (at - before.0).num_seconds() as f64 / apart.num_seconds() as f64;
    (apart <= longest && (0.0..=1.0).contains(&part)).then_some(before.1 + part * (next.1 - before.1))
}

/// Sum of the gauges on the days that all were measured; `None` where one inflow has none.
fn gauged(morning: &Morning) -> Option<Daily> {
    let level = states_of(morning, Quantity::PoolElevation);
    let balance = balance(morning, level.as_ref());
    let records = inflow_records(morning, balance.as_ref(), &mut Vec::new());
    if records.is_empty()
        || records.len() != morning.lake.inflows.len()
        || records.iter().any(|r| r.is_computed())
    {
        return None;
    }
    let days: Vec<Daily> = records.iter().map(|record| measured(&record.daily)).collect();
    let first = days.iter().map(|daily| daily.first).max()?;
    let last = days.iter().filter_map(Daily::last).min()?;
    let sum = |date: NaiveDate| days.iter().map(|daily| daily.get(date)).sum::<Option<f64>>();
    let whole = first
        .iter_days()
        .take_while(|day| *day <= last && *day < morning.today);
    Some(Daily::new(first, whole.map(sum).collect()))
}

/// Every day with usable temperatures at five depths or more, all sources of the main body together.
fn profiles(morning: &Morning) -> Vec<MainBodyProfile> {
    let mut points: Vec<(NaiveDate, i64, f64)> = Vec::new();
    let places = morning.lake_places();
    let sources = places
        .iter()
        .flat_map(|place| morning.lake.series_of(Quantity::WaterTemp, place));
    for source in sources {
        for row in [Cadence::Continuous, Cadence::Daily]
            .iter()
            .flat_map(|cadence| morning.set.observations(&source.id, *cadence))
        {
            let depth_m = row.depth_m.or(source.depth_m);
            let usable = row.value.filter(|v| row.flag.is_usable() && v.is_finite());
            if let (Some(depth_m), Some(value)) = (depth_m.filter(|z| z.is_finite() && *z >= 0.0), usable)
                && row.time <= morning.set.as_of
            {
                let depth_cm = (depth_m * 100.0).round() as i64;
                points.push((morning.clock.standard_day(row.time), depth_cm, value));
            }
        }
    }
    points.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2)));
    let profile = |of_day: &[(NaiveDate, i64, f64)]| {
        let depths = of_day.chunk_by(|a, b| a.1 == b.1);
        let (depth_m, temp_degc): (Vec<f64>, Vec<f64>) = depths
            .map(|same| {
                let sum: f64 = same.iter().map(|point| point.2).sum();
                (same[0].1 as f64 / 100.0, sum / same.len() as f64)
            })
            .unzip();
        (depth_m.len() >= PROFILE_LEAST_DEPTHS).then(|| MainBodyProfile {
            date: of_day[0].0,
            depth_m,
            temp_degc,
        })
    };
    points.chunk_by(|a, b| a.0 == b.0).filter_map(profile).collect()
}
