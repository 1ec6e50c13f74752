//! The weather of the same days of past years, on the scale of today's, hour by hour.

use std::ops::Range;

use chrono::{DateTime, Datelike as _, Duration, Utc};

use super::ahead::{AllGathered, FIRST};
use super::forcing::record_of;
use super::join::DAYS_BRIDGED_S;
use super::past::{Gathered, Gatherer};
use super::seam::SeamScale;
use super::wanted::Wanted;
use super::window::{HOUR_S, Window};
use crate::clock::LakeClock;
use crate::column::forcing::{Site, SunOver, Weather, weather_steps};
use crate::lake::{Lake, SeriesId};
use crate::math::span_means::SpanRow;
use crate::series::SeriesSet;
use crate::series::parallel::{cores, in_parallel};

/// Share of a window that may be missing of a quantity; more, and the year is left out (project choice).
const MOST_MISSING_FRAC: f64 = 0.05;
/// Length from which a row is a day's and no hour's.
const LONG_S: f64 = 12.0 * HOUR_S;

/// A past year whose weather does not count, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Year of the window's beginning.
    pub year: i32,
    /// What was not known of it for more than a twentieth of the time; `None` where the window ends after the clock.
    pub lacking: Option<&'static str>,
}

/// Weather of the window in one past year.
pub(super) struct YearWeather {
    /// Year in which it begins.
    pub year: i32,
    /// Hour of the first whole standard day of the window.
    pub first_h: usize,
    /// Weather, shape `[hour]`.
    pub weather: Vec<Weather>,
    /// Whether a whole standard day has daily values of air or wind, shape `[day]`.
    pub is_daily: Vec<bool>,
}

impl YearWeather {
    /// Hours of a whole standard day.
    pub fn hours_of(&self, day: usize) -> Range<usize> {
        let from = self.first_h + 24 * day;
        from..from + 24
    }

    /// Hours of every whole standard day.
    pub fn days(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        (0..self.is_daily.len()).map(|day| self.hours_of(day))
    }
}

/// Scales of today's sources, quantity by quantity.
pub(super) struct Scales(Vec<(Wanted, Vec<(SeriesId, SeamScale)>)>);

impl Scales {
    /// Those of what was gathered for today. A quantity of one source alone is as it is, whatever the window holds of it.
    pub fn of(gatherer: &Gatherer<'_, '_>, all: &AllGathered<'_>) -> Scales {
        let gathered = [
            &all.air,
            &all.vapour,
            &all.wind,
            &all.direction,
            &all.sun,
            &all.longwave,
            &all.cloud,
            &all.pressure,
            &all.rain,
        ];
        let of = |gathered: &&Gathered<'_>| {
            let known = gathered.sources.iter();
            let mut scales: Vec<(SeriesId, SeamScale)> = known
                .filter_map(|past| Some((past.source.id.clone(), past.scale?)))
                .collect();
            if let ([], [only]) = (scales.as_slice(), gatherer.series(gathered.wanted).as_slice()) {
                scales.push((only.id.clone(), SeamScale::Same));
            }
            (gathered.wanted, scales)
        };
        Scales(gathered.iter().map(of).collect())
    }

    fn of_wanted(&self, wanted: Wanted) -> &[(SeriesId, SeamScale)] {
        let found = self.0.iter().find(|(other, _)| other.what == wanted.what);
        found.map_or(&[], |(_, scales)| scales)
    }
}

/// The same instant in another year; 29 February is the 28th there.
fn in_year(at: DateTime<Utc>, year: i32) -> Option<DateTime<Utc>> {
    at.with_year(year)
        .or_else(|| (at - Duration::days(1)).with_year(year))
}

