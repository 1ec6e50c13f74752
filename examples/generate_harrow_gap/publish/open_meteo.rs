//! Replies of the weather service: archive, forecast, ensemble.

use std::fmt::Write as _;

use chrono::NaiveDate;

use super::text::fixed;
use crate::forecast::{HORIZON_H, MEMBERS, MemberWeather, visibility_m};
use crate::hours::{hour_of, instant_of, midnight_utc};
use crate::weather::{ALTITUDE_M, Weather};

/// Hourly variables in the order of the requests: name, unit, decimals.
pub const HOURLY: [(&str, &str, usize); 9] = [
    ("temperature_2m", "°C", 1),
    ("dew_point_2m", "°C", 1),
    ("wind_speed_10m", "m/s", 2),
    ("wind_gusts_10m", "m/s", 1),
    ("wind_direction_10m", "°", 0),
    ("cloud_cover", "%", 0),
    ("surface_pressure", "hPa", 1),
    ("precipitation", "mm", 2),
    ("shortwave_radiation", "W/m²", 1),
];
/// Daily variables: name, unit, decimals.
pub const DAILY: [(&str, &str, usize); 8] = [
    ("temperature_2m_mean", "°C", 1),
    ("dew_point_2m_mean", "°C", 1),
    ("wind_speed_10m_mean", "m/s", 2),
    ("wind_gusts_10m_max", "m/s", 1),
    ("cloud_cover_mean", "%", 0),
    ("surface_pressure_mean", "hPa", 1),
    ("precipitation_sum", "mm", 2),
    ("shortwave_radiation_sum", "MJ/m²", 2),
];

/// Names joined as a request lists them.
pub fn names(variables: &[(&str, &str, usize)]) -> String {
    variables
        .iter()
        .map(|(name, _, _)| *name)
        .collect::<Vec<_>>()
        .join(",")
}

/// Value of variable `k` of [`HOURLY`] at an hour.
fn hourly_value(weather: &Weather, k: usize, hour: usize) -> f64 {
    match k {
        0 => weather.temp_degc[hour],
        1 => weather.dew_point_degc[hour],
        2 => weather.wind_m_s[hour],
        3 => weather.gust_m_s[hour],
        4 => weather.direction_deg[hour].round() % 360.0,
        5 => 100.0 * weather.cloud_frac[hour],
        6 => weather.pressure_hpa[hour],
        7 => rounded_rain(weather.rain_mm[hour]),
        _ => weather.shortwave_w_m2[hour],
    }
}

fn member_value(member: &MemberWeather, k: usize, step: usize) -> f64 {
    match k {
        0 => member.temp_degc[step],
        1 => member.dew_point_degc[step],
        2 => member.wind_m_s[step],
        3 => member.gust_m_s[step],
        4 => member.direction_deg[step].round() % 360.0,
        5 => 100.0 * member.cloud_frac[step],
        6 => member.pressure_hpa[step],
        7 => rounded_rain(member.rain_mm[step]),
        _ => member.shortwave_w_m2[step],
    }
}

/// Rain comes in steps of 0.1 mm.
fn rounded_rain(rain_mm: f64) -> f64 {
    (rain_mm * 10.0).round() / 10.0
}

/// A reply being written.
struct Reply {
    text: String,
}

impl Reply {
    fn begin() -> Reply {
        let text = format!(
            "{{\"latitude\":42.20738,\"longitude\":-119.59277,\"generationtime_ms\":1.25,\
             \"utc_offset_seconds\":0,\"timezone\":\"GMT\",\"timezone_abbreviation\":\"GMT\",\"elevation\":{ALTITUDE_M:.1}"
        );
        Reply { text }
    }

    fn units<'a>(&mut self, block: &str, units: impl Iterator<Item = (String, &'a str)>) {
        let _ = write!(self.text, ",\"{block}_units\":{{\"time\":\"iso8601\"");
        for (name, unit) in units {
            let _ = write!(self.text, ",\"{name}\":\"{unit}\"");
        }
        self.text.push('}');
    }

    fn open(&mut self, block: &str, times: impl Iterator<Item = String>) {
        let _ = write!(self.text, ",\"{block}\":{{\"time\":[");
        self.list(times.map(|time| format!("\"{time}\"")));
    }

    fn column(&mut self, name: &str, values: impl Iterator<Item = Option<String>>) {
        let _ = write!(self.text, ",\"{name}\":[");
        self.list(values.map(|value| value.unwrap_or_else(|| "null".to_owned())));
    }

    fn list(&mut self, items: impl Iterator<Item = String>) {
        for (k, item) in items.enumerate() {
            if k > 0 {
                self.text.push(',');
            }
            self.text.push_str(&item);
        }
        self.text.push(']');
    }

    fn end(mut self) -> Vec<u8> {
        self.text.push_str("}}");
        self.text.into_bytes()
    }
}

fn stamp(hour: usize) -> String {
    instant_of(hour).format("%Y-%m-%dT%H:%M").to_string()
}

