//! The observed surface of a place, day by day.

use chrono::{DateTime, Days, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::conditions::{Conditions, daily_of_chain};
use crate::lake::{Lake, SeriesPlace, SeriesSource};
use crate::quantity::Quantity;
use crate::series::daily::daily_series;
use crate::series::{Daily, SeriesSet};

/// Depth down to which a series counts as the surface.
const SURFACE_DEPTH_M: f64 = 3.0;

/// An observed daily mean of the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ObservedSurface {
    pub date: NaiveDate,
    pub temp_degc: f64,
    pub observed_at: DateTime<Utc>,
}

/// Series of the main body's water temperature, the shallowest first.
pub(super) fn water_sources<'a>(lake: &'a Lake, place: &'a SeriesPlace) -> Vec<&'a SeriesSource> {
    let mut sources: Vec<&SeriesSource> = lake.series_of(Quantity::WaterTemp, place).collect();
    sources.sort_by(|a, b| a.depth_m.unwrap_or(0.0).total_cmp(&b.depth_m.unwrap_or(0.0)));
    sources
}

/// Daily surface of a place: the shallowest of its series that is near the surface and has values.
pub(super) fn surface_daily(
    lake: &Lake,
    place: &SeriesPlace,
    set: &SeriesSet,
    clock: &LakeClock,
) -> Option<Daily> {
    water_sources(lake, place)
        .into_iter()
        .filter(|source| source.depth_m.is_none_or(|depth_m| depth_m <= SURFACE_DEPTH_M))
        .filter(|source| row_depth_m(set, source).is_none_or(|depth_m| depth_m <= SURFACE_DEPTH_M))
        .find_map(|source| daily_of_chain(lake, set, source, |s| daily_series(set, &s.id, clock)))
}

/// Shallowest depth written on the rows of a series.
fn row_depth_m(set: &SeriesSet, source: &SeriesSource) -> Option<f64> {
    let rows = source
        .cadences
        .iter()
        .flat_map(|cadence| set.observations(&source.id, *cadence));
    rows.filter_map(|row| row.depth_m).min_by(f64::total_cmp)
}

/// Daily surface of the main body, with this morning's condition at its end where that is newer.
pub(super) fn observed_daily(
    lake: &Lake,
    conditions: &Conditions,
    set: &SeriesSet,
    clock: &LakeClock,
) -> Option<Daily> {
    let main = SeriesPlace::Zone(lake.main_body().id.clone());
    let places = [main, SeriesPlace::Lake];
    let series = places
        .iter()
        .find_map(|place| surface_daily(lake, place, set, clock));
    let Some(condition) = &conditions.surface else {
        return series;
    };
    let date = clock.standard_day(condition.observed_at);
    Some(with_newest(series, date, condition.temp_degc))
}

/// A daily series with one newer value at its end; as it is where the value is not newer.
pub(super) fn with_newest(series: Option<Daily>, date: NaiveDate, value: f64) -> Daily {
    let Some(mut series) = series else {
        return Daily::new(date, vec![Some(value)]);
    };
    let ahead = series.last().map_or(0, |last| (date - last).num_days());
    if let Ok(ahead @ 1..) = usize::try_from(ahead) {
        let holes = ahead - 1;
        series
            .value
            .extend(std::iter::repeat_n(None, holes).chain([Some(value)]));
        series.filled.resize(series.value.len(), false);
        series.suspect.resize(series.value.len(), false);
    }
    series
}

/// The newest daily mean up to `today`.
pub(super) fn newest(
    seen: &Daily,
    conditions: &Conditions,
    clock: &LakeClock,
    today: NaiveDate,
) -> Option<ObservedSurface> {
    let (date, temp_degc) = seen
        .first
        .iter_days()
        .zip(&seen.value)
        .filter_map(|(date, value)| value.map(|v| (date, v)))
        .take_while(|(date, _)| *date <= today)
        .last()?;
    let end_of_day = clock.standard_day_start(date + Days::new(1));
    let observed_at = match &conditions.surface {
        Some(condition) if clock.standard_day(condition.observed_at) >= date => condition.observed_at,
        _ => end_of_day.min(conditions.as_of),
    };
    Some(ObservedSurface {
        date,
        temp_degc,
        observed_at,
    })
}
