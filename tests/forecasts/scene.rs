//! An invented lake surface of seven years, and archives of forecasts of it whose quality is known.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use plungeline::archive::{FORECAST_FORM, KeptDay, KeptForecast};
use plungeline::clock::LakeClock;
use plungeline::conditions::ObservedDays;
use plungeline::math::streams::{normal, stream};
use plungeline::reports::forecasts::{
    ForecastOf, ForecastParts, ForecastSkill, VariableSkill, forecast_skill,
};
use plungeline::series::Daily;

use crate::trips::scene::lake;

/// Error of the sensor: that which is added to members of surface temperature (`docs/methods.md`).
pub const SENSOR_DEGC: f64 = 0.4;
const YEARS: usize = 7;
pub const MORNINGS: u64 = 364;
const MEMBERS: usize = 24;

pub fn clock() -> LakeClock {
    LakeClock::new(lake().time_zone)
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

pub fn first() -> NaiveDate {
    day("2018-01-01")
}

/// Clock of the page: the morning after the last day of the record.
pub fn page_clock() -> DateTime<Utc> {
    issue(first() + Days::new(YEARS as u64 * 365))
}

/// 04:30 at the lake.
pub fn issue(day: NaiveDate) -> DateTime<Utc> {
    clock().instant(day.and_time(NaiveTime::from_hms_opt(4, 30, 0).expect("an hour")))
}

/// What the surface was: a season of 10 degC either way of 13, and a departure of 1.5 degC that keeps 0.85 of itself from day to day.
pub fn truth() -> Daily {
    let mut numbers = stream(1, "truth");
    let mut departure = 0.0;
    let value = (0..YEARS * 365).map(|i| {
        departure = 0.85 * departure + 1.5 * (1.0f64 - 0.85 * 0.85).sqrt() * normal(&mut numbers);
        let turn = std::f64::consts::TAU * (i as f64 - 30.0) / 365.25;
        Some(13.0 - 10.0 * turn.cos() + departure)
    });
    Daily::new(first(), value.collect())
}

/// What a sensor made of it.
pub fn record(truth: &Daily) -> Daily {
    let mut numbers = stream(2, "sensor");
    let read = |v: &Option<f64>| v.map(|v| v + SENSOR_DEGC * normal(&mut numbers));
    Daily::new(truth.first, truth.value.iter().map(read).collect())
}

pub fn observed(record: &Daily) -> ObservedDays {
    ObservedDays {
        surface: Some((record.clone(), "surface-buoy".to_owned())),
        level: None,
        gauged: None,
        profiles: Vec::new(),
    }
}

/// A forecast of the surface made on `day` in time.
pub fn forecast(day: NaiveDate, surface: Vec<KeptDay>) -> KeptForecast {
    KeptForecast {
        form: FORECAST_FORM.to_owned(),
        version: "0".to_owned(),
        lake: "harrow-gap".to_owned(),
        as_of: issue(day),
        made_at: issue(day),
        replayed: false,
        level_hour: None,
        level_newest_m: None,
        surface,
        thermocline: Vec::new(),
        level: Vec::new(),
        gauged: Vec::new(),
        gauged_newest: None,
    }
}

/// A forecast a morning of the last year, up to `leads` days ahead. `of` gives, from the morning, the truth and two standard normal numbers
/// drawn (one for the whole forecast of a day, one for the member), the member's value.
pub fn archive(truth: &Daily, leads: u64, of: impl Fn(NaiveDate, f64, f64, f64) -> f64) -> Vec<KeptForecast> {
    let last = truth.last().expect("days");
    let mornings = (1..=MORNINGS).rev().map(|ago| last - Days::new(ago));
    let surface = |morning: NaiveDate| {
        let day_of = |lead: u64| {
            let date = morning + Days::new(lead);
            let value = truth.get(date)?;
            let mut numbers = stream(3, &format!("{morning}/{date}"));
            let whole = normal(&mut numbers);
            let members = (0..MEMBERS).map(|_| of(morning, value, whole, normal(&mut numbers)));
            Some(KeptDay {
                date,
                members: members.collect(),
            })
        };
        (1..=leads).filter_map(day_of).collect()
    };
    mornings
        .map(|morning| forecast(morning, surface(morning)))
        .collect()
}

/// The page's part on forecasts.
pub fn skill(forecasts: &[KeptForecast], record: &Daily) -> ForecastSkill {
    forecast_skill(&ForecastParts {
        lake: lake(),
        as_of: page_clock(),
        forecasts,
        outlooks: &[],
        unreadable: 0,
        observed: &observed(record),
        turnovers: &[],
        with_replayed: false,
        invented: false,
    })
    .expect("finite figures")
}

pub fn surface(skill: &ForecastSkill) -> &VariableSkill {
    let of = skill.variables.iter().find(|v| v.of == ForecastOf::SurfaceTemp);
    of.expect("the surface is among them")
}