/// Hourly archive of whole UTC days; nulls after `known_until` (an hour, exclusive).
pub fn archive_hourly(
    weather: &Weather,
    from: NaiveDate,
    to: NaiveDate,
    known_until: Option<usize>,
) -> Vec<u8> {
    let (first, end) = (hour_of(midnight_utc(from)), hour_of(midnight_utc(to)) + 24);
    let mut reply = Reply::begin();
    reply.units(
        "hourly",
        HOURLY.iter().map(|(name, unit, _)| ((*name).to_owned(), *unit)),
    );
    reply.open("hourly", (first..end).map(stamp));
    for (k, (name, _, decimals)) in HOURLY.iter().enumerate() {
        reply.column(
            name,
            (first..end).map(|hour| {
                let known = known_until.is_none_or(|until| hour < until);
                known.then(|| fixed(hourly_value(weather, k, hour), *decimals))
            }),
        );
    }
    reply.end()
}

/// Daily archive of whole UTC days, from the hourly values as published. The values of the hour that ends
/// at midnight belong to the day before it, as sums and maxima of the preceding hour do.
pub fn archive_daily(weather: &Weather, from: NaiveDate, to: NaiveDate) -> Vec<u8> {
    let days: Vec<NaiveDate> = from.iter_days().take_while(|day| *day <= to).collect();
    let mut reply = Reply::begin();
    reply.units(
        "daily",
        DAILY.iter().map(|(name, unit, _)| ((*name).to_owned(), *unit)),
    );
    reply.open("daily", days.iter().map(NaiveDate::to_string));
    for (k, (name, _, decimals)) in DAILY.iter().enumerate() {
        reply.column(
            name,
            days.iter().map(|day| {
                Some(fixed(
                    daily_value(weather, k, hour_of(midnight_utc(*day))),
                    *decimals,
                ))
            }),
        );
    }
    reply.end()
}

fn daily_value(weather: &Weather, k: usize, first: usize) -> f64 {
    let mean = |values: &[f64]| values[first..first + 24].iter().sum::<f64>() / 24.0;
    let preceding = |values: &[f64]| values[first + 1..first + 25].to_vec();
    match k {
        0 => mean(&weather.temp_degc),
        1 => mean(&weather.dew_point_degc),
        2 => mean(&weather.wind_m_s),
        3 => preceding(&weather.gust_m_s).into_iter().fold(0.0, f64::max),
        4 => 100.0 * mean(&weather.cloud_frac),
        5 => mean(&weather.pressure_hpa),
        6 => preceding(&weather.rain_mm).into_iter().map(rounded_rain).sum(),
        _ => preceding(&weather.shortwave_w_m2).into_iter().sum::<f64>() * 3600.0 / 1e6,
    }
}

/// The ensemble's reply: the control under the plain name, members behind it.
pub fn ensemble(members: &[MemberWeather], first: usize) -> Vec<u8> {
    let column = |name: &str, member: usize| {
        if member == 0 {
            name.to_owned()
        } else {
            format!("{name}_member{member:02}")
        }
    };
    let mut reply = Reply::begin();
    reply.units(
        "hourly",
        HOURLY
            .iter()
            .flat_map(|(name, unit, _)| (0..=MEMBERS).map(move |m| (column(name, m), *unit))),
    );
    reply.open("hourly", (first..first + HORIZON_H).map(stamp));
    for (k, (name, _, decimals)) in HOURLY.iter().enumerate() {
        // One decimal less than the archive where the archive has two: members differ by far more.
        let decimals = (*decimals).min(1);
        for (m, member) in members.iter().enumerate() {
            let values = (0..HORIZON_H).map(|step| {
                let decimals = if k == 8 { 0 } else { decimals };
                Some(fixed(member_value(member, k, step), decimals))
            });
            reply.column(&column(name, m), values);
        }
    }
    reply.end()
}

/// The plain forecast's reply: past hours as analysed, then the control, with visibility.
pub fn forecast(past: &Weather, control: &MemberWeather, first: usize, past_days: usize) -> Vec<u8> {
    let begin = first - 24 * past_days;
    let mut reply = Reply::begin();
    let units = HOURLY.iter().map(|(name, unit, _)| ((*name).to_owned(), *unit));
    reply.units("hourly", units.chain([("visibility".to_owned(), "m")]));
    reply.open("hourly", (begin..first + HORIZON_H).map(stamp));
    let at = |k: usize, hour: usize| {
        if hour < first {
            hourly_value(past, k, hour)
        } else {
            member_value(control, k, hour - first)
        }
    };
    for (k, (name, _, decimals)) in HOURLY.iter().enumerate() {
        reply.column(
            name,
            (begin..first + HORIZON_H).map(|hour| Some(fixed(at(k, hour), *decimals))),
        );
    }
    reply.column(
        "visibility",
        (begin..first + HORIZON_H).map(|hour| {
            let seen_m = visibility_m(at(0, hour), at(1, hour), at(2, hour), at(7, hour));
            Some(fixed((seen_m / 20.0).round() * 20.0, 1))
        }),
    );
    reply.end()
}
