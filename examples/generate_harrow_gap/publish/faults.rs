//! The faults of the published series, by gauge and time. docs/demonstration-lake.md lists the same.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::gauges::Gauge;
use crate::hours::{Ymd, date, midnight_utc};

/// What is published instead of the reading.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Fault {
    /// No feature at all.
    Absent,
    /// A feature whose value is null, with a qualifier.
    Null(&'static str),
    /// The sentinel -999999, with a qualifier.
    Sentinel(&'static str),
    /// The reading, with a qualifier.
    Marked(&'static str),
    /// The reading of another instant, over and over.
    Stuck,
    /// The reading and something on top, in the gauge's unit.
    Plus(f64),
    /// The reading times a factor.
    Times(f64),
    /// The reading times a factor, with a qualifier, until it was revised.
    Revised(f64, &'static str),
}

type DailyRow = (Gauge, Ymd, Ymd, Fault);
type RevisedRow = (Gauge, Ymd, Ymd, Ymd, Fault);
type ContinuousRow = (Gauge, Ymd, i64, i64, Fault);

/// Faults of daily values that stay in the record: gauge, first day, last day, fault.
const DAILY: [DailyRow; 10] = [
    (Gauge::Surface, (2014, 2, 3), (2014, 2, 5), Fault::Absent),
    (Gauge::WicketFlow, (2016, 12, 10), (2016, 12, 12), Fault::Absent),
    (Gauge::Pool, (2018, 3, 9), (2018, 3, 9), Fault::Absent),
    (Gauge::Surface, (2019, 8, 17), (2019, 8, 18), Fault::Absent),
    (Gauge::SorrelTemp, (2021, 7, 4), (2021, 7, 6), Fault::Absent),
    (
        Gauge::WicketTemp,
        (2013, 6, 11),
        (2013, 6, 11),
        Fault::Sentinel("EQUIP"),
    ),
    (
        Gauge::WicketFlow,
        (2017, 1, 8),
        (2017, 1, 12),
        Fault::Marked("ESTIMATED"),
    ),
    (
        Gauge::Surface,
        (2022, 11, 20),
        (2022, 11, 21),
        Fault::Null("EQUIP"),
    ),
    (
        Gauge::SorrelFlow,
        (2023, 1, 10),
        (2023, 1, 14),
        Fault::Marked("ESTIMATED"),
    ),
    (Gauge::WicketTemp, (2026, 1, 3), (2026, 1, 17), Fault::Null("ICE")),
];

/// Provisional daily values that were revised later: gauge, days, the clock before which they stood so, fault.
const REVISED: [RevisedRow; 2] = [
    (
        Gauge::Release,
        (2025, 7, 10),
        (2025, 7, 19),
        (2025, 9, 1),
        Fault::Times(1.06),
    ),
    (
        Gauge::SorrelFlow,
        (2026, 1, 9),
        (2026, 1, 14),
        (2026, 2, 15),
        Fault::Revised(0.88, "ESTIMATED"),
    ),
];

/// The last day that the late storage feed has on the morning of 2025-10-09.
const LATE_STORAGE: (Ymd, Ymd) = ((2025, 10, 9), (2025, 10, 5));

/// Faults within the day: gauge, first instant (UTC), minutes to the last instant, fault.
const CONTINUOUS: [ContinuousRow; 12] = [
    // Seen on 2025-07-24.
    (Gauge::SorrelTemp, (2025, 7, 2), 22 * 60, 8 * 60, Fault::Absent),
    (Gauge::Pool, (2025, 7, 13), 9 * 60, 0, Fault::Plus(2.5)),
    (
        Gauge::WicketFlow,
        (2025, 7, 18),
        3 * 60,
        30,
        Fault::Sentinel("EQUIP"),
    ),
    // Seen on 2025-10-09.
    (
        Gauge::SorrelFlow,
        (2025, 9, 28),
        14 * 60 + 15,
        0,
        Fault::Times(20.0),
    ),
    (
        Gauge::SorrelTemp,
        (2025, 9, 11),
        5 * 60,
        17 * 60,
        Fault::Null("EQUIP"),
    ),
    (Gauge::Surface, (2025, 10, 3), 18 * 60, 30 * 60, Fault::Stuck),
    // Seen on 2026-01-17.
    (Gauge::Release, (2025, 12, 20), 8 * 60, 71 * 60, Fault::Absent),
    (
        Gauge::WicketTemp,
        (2026, 1, 3),
        8 * 60,
        24 * 60 * 15,
        Fault::Absent,
    ),
    (
        Gauge::WicketFlow,
        (2026, 1, 3),
        8 * 60,
        24 * 60 * 15,
        Fault::Marked("ESTIMATED"),
    ),
    // Seen on 2026-03-12.
    (Gauge::Surface, (2026, 2, 18), 13 * 60, 6 * 60, Fault::Absent),
    (Gauge::Pool, (2026, 3, 1), 4 * 60, 11 * 60, Fault::Absent),
    (
        Gauge::SorrelTurbidity,
        (2026, 3, 10),
        2 * 60,
        4 * 60,
        Fault::Sentinel("EQUIP"),
    ),
];

/// The fault of a daily value, as it stood at `known_at` (`None`: in the end).
pub fn daily_fault(gauge: Gauge, day: NaiveDate, known_at: Option<DateTime<Utc>>) -> Option<Fault> {
    let within = |from: Ymd, to: Ymd| (date(from.0, from.1, from.2)..=date(to.0, to.1, to.2)).contains(&day);
    if let Some(now) = known_at {
        let (morning, last) = LATE_STORAGE;
        let late = gauge == Gauge::Storage && now.date_naive() == date(morning.0, morning.1, morning.2);
        if late && day > date(last.0, last.1, last.2) {
            return Some(Fault::Absent);
        }
        let revised = REVISED.iter().find(|(g, from, to, until, _)| {
            *g == gauge && within(*from, *to) && now < midnight_utc(date(until.0, until.1, until.2))
        });
        if let Some((_, _, _, _, fault)) = revised {
            return Some(*fault);
        }
    }
    DAILY
        .iter()
        .find(|(g, from, to, _)| *g == gauge && within(*from, *to))
        .map(|(_, _, _, fault)| *fault)
}

/// The fault of a value within the day, and the instant whose reading a stuck sensor repeats.
pub fn continuous_fault(gauge: Gauge, instant: DateTime<Utc>) -> Option<(Fault, DateTime<Utc>)> {
    CONTINUOUS
        .iter()
        .filter(|row| row.0 == gauge)
        .find_map(|(_, day, from_min, length_min, fault)| {
            let from = midnight_utc(date(day.0, day.1, day.2)) + Duration::minutes(*from_min);
            let inside = instant >= from && instant <= from + Duration::minutes(*length_min);
            inside.then_some((*fault, from))
        })
}
