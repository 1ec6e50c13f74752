//! Where an axis is marked, and with which words.

use chrono::{Datelike, NaiveDate};

use super::panel::{Axis, AxisKind};

/// A mark of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Place on the axis.
    pub at: f64,
    /// Words.
    pub label: String,
    /// A second line of words: the year beneath the month; else empty.
    pub beneath: String,
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Marks of an axis, about `most` of them and no more.
pub fn ticks(axis: &Axis, most: usize) -> Vec<Tick> {
    let (least, greatest) = (axis.from.min(axis.to), axis.from.max(axis.to));
    if !(least.is_finite() && greatest.is_finite()) || greatest <= least || most == 0 {
        return Vec::new();
    }
    match axis.kind {
        AxisKind::Number => numbers(least, greatest, most),
        AxisKind::NumberWithComma => {
            let mut found = numbers(least, greatest, most);
            found
                .iter_mut()
                .for_each(|tick| tick.label = tick.label.replace('.', ","));
            found
        }
        AxisKind::Day => days(least, greatest, most),
    }
}

/// The least of 1, 2 or 5 times a power of ten that parts a range into no more than `most` steps.
pub(super) fn round_step((from, to): (f64, f64), most: usize) -> f64 {
    let rough = (to - from) / most as f64;
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * power)
        .find(|s| *s >= rough * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// Multiples of 1, 2 or 5 times a power of ten.
fn numbers(from: f64, to: f64, most: usize) -> Vec<Tick> {
    let step = round_step((from, to), most);
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    let first = (from / step - 1e-9).ceil() as i64;
    let last = (to / step + 1e-9).floor() as i64;
    (first..=last)
        .map(|i| i as f64 * step)
        .map(|at| Tick {
            at,
            label: format!("{at:.decimals$}"),
            beneath: String::new(),
        })
        .collect()
}

/// Months from how many of which on a mark is set.
const MONTH_STEPS: [u32; 5] = [1, 2, 3, 4, 6];
/// Years between marks.
const YEAR_STEPS: [i32; 6] = [1, 2, 5, 10, 20, 50];

/// First days of months, or of years.
fn days(from: f64, to: f64, most: usize) -> Vec<Tick> {
    let date = |ce: f64| NaiveDate::from_num_days_from_ce_opt(ce.floor() as i32);
    let (Some(first), Some(last)) = (date(from), date(to)) else {
        return Vec::new();
    };
    let firsts = (first.year()..=last.year())
        .flat_map(|year| (1..=12).filter_map(move |month| NaiveDate::from_ymd_opt(year, month, 1)));
    let all: Vec<NaiveDate> = firsts
        .filter(|d| (from..=to).contains(&f64::from(d.num_days_from_ce())))
        .collect();
    for step in MONTH_STEPS {
        let some: Vec<NaiveDate> = all.iter().copied().filter(|d| d.month0() % step == 0).collect();
        if some.len() <= most {
            return months(&some);
        }
    }
    for step in YEAR_STEPS {
        let some = || all.iter().filter(|d| d.month() == 1 && d.year() % step == 0);
        if some().count() <= most {
            let tick = |d: &NaiveDate| Tick {
                at: f64::from(d.num_days_from_ce()),
                label: d.year().to_string(),
                beneath: String::new(),
            };
            return some().map(tick).collect();
        }
    }
    Vec::new()
}

/// Months with the year beneath the first of each year.
fn months(days: &[NaiveDate]) -> Vec<Tick> {
    let mut year = None;
    days.iter()
        .map(|d| {
            let new = year != Some(d.year());
            year = Some(d.year());
            Tick {
                at: f64::from(d.num_days_from_ce()),
                label: MONTHS[d.month0() as usize].to_owned(),
                beneath: if new { d.year().to_string() } else { String::new() },
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axis(kind: AxisKind, from: f64, to: f64) -> Axis {
        Axis {
            label: String::new(),
            kind,
            from,
            to,
        }
    }

    fn labels(ticks: &[Tick]) -> Vec<&str> {
        ticks.iter().map(|t| t.label.as_str()).collect()
    }

    #[test]
    fn numbers_are_marked_at_ones_twos_and_fives() {
        let found = ticks(&axis(AxisKind::Number, 0.0, 42.0), 5);
        assert_eq!(labels(&found), ["0", "10", "20", "30", "40"]);
        let found = ticks(&axis(AxisKind::Number, 1.0, 0.0), 5);
        assert_eq!(labels(&found), ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
        let labels = |kind| ticks(&axis(kind, 0.0, 1.0), 2).into_iter().map(|tick| tick.label);
        assert_eq!(
            labels(AxisKind::Number).collect::<Vec<_>>(),
            ["0.0", "0.5", "1.0"]
        );
        assert_eq!(
            labels(AxisKind::NumberWithComma).collect::<Vec<_>>(),
            ["0,0", "0,5", "1,0"]
        );
        assert!(ticks(&axis(AxisKind::Number, 3.0, 3.0), 5).is_empty());
        assert!(ticks(&axis(AxisKind::Number, f64::NAN, 3.0), 5).is_empty());
    }

    #[test]
    fn days_are_marked_at_months_and_long_records_at_years() {
        let ce = |y, m, d| f64::from(NaiveDate::from_ymd_opt(y, m, d).unwrap().num_days_from_ce());
        let found = ticks(&axis(AxisKind::Day, ce(2019, 11, 10), ce(2020, 3, 5)), 12);
        assert_eq!(labels(&found), ["Dec", "Jan", "Feb", "Mar"]);
        assert_eq!(found[0].beneath, "2019");
        assert_eq!(
            (found[1].beneath.as_str(), found[2].beneath.as_str()),
            ("2020", "")
        );
        let found = ticks(&axis(AxisKind::Day, ce(1981, 4, 6), ce(2015, 9, 1)), 12);
        assert_eq!(
            labels(&found),
            ["1985", "1990", "1995", "2000", "2005", "2010", "2015"]
        );
    }
}
