//! Surface temperature of the main body, its trend, and river temperatures.

use chrono::{Days, Duration};

use super::morning::{Morning, Newest, left_out, wider};
use super::shift::step_within_14_days;
use super::{RiverTempCondition, SurfaceCondition, TempStep, Trend};
use crate::lake::{Cadence, SeriesPlace, SeriesSource};
use crate::math::least_squares::line_hac;
use crate::math::slopes::theil_sen;
use crate::quantity::Quantity;
use crate::series::{Daily, Gap, GapReason};

/// Readings deeper than this are not the surface, metres (project choice).
const SURFACE_DEPTH_M: f64 = 2.0;
/// A temperature older than this says nothing of this morning (project choice).
const OLDEST_TEMP_DAYS: i64 = 7;
/// Confidence of the trend's interval, and the rate below which the lake counts as cooling (project
/// choices, series-and-skill 4).
const TREND_CONFIDENCE_FRAC: f64 = 0.80;
const COOLING_RATE_DEGC_PER_DAY: f64 = -0.1;
/// Lags of the standard error beside it, and the least step that is told (project choices).
const HAC_LAGS: usize = 3;
const LEAST_STEP_DEGC: f64 = 1.0;

/// The newest surface temperature and its trend; pushes a gap where there is none.
pub(super) fn surface(morning: &Morning, gaps: &mut Vec<Gap>) -> Option<SurfaceCondition> {
    let sources = surface_sources(morning);
    let (source, newest) = temperature(
        morning,
        &sources,
        "water_temp",
        "surface temperature and trend",
        gaps,
    )?;
    let daily = morning.daily(source);
    let trend = |days, wanted| daily.as_ref().and_then(|d| trend(morning, d, days, wanted));
    let (trend_7d, trend_14d) = (trend(7, 5), trend(14, 10));
    if trend_7d.is_none() {
        let from = morning
            .today
            .checked_sub_days(Days::new(7))
            .unwrap_or(morning.today);
        let recent = daily.as_ref().and_then(|d| d.slice(from, morning.today));
        let found = recent.map_or(0, |d| (0..d.value.len()).filter(|i| d.is_measured(*i)).count());
        gaps.push(left_out(
            source.id.as_str(),
            GapReason::TooFew { found, wanted: 5 },
            "surface trend, cooling",
        ));
    }
    Some(SurfaceCondition {
        temp_degc: newest.value,
        observed_at: newest.time,
        trend_7d,
        trend_14d,
        cooling: trend_7d.or(trend_14d).is_some_and(is_cooling),
        warming: trend_7d.or(trend_14d).is_some_and(is_warming),
        step: daily.as_ref().and_then(|d| {
            let step = step_within_14_days(d, morning.today, LEAST_STEP_DEGC, Some)?;
            Some(TempStep {
                date: step.date,
                step_degc: step.height,
            })
        }),
    })
}

/// Sources of the main body's surface, in the order in which they are taken.
pub(super) fn surface_sources<'a>(morning: &Morning<'a>) -> Vec<&'a SeriesSource> {
    let mut places = morning.lake_places();
    places.reverse();
    let sources = places
        .iter()
        .flat_map(|place| morning.lake.series_of(Quantity::WaterTemp, place));
    sources.filter(|s| is_surface(morning, s)).collect()
}

/// Temperatures of the rivers that have a series; a gap for each series that gives nothing.
pub(super) fn river_temps(morning: &Morning, gaps: &mut Vec<Gap>) -> Vec<RiverTempCondition> {
    let mut found = Vec::new();
    for inflow in &morning.lake.inflows {
        let place = Morning::inflow_place(&inflow.id);
        let above = morning
            .lake
            .zones
            .iter()
            .filter(|z| z.above.as_ref() == Some(&inflow.enters));
        let places = std::iter::once(place).chain(above.map(|z| SeriesPlace::Zone(z.id.clone())));
        let sources: Vec<&SeriesSource> = places
            .flat_map(|p| {
                morning
                    .lake
                    .series_of(Quantity::RiverTemp, &p)
                    .collect::<Vec<_>>()
            })
            .collect();
        let what = format!("{} river_temp", inflow.id);
        if let Some((_, newest)) = temperature(morning, &sources, &what, "river temperature, observed", gaps)
        {
            found.push(RiverTempCondition {
                inflow: inflow.id.clone(),
                temp_degc: newest.value,
                observed_at: newest.time,
            });
        }
    }
    found
}

