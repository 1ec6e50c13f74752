//! What of a morning is kept as its forecast.

use chrono::NaiveDate;

use crate::archive::{FORECAST_FORM, KeptDay, KeptForecast, KeptThermocline};
use crate::clock::LakeClock;
use crate::column::Water;
use crate::conditions::Conditions;
use crate::conditions::outlook::LevelProjection;
use crate::lake::Lake;
use crate::reports::Making;

/// Values are kept to a ten-thousandth of their unit: finer than any instrument, and short in a file.
const KEPT_STEPS: f64 = 1e4;

/// The forecast of a morning: what it says of days after that of its clock, member by member.
pub fn kept_forecast(
    lake: &Lake,
    (conditions, water): (&Conditions, &Water),
    making: &Making<'_>,
) -> KeptForecast {
    let clock = LakeClock::new(lake.time_zone);
    let as_of = conditions.as_of;
    let standard_day = clock.standard_day(as_of);
    let civil_day = clock.civil_day(as_of);
    let ahead = water.days_ahead.iter().filter(|day| day.date > standard_day);
    let projection = conditions.level_projection.as_ref();
    let gauged = projection.and_then(|p| p.gauged.as_ref());
    KeptForecast {
        form: FORECAST_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: lake.id.clone(),
        as_of,
        made_at: making.made_at,
        replayed: making.replayed,
        level_hour: projection
            .and_then(|p| p.outlook.days.first())
            .map(|day| clock.local(day.at).time()),
        level_newest_m: (conditions.pool.as_ref()).map(|pool| rounded(pool.elevation_m)),
        surface: ahead
            .clone()
            .map(|day| kept(day.date, &day.surface_degc))
            .collect(),
        thermocline: ahead
            .filter(|day| !day.thermocline_m.is_empty())
            .map(|day| KeptThermocline {
                date: day.date,
                members: day.thermocline_m.iter().flatten().map(|m| rounded(*m)).collect(),
                without: day.thermocline_m.iter().filter(|m| m.is_none()).count(),
            })
            .collect(),
        level: projection.map_or_else(Vec::new, |p| levels(p, civil_day)),
        gauged: gauged.map_or_else(Vec::new, |ahead| {
            let days = ahead.days.iter().filter(|(date, _)| *date > standard_day);
            days.map(|(date, members)| kept(*date, members)).collect()
        }),
        gauged_newest: gauged.map(|ahead| (ahead.newest_day, rounded(ahead.newest_m3s))),
    }
}

fn levels(projection: &LevelProjection, today: NaiveDate) -> Vec<KeptDay> {
    let days = projection.outlook.days.iter().zip(&projection.first_members_m);
    let ahead = days.filter(|(day, members)| day.date > today && !members.is_empty());
    ahead.map(|(day, members)| kept(day.date, members)).collect()
}

fn kept(date: NaiveDate, members: &[f64]) -> KeptDay {
    KeptDay {
        date,
        members: members.iter().map(|value| rounded(*value)).collect(),
    }
}

fn rounded(value: f64) -> f64 {
    (value * KEPT_STEPS).round() / KEPT_STEPS
}