/// The weather of `ahead`'s hours in every past year that the store has it of, the oldest first, and the years that were left out.
///
/// A year counts whose window had ended at the clock: nothing of what is to come is used.
pub(super) fn past_years(
    lake: &Lake,
    set: &SeriesSet,
    (ahead, site, clock): (&Window, Site, LakeClock),
    scales: &Scales,
) -> (Vec<YearWeather>, Vec<LeftOut>) {
    let (mut years, mut left_out) = (Vec::new(), Vec::new());
    let Some(first) = first_year(set, scales) else {
        return (years, left_out);
    };
    let length = Duration::hours(ahead.hours as i64);
    let windows: Vec<(i32, Window)> = (first..ahead.start.year())
        .filter_map(|year| {
            let start = in_year(ahead.start, year)?;
            Some((year, Window::new(start, start + length, &clock)?))
        })
        .collect();
    let found = in_parallel(cores(), &windows, |(_, window)| {
        let ended = window.end() <= set.as_of;
        ended.then(|| year_weather(lake, set, (window, site, clock), scales))
    });
    for ((year, _), found) in windows.iter().zip(found) {
        let year = *year;
        match found {
            Some(Ok(weather)) => years.push(YearWeather { year, ..weather }),
            // Before the first year that is known at all there is nothing to tell.
            Some(Err(_)) if years.is_empty() => {}
            Some(Err(lacking)) => left_out.push(LeftOut {
                year,
                lacking: Some(lacking),
            }),
            None => left_out.push(LeftOut { year, lacking: None }),
        }
    }
    (years, left_out)
}

/// First year with a value of the air.
fn first_year(set: &SeriesSet, scales: &Scales) -> Option<i32> {
    let air = scales.of_wanted(FIRST);
    let of_air = set
        .observations
        .iter()
        .filter(|(key, _)| air.iter().any(|(id, _)| *id == key.id));
    of_air
        .filter_map(|(_, rows)| Some(rows.first()?.time.year()))
        .min()
}

/// The weather of a window; the name of what is not known, where it is too much.
fn year_weather(
    lake: &Lake,
    set: &SeriesSet,
    (window, site, clock): (&Window, Site, LakeClock),
    scales: &Scales,
) -> Result<YearWeather, &'static str> {
    let sun = SunOver::new(site, window.steps());
    let mut gatherer = Gatherer {
        lake,
        set,
        clock,
        window,
        today: clock.standard_day(set.as_of),
        sun: &sun,
        notes: Vec::new(),
        gaps: Vec::new(),
        seams: Vec::new(),
    };
    let air = gatherer.gather_on(FIRST, scales.of_wanted(FIRST), &|_, _| None);
    let too_much = MOST_MISSING_FRAC * window.end_s();
    if gatherer.missing_s(&air) > too_much {
        return Err(FIRST.name);
    }
    let (all, record) = record_of(&mut gatherer, air, |gatherer, wanted, air| {
        gatherer.gather_on(wanted, scales.of_wanted(wanted), air)
    })
    .map_err(|_| "weather")?;
    for needed in [&all.vapour, &all.wind] {
        if gatherer.missing_s(needed) > too_much {
            return Err(needed.wanted.name);
        }
    }
    let light = [&all.sun, &all.cloud].map(|of| gatherer.missing_s(of));
    if light[0] > too_much && light[1] > too_much {
        return Err(all.sun.wanted.name);
    }
    let (weather, _) = weather_steps(&record, site, window.steps()).map_err(|_| "weather")?;
    let edges: Vec<f64> = window.day_edges_s.iter().copied().filter(|e| *e >= 0.0).collect();
    let first_h = edges.first().map_or(0, |e| (e / HOUR_S).round() as usize);
    let whole = edges.windows(2).filter(|pair| pair[1] <= window.end_s());
    let is_daily = whole.map(|pair| {
        [&all.air, &all.wind]
            .iter()
            .any(|of| has_day(&of.rows, (pair[0], pair[1])))
    });
    Ok(YearWeather {
        year: 0,
        first_h,
        is_daily: is_daily.collect(),
        weather,
    })
}

/// Whether a day holds a row of its own length, or a hole that is bridged as one.
fn has_day(rows: &[SpanRow], (from, to): (f64, f64)) -> bool {
    let at = rows.partition_point(|row| row.to <= from + 1.0);
    let mut reached = from;
    for row in rows[at..].iter().take_while(|row| row.from < to - 1.0) {
        if row.to - row.from >= LONG_S || row.from - reached > DAYS_BRIDGED_S / 12.0 {
            return true;
        }
        reached = row.to;
    }
    to - reached > DAYS_BRIDGED_S / 12.0
}
