//! Age and quality of every input.

use chrono::{DateTime, Duration, Utc};

use super::InputAge;
use super::morning::Morning;
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Approval, Flag, Observation};

/// Ages that count as late where the lake file gives none, by cadence (project choices, no source): a
/// sub-daily gauge reports every hour or so; a daily value appears the morning after its day, stamped
/// with the beginning of that day; a weather forecast is issued every six hours, a river forecast once or twice a day
/// and then used as long.
const LATE_CONTINUOUS_H: f64 = 6.0;
const LATE_DAILY_H: f64 = 60.0;
const LATE_FORECAST_H: f64 = 12.0;
const LATE_RIVER_FORECAST_H: f64 = 48.0;

/// Window of the counts of refused, suspect and provisional values.
const COUNTED_DAYS: i64 = 60;

/// Age at which the newest value of `source` at `cadence` counts as late.
///
/// `late_after_h` of the lake file is meant for the finest cadence that the series has; coarser ones, and
/// series without it, have the project's 6 h (continuous), 60 h (daily) and 12 h (forecast; 48 h of an inflow).
pub fn allowed_age_h(source: &SeriesSource, cadence: Cadence) -> f64 {
    let finest = [Cadence::Continuous, Cadence::Daily, Cadence::Forecast]
        .into_iter()
        .find(|c| source.cadences.contains(c));
    match (source.late_after_h, cadence) {
        (Some(stated_h), _) if finest == Some(cadence) => stated_h,
        (_, Cadence::Continuous) => LATE_CONTINUOUS_H,
        (_, Cadence::Daily) => LATE_DAILY_H,
        (_, Cadence::Forecast) if source.quantity == Quantity::Inflow => LATE_RIVER_FORECAST_H,
        (_, Cadence::Forecast) => LATE_FORECAST_H,
    }
}

/// One entry for each series and cadence of the lake file, in its order.
pub(super) fn input_ages(morning: &Morning) -> Vec<InputAge> {
    let sources = morning.lake.series.iter();
    sources
        .flat_map(|s| s.cadences.iter().map(move |c| input_age(morning, s, *c)))
        .collect()
}

fn input_age(morning: &Morning, source: &SeriesSource, cadence: Cadence) -> InputAge {
    let rows = morning.set.observations(&source.id, cadence);
    let newest = match cadence {
        Cadence::Forecast => morning.set.forecast(&source.id).map(|f| f.issued_at),
        Cadence::Daily | Cadence::Continuous => rows
            .iter()
            .filter(|o| o.value.is_some() && o.flag != Flag::Fail)
            .map(|o| o.time)
            .max(),
    };
    let ended = cadence == Cadence::Daily && source.daily_until.is_some_and(|d| d < morning.today);
    let late_after_h = (!ended).then(|| allowed_age_h(source, cadence));
    let age_h = newest.map(|t| morning.age_h(t));
    let late = match (age_h, late_after_h) {
        (Some(age_h), Some(late_after_h)) => age_h > late_after_h,
        (Some(_), None) => false,
        (None, _) => true,
    };
    let recent: Vec<&Observation> = rows
        .iter()
        .filter(|o| o.time > morning.set.as_of - Duration::days(COUNTED_DAYS))
        .collect();
    let count = |flag| recent.iter().filter(|o| o.flag == flag).count();
    let valued = recent.iter().filter(|o| o.value.is_some()).count();
    let provisional = recent
        .iter()
        .filter(|o| o.value.is_some() && o.approval == Approval::Provisional)
        .count();
    InputAge {
        series: source.id.to_string(),
        quantity: source.quantity,
        place: source.place.clone(),
        cadence: cadence_word(cadence).to_owned(),
        service: source.service.clone(),
        station: source.station.clone(),
        newest,
        age_h,
        late_after_h,
        late,
        worst_flag_24h: newest.and_then(|t| worst_flag_since(rows, t - Duration::hours(24))),
        refused_60d: count(Flag::Fail),
        suspect_60d: count(Flag::Suspect),
        provisional_60d_frac: (valued > 0).then(|| provisional as f64 / valued as f64),
    }
}

fn cadence_word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}

/// Worst flag of the rows after `since`, those after the newest value too: a sensor that has begun to
/// fail must not look well because its last good value was.
fn worst_flag_since(rows: &[Observation], since: DateTime<Utc>) -> Option<Flag> {
    let severity = |flag: Flag| match flag {
        Flag::Fail => 4,
        Flag::Missing => 3,
        Flag::Suspect => 2,
        Flag::NotEvaluated => 1,
        Flag::Pass => 0,
    };
    rows.iter()
        .filter(|o| o.time > since)
        .map(|o| o.flag)
        .max_by_key(|f| severity(*f))
}
