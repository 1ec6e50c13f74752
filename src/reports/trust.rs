//! Whether the data are enough to trust a brief: exit status 0 or 3.
//!
//! Essential are the level, the elevation-area table, a temperature of the lake that is measured or
//! computed from weather, a wind forecast for the trip, and the flow of every inflow of an arm.
//! Essential inputs that are missing or late make a brief that says so, and so does any other series of the lake
//! file that has ceased to deliver while nothing stands in for it: the answer is weaker than the lake file
//! promises (project choices, no source).

use std::cmp::Ordering;

use crate::column::{ProfileBasis, Water};
use crate::conditions::{Conditions, InputAge};
use crate::lake::{Cadence, Lake, SeriesPlace, SeriesSource, ZoneKind};
use crate::plan::{OfficialAlerts, is_level_late};
use crate::quantity::Quantity;

use super::brief::{Lacking, LackingFeed, Trust};

/// A series without a value in this time is not late but gone, days (project choice).
const GONE_AFTER_DAYS: f64 = 30.0;

/// What is lacking for a brief that can be trusted.
pub fn trust(lake: &Lake, conditions: &Conditions, water: &Water, alerts: &OfficialAlerts) -> Trust {
    let mut lacking = Vec::new();
    let age_of = |quantity: Quantity, place: &SeriesPlace, forecast: bool| {
        newest_age_h(lake, &conditions.inputs, quantity, place, forecast)
    };

    let level = age_of(Quantity::PoolElevation, &SeriesPlace::Lake, false);
    if is_level_late(lake, conditions) {
        let used = conditions.pool.as_ref();
        let used_h = used.map(|p| (conditions.as_of - p.observed_at).num_seconds() as f64 / 3600.0);
        lacking.push(Lacking::Level {
            age_h: used_h.or(level.age_h),
        });
    }
    if lake.hypsography.is_none() {
        lacking.push(Lacking::Hypsography);
    }
    let main = &lake.main_body().id;
    let known = water
        .zones
        .iter()
        .find(|z| &z.zone == main)
        .is_some_and(|z| z.basis != ProfileBasis::SeasonOnly);
    if !known {
        lacking.push(Lacking::WaterTemperature);
    }
    let wind = age_of(Quantity::WindSpeed, &SeriesPlace::Lake, true);
    if conditions.wind.is_none() || wind.late {
        lacking.push(Lacking::Wind { age_h: wind.age_h });
    }
    for inflow in &lake.inflows {
        let into_arm = lake.zone(&inflow.enters).is_some_and(|z| z.kind == ZoneKind::Arm);
        let found = conditions.inflows.iter().any(|c| c.inflow == inflow.id);
        let flow = age_of(Quantity::Inflow, &SeriesPlace::Inflow(inflow.id.clone()), false);
        if into_arm && (!found || flow.late) {
            lacking.push(Lacking::Inflow {
                inflow: inflow.id.clone(),
                age_h: flow.age_h,
            });
        }
    }
    if lake.official_alerts.is_some() && alerts.not_known.is_some() {
        lacking.push(Lacking::OfficialAlerts);
    }
    let feeds = lacking_feeds(lake, &conditions.inputs, &lacking);
    if !feeds.is_empty() {
        lacking.push(Lacking::Feeds { series: feeds });
    }
    Trust {
        enough: lacking.is_empty(),
        lacking,
    }
}

/// Series of which neither they themselves nor another of the same quantity and place delivers: no observed value in
/// [`GONE_AFTER_DAYS`], or no forecast in time. Those that `named` speaks of are not told twice. A forecast of a river or a
/// level is no feed that a brief must have, for many gauges are forecast at high water only: a gap tells of it.
fn lacking_feeds(lake: &Lake, inputs: &[InputAge], named: &[Lacking]) -> Vec<LackingFeed> {
    let is_forecast = |input: &&InputAge| input.cadence == cadence_word(Cadence::Forecast);
    let mut found = Vec::new();
    for source in &lake.series {
        for forecast in [false, true] {
            let of = |id: &str| {
                let own = inputs.iter().filter(|i| i.series == id);
                own.filter(|i| is_forecast(i) == forecast).collect::<Vec<_>>()
            };
            let own = of(source.id.as_str());
            let serves = |i: &&InputAge| match i.age_h {
                Some(age_h) if !forecast => age_h <= GONE_AFTER_DAYS * 24.0,
                Some(_) => !i.late,
                None => false,
            };
            let served = lake
                .series_of(source.quantity, &source.place)
                .any(|s| of(s.id.as_str()).iter().any(serves));
            if own.is_empty() || served || is_named(source, forecast, named) {
                continue;
            }
            if forecast && is_of_rivers(source.quantity) {
                continue;
            }
            let ages = own.iter().filter_map(|i| i.age_h);
            found.push(LackingFeed {
                series: source.id.to_string(),
                forecast,
                age_h: ages.min_by(f64::total_cmp),
            });
        }
    }
    found
}

fn is_named(source: &SeriesSource, forecast: bool, named: &[Lacking]) -> bool {
    named.iter().any(|lacking| match lacking {
        Lacking::Level { .. } => source.quantity == Quantity::PoolElevation,
        Lacking::Wind { .. } => source.quantity == Quantity::WindSpeed && forecast,
        Lacking::Inflow { inflow, .. } => {
            source.quantity == Quantity::Inflow && source.place == SeriesPlace::Inflow(inflow.clone())
        }
        Lacking::Hypsography
        | Lacking::WaterTemperature
        | Lacking::OfficialAlerts
        | Lacking::Feeds { .. } => false,
    })
}

/// Whether forecasts of a quantity come from river forecasts, and not from those of the weather.
fn is_of_rivers(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::Inflow | Quantity::Release | Quantity::PoolElevation
    )
}

/// Age of the freshest series of a quantity, and whether even that one is late.
pub(super) struct Freshest {
    pub age_h: Option<f64>,
    pub late: bool,
}

pub(super) fn newest_age_h(
    lake: &Lake,
    inputs: &[InputAge],
    quantity: Quantity,
    place: &SeriesPlace,
    forecast: bool,
) -> Freshest {
    let of_series = |id: &str| {
        let own = inputs.iter().filter(|i| i.series == id && i.age_h.is_some());
        let own = own.filter(|i| (i.cadence == cadence_word(Cadence::Forecast)) == forecast);
        own.min_by(|a, b| older(a, b))
    };
    // A series in time may have an older value than another that has fallen silent.
    let freshest = lake
        .series_of(quantity, place)
        .filter_map(|source| of_series(source.id.as_str()))
        .min_by(|a, b| a.late.cmp(&b.late).then(older(a, b)));
    // An inflow that is computed from another gauge has no series here: it is not late of itself.
    Freshest {
        age_h: freshest.and_then(|f| f.age_h),
        late: freshest.is_some_and(|f| f.late),
    }
}

fn older(a: &InputAge, b: &InputAge) -> Ordering {
    let age_h = |input: &InputAge| input.age_h.unwrap_or(f64::INFINITY);
    age_h(a).total_cmp(&age_h(b))
}

/// Word of a cadence, as in [`InputAge::cadence`].
fn cadence_word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}
