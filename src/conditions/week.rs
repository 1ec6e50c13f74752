//! The week behind: level, surface, inflows and weather of the days up to the clock.

use chrono::{Days, Duration, NaiveDate};
use serde::{Deserialize, Serialize};

use super::daily_water::{DailyWater, daily_water};
use super::morning::Morning;
use crate::lake::{Cadence, InflowId, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Daily, SeriesSet};

/// Days of the week.
pub const WEEK_DAYS: u64 = 7;
/// Days whose level and surface are told, for a picture of where the week stands (project choice).
const TOLD_DAYS: u64 = 42;
/// Fewest days of the week that tell its mean (project choice).
const FEWEST_DAYS: usize = 5;

/// The week up to the clock, by standard days. SI.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekBehind {
    /// First whole day of the week.
    pub from: NaiveDate,
    /// Last whole day.
    pub to: NaiveDate,
    /// Levels of the last six weeks, days without a value left out.
    pub levels: Vec<LevelOfDay>,
    /// Surface temperatures of the last six weeks, likewise.
    pub surfaces: Vec<SurfaceOfDay>,
    /// Inflows of the lake file whose flow is known on five days or more.
    pub inflows: Vec<WeekInflow>,
    /// Air; `None` where it is not known on five days or more.
    pub air: Option<WeekAir>,
    /// Rain and melted snow of the week; `None` unless every day of it is known.
    pub rain_m: Option<f64>,
    /// Wind; `None` where it is not known on five days or more.
    pub wind: Option<WeekWind>,
}

/// The level of one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LevelOfDay {
    /// Standard day.
    pub date: NaiveDate,
    /// Its level.
    pub elevation_m: f64,
}

/// The surface of the main body on one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SurfaceOfDay {
    /// Standard day.
    pub date: NaiveDate,
    /// Its mean.
    pub mean_degc: f64,
}

/// An inflow through the week.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekInflow {
    /// Inflow.
    pub inflow: InflowId,
    /// Mean of the days that are known.
    pub mean_m3s: f64,
    /// Mean of the week before; `None` where five of its days are not known.
    pub before_m3s: Option<f64>,
    /// Highest daily mean.
    pub highest_m3s: f64,
    /// Its day.
    pub highest_on: NaiveDate,
}

/// Air through the week.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekAir {
    /// Mean.
    pub mean_degc: f64,
    /// Lowest value within the days; `None` where daily means alone are known.
    pub lowest_degc: Option<f64>,
    /// Highest.
    pub highest_degc: Option<f64>,
}

/// Wind through the week.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekWind {
    /// Mean.
    pub mean_m_s: f64,
    /// Day with the highest mean.
    pub windiest_on: NaiveDate,
    /// Its mean.
    pub windiest_m_s: f64,
    /// Highest gust; `None` where gusts are not known.
    pub gust_m_s: Option<f64>,
}

/// The week up to the last whole standard day before the clock of `set`.
pub fn week_behind(lake: &Lake, set: &SeriesSet) -> WeekBehind {
    let morning = Morning::new(lake, set);
    let to = back(morning.today, 1);
    let from = back(to, WEEK_DAYS - 1);
    let told_from = back(to, TOLD_DAYS - 1);
    let water = daily_water(lake, set);
    let level = water.level.as_ref().map(|level| &level.daily);
    let surface = of_lake(&morning, Quantity::WaterTemp).map(|(daily, _)| daily);
    WeekBehind {
        from,
        to,
        levels: known(level, told_from, to)
            .map(|(date, elevation_m)| LevelOfDay { date, elevation_m })
            .collect(),
        surfaces: known(surface.as_ref(), told_from, to)
            .map(|(date, mean_degc)| SurfaceOfDay { date, mean_degc })
            .collect(),
        inflows: inflows(lake, &water, from, to),
        air: air(&morning, from, to),
        rain_m: rain(&morning, from, to),
        wind: wind(&morning, from, to),
    }
}

fn back(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_sub_days(Days::new(days)).unwrap_or(date)
}

