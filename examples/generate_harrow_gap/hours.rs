//! The generator's clock: hours since 1985-01-01T00:00Z, and the days made of them.

use chrono::{DateTime, Datelike, Duration, NaiveDate, TimeZone, Timelike, Utc};

/// Longitude of the lake.
pub const LONGITUDE_DEG: f64 = -119.60;
/// Latitude of the lake.
pub const LATITUDE_DEG: f64 = 42.20;
/// Offset of local standard time from UTC.
pub const STANDARD_OFFSET_H: usize = 8;
/// Last instant of the weather truth, exclusive.
pub const END: Ymd = (2026, 4, 1);
/// First instant of the water truth (two years of spin-up before the first published day).
pub const WATER_START: Ymd = (2010, 1, 1);

/// A date as year, month, day, in the generator's tables.
pub type Ymd = (i32, u32, u32);

/// An instant from its date, midnight UTC.
pub fn midnight_utc(date: NaiveDate) -> DateTime<Utc> {
    Utc.from_utc_datetime(&date.and_time(chrono::NaiveTime::MIN))
}

/// A date from year, month, day; all dates of the generator are literals.
pub fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("the generator's dates are literals that exist")
}

/// The first hour of the record.
pub fn epoch() -> DateTime<Utc> {
    midnight_utc(date(1985, 1, 1))
}

/// Hour index of an instant (whole hours, rounded down).
pub fn hour_of(instant: DateTime<Utc>) -> usize {
    usize::try_from((instant - epoch()).num_hours()).expect("the generator asks for no hour before 1985")
}

/// Hour index of an hour of a UTC day.
pub fn hour_at(year: i32, month: u32, day: u32, hour: usize) -> usize {
    hour_of(midnight_utc(date(year, month, day))) + hour
}

/// Instant of an hour index.
pub fn instant_of(hour: usize) -> DateTime<Utc> {
    epoch() + Duration::hours(hour as i64)
}

/// First hour index of the local standard day `date`.
pub fn standard_day_start(date: NaiveDate) -> usize {
    hour_of(midnight_utc(date)) + STANDARD_OFFSET_H
}

/// Number of hours of the weather truth.
pub fn hours_in_all() -> usize {
    hour_of(midnight_utc(date(END.0, END.1, END.2)))
}

/// What sun and season need to know of an hour.
#[derive(Clone, Copy)]
pub struct Season {
    /// Day of the year at the middle of the hour, from 0.
    pub day_of_year: f64,
    /// Hour of local mean solar time at the middle of the hour.
    pub solar_hour: f64,
    /// Angle of the season, 0 on 14 January (coldest), radians.
    pub angle: f64,
    /// 0 in midwinter, 1 in midsummer.
    pub summer: f64,
    /// Month, January = 1.
    pub month: u32,
    /// Water year (begins on 1 October).
    pub water_year: i32,
}

/// Season and time of day of the hour that ends at `hour`.
pub fn season_of(hour: usize) -> Season {
    let instant = instant_of(hour) - Duration::minutes(30);
    let day_of_year = f64::from(instant.ordinal0())
        + (f64::from(instant.hour()) + f64::from(instant.minute()) / 60.0) / 24.0;
    let utc_hour = f64::from(instant.hour()) + f64::from(instant.minute()) / 60.0;
    let angle = 2.0 * std::f64::consts::PI * (day_of_year - 13.0) / 365.25;
    Season {
        day_of_year,
        solar_hour: (utc_hour + LONGITUDE_DEG / 15.0 + 48.0) % 24.0,
        angle,
        summer: 0.5 - 0.5 * libm::cos(angle),
        month: instant.month(),
        water_year: instant.year() + i32::from(instant.month() >= 10),
    }
}