/// Whether a source of water temperature is that of the surface: by its stated depth, or by the
/// shallowest depth of its rows; one without depths is taken for the surface.
fn is_surface(morning: &Morning, source: &SeriesSource) -> bool {
    let rows = [Cadence::Continuous, Cadence::Daily].map(|c| morning.set.observations(&source.id, c));
    let shallowest = rows
        .iter()
        .flat_map(|r| r.iter())
        .filter_map(|o| o.depth_m)
        .min_by(f64::total_cmp);
    source
        .depth_m
        .or(shallowest)
        .is_none_or(|depth_m| depth_m <= SURFACE_DEPTH_M)
}

/// Mean of the last 24 h where they are covered, else the newest measured day, else the newest reading.
fn temperature<'a>(
    morning: &Morning<'a>,
    sources: &[&'a SeriesSource],
    what: &str,
    figure: &str,
    gaps: &mut Vec<Gap>,
) -> Option<(&'a SeriesSource, Newest)> {
    let source = match morning.best_of(sources) {
        Ok(source) => source,
        Err(reason) => {
            gaps.push(left_out(what, reason, figure));
            return None;
        }
    };
    let newest = morning
        .last_24h(source)
        .or_else(|| newest_day_or_reading(morning, source))?;
    if let Some(reason) = morning.late(source, newest.time) {
        if newest.time < morning.set.as_of - Duration::days(OLDEST_TEMP_DAYS) {
            gaps.push(left_out(source.id.as_str(), reason, figure));
            return None;
        }
        gaps.push(wider(source.id.as_str(), reason, figure));
    }
    Some((source, newest))
}

fn newest_day_or_reading(morning: &Morning, source: &SeriesSource) -> Option<Newest> {
    let reading = morning.newest(source)?;
    let day = morning.daily(source).and_then(|d| {
        let i = d.newest_measured(morning.today)?;
        Some(Newest {
            value: d.value[i]?,
            time: morning.clock.standard_day_start(d.date(i)),
        })
    });
    // A day's mean beats a single reading of the same or the following day: the sun swings a reading.
    let near = |day: &Newest| reading.time - day.time <= Duration::hours(48);
    Some(day.filter(near).unwrap_or(reading))
}

/// Theil-Sen slope of the measured daily means of the last `days` days; `None` for fewer than `wanted` of
/// them, or where the newest is more than two days back.
fn trend(morning: &Morning, daily: &Daily, days: usize, wanted: usize) -> Option<Trend> {
    let end = daily.newest_measured(morning.today)?;
    if (morning.today - daily.date(end)).num_days() > 2 {
        return None;
    }
    let start = (end + 1).saturating_sub(days);
    let (x, y): (Vec<f64>, Vec<f64>) = (start..=end)
        .filter(|i| daily.is_measured(*i))
        .filter_map(|i| Some((i as f64, daily.value[i]?)))
        .unzip();
    if x.len() < wanted {
        return None;
    }
    let line = theil_sen(&x, &y, TREND_CONFIDENCE_FRAC)?;
    Some(Trend {
        rate_degc_per_day: line.slope,
        low_degc_per_day: line.slope_low,
        high_degc_per_day: line.slope_high,
        hac_se_degc_per_day: line_hac(&x, &y, HAC_LAGS).map(|line| line.slope_hac_se),
        days: x.len(),
    })
}

fn is_cooling(trend: Trend) -> bool {
    trend.high_degc_per_day < 0.0 && trend.rate_degc_per_day < COOLING_RATE_DEGC_PER_DAY
}

/// The same upward.
fn is_warming(trend: Trend) -> bool {
    trend.low_degc_per_day > 0.0 && trend.rate_degc_per_day > -COOLING_RATE_DEGC_PER_DAY
}