/// Days with a value that was measured, `from` to `to`.
fn known(
    daily: Option<&Daily>,
    from: NaiveDate,
    to: NaiveDate,
) -> impl Iterator<Item = (NaiveDate, f64)> + '_ {
    let days = from.iter_days().take_while(move |date| *date <= to);
    days.filter_map(move |date| Some((date, daily?.get(date)?)))
}

/// Mean of the known days; `None` of fewer than five.
fn mean(days: &[(NaiveDate, f64)]) -> Option<f64> {
    let sum: f64 = days.iter().map(|(_, value)| value).sum();
    (days.len() >= FEWEST_DAYS).then(|| sum / days.len() as f64)
}

fn highest(days: &[(NaiveDate, f64)]) -> Option<(NaiveDate, f64)> {
    days.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
}

/// The daily series of a quantity of the lake as a whole, with its source.
fn of_lake<'a>(morning: &Morning<'a>, quantity: Quantity) -> Option<(Daily, &'a SeriesSource)> {
    let source = morning.source(quantity, &morning.lake_places()).ok()?;
    Some((morning.daily(source)?, source))
}

fn inflows(lake: &Lake, water: &DailyWater, from: NaiveDate, to: NaiveDate) -> Vec<WeekInflow> {
    let of = |inflow: &InflowId| {
        let daily = &water.inflows.iter().find(|i| &i.inflow == inflow)?.daily;
        let days: Vec<_> = known(Some(daily), from, to).collect();
        let before: Vec<_> = known(Some(daily), back(from, WEEK_DAYS), back(from, 1)).collect();
        let (highest_on, highest_m3s) = highest(&days)?;
        Some(WeekInflow {
            inflow: inflow.clone(),
            mean_m3s: mean(&days)?,
            before_m3s: mean(&before),
            highest_m3s,
            highest_on,
        })
    };
    lake.inflows.iter().filter_map(|inflow| of(&inflow.id)).collect()
}

fn air(morning: &Morning<'_>, from: NaiveDate, to: NaiveDate) -> Option<WeekAir> {
    let (daily, source) = of_lake(morning, Quantity::AirTemp)?;
    let days: Vec<_> = known(Some(&daily), from, to).collect();
    let within = within_days(morning, source, from, to);
    Some(WeekAir {
        mean_degc: mean(&days)?,
        lowest_degc: within.iter().copied().min_by(f64::total_cmp),
        highest_degc: within.iter().copied().max_by(f64::total_cmp),
    })
}

fn rain(morning: &Morning<'_>, from: NaiveDate, to: NaiveDate) -> Option<f64> {
    let (daily, _) = of_lake(morning, Quantity::Precipitation)?;
    let days: Vec<_> = known(Some(&daily), from, to).collect();
    (days.len() == WEEK_DAYS as usize).then(|| days.iter().map(|(_, rain_m)| rain_m).sum())
}

fn wind(morning: &Morning<'_>, from: NaiveDate, to: NaiveDate) -> Option<WeekWind> {
    let (daily, _) = of_lake(morning, Quantity::WindSpeed)?;
    let days: Vec<_> = known(Some(&daily), from, to).collect();
    let (windiest_on, windiest_m_s) = highest(&days)?;
    let gust = of_lake(morning, Quantity::WindGust)
        .and_then(|(gust, _)| highest(&known(Some(&gust), from, to).collect::<Vec<_>>()));
    Some(WeekWind {
        mean_m_s: mean(&days)?,
        windiest_on,
        windiest_m_s,
        gust_m_s: gust.map(|(_, gust_m_s)| gust_m_s),
    })
}

/// Usable values within the standard days `from` to `to`.
fn within_days(morning: &Morning<'_>, source: &SeriesSource, from: NaiveDate, to: NaiveDate) -> Vec<f64> {
    let begin = morning.clock.standard_day_start(from);
    let end = morning.clock.standard_day_start(to) + Duration::days(1);
    let rows = morning.set.observations(&source.id, Cadence::Continuous);
    rows.iter()
        .filter(|o| o.flag.is_usable() && (begin..end).contains(&o.time))
        .filter_map(|o| o.value.filter(|v| v.is_finite()))
        .collect()
}
