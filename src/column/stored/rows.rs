//! Readings made into means over spans: hours, or the steps of a series that has longer ones.

use super::window::{HOUR_S, Window};
use crate::math::span_means::SpanRow;
use crate::quantity::Quantity;
use crate::series::{Flag, Observation};

/// Longest time between two instants over which a straight line stands for the quantity, and the longest gap that is filled so
/// (project choice, as for water temperature: no front passes unseen in six hours, or at least seldom).
pub(super) const BRIDGED_S: f64 = 6.0 * HOUR_S;
/// Share of an hour that must be covered for its mean.
const COVERED_FRAC: f64 = 0.75;
/// Time before and after the window whose readings shape its ends.
const MARGIN_S: f64 = 86_400.0;

/// What a reading stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    /// For its instant.
    Instant,
    /// For the mean of the step that ends at its stamp.
    StepMean,
    /// For the sum of that step.
    StepSum,
}

impl Stands {
    /// The manner of a quantity, as the services of weather stamp them: radiation and rain belong to the step before their
    /// stamp, all else to the instant.
    pub fn of(quantity: Quantity) -> Stands {
        match quantity {
            Quantity::Precipitation => Stands::StepSum,
            Quantity::Shortwave | Quantity::Longwave => Stands::StepMean,
            _ => Stands::Instant,
        }
    }
}

/// A reading: s since the start of the window, and value.
pub(super) type Point = (f64, f64);

/// Readings of one quality, in order of time, one an instant (the last that came): those of the window, a day before it, and
/// a day after. `believed` says what is no value at all, and counts.
pub(super) fn points(
    rows: &[Observation],
    window: &Window,
    wanted: impl Fn(Flag) -> bool,
    mut believed: impl FnMut(f64) -> bool,
) -> Vec<Point> {
    let (first_s, last_s) = (-MARGIN_S, window.end_s() + MARGIN_S);
    let from = window.instant(first_s);
    // A second more than the margin, for instants between milliseconds; what follows looks closely.
    let until = window.instant(last_s + 1.0);
    // Rows in order need no look at those before or after the window.
    let rows = if rows.is_sorted_by_key(|row| row.time) {
        let after = rows.partition_point(|row| row.time < until);
        &rows[rows[..after].partition_point(|row| row.time < from)..after]
    } else {
        rows
    };
    let mut points: Vec<Point> = rows
        .iter()
        .filter(|row| wanted(row.flag))
        .filter_map(|row| Some((window.seconds(row.time), row.value.filter(|v| v.is_finite())?)))
        .filter(|(at, _)| (first_s..=last_s).contains(at))
        .filter(|(_, value)| believed(*value))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    points.reverse();
    points.dedup_by_key(|point| point.0);
    points.reverse();
    points
}

/// Means over spans of what the points stand for, in order of time and apart.
pub(super) fn means(points: &[Point], stands: Stands) -> Vec<SpanRow> {
    match stands {
        Stands::Instant => hours_between(points),
        Stands::StepMean => steps_before(points, |value, _| value),
        Stands::StepSum => steps_before(points, |value, step_s| value / step_s),
    }
}

/// Means of the hours under straight lines between instants at most six hours apart.
fn hours_between(points: &[Point]) -> Vec<SpanRow> {
    let mut hours = Hours::default();
    for pair in points.windows(2) {
        let ((from, before), (to, after)) = (pair[0], pair[1]);
        if to - from > BRIDGED_S + 1.0 {
            continue;
        }
        let slope = (after - before) / (to - from);
        let mut at = from;
        while at < to {
            let end = (((at / HOUR_S).floor() + 1.0) * HOUR_S).min(to);
            hours.add(at, end, before + slope * (0.5 * (at + end) - from));
            at = end;
        }
    }
    hours.rows()
}

/// Steps that end at the stamps: as long as the time since the stamp before, but no longer than the usual step. Those of at
/// most an hour are gathered into hours; longer ones stay as they are.
fn steps_before(points: &[Point], mean: impl Fn(f64, f64) -> f64) -> Vec<SpanRow> {
    let Some(usual_s) = usual_step_s(points) else {
        return Vec::new();
    };
    let (mut hours, mut long) = (Hours::default(), Vec::new());
    for (k, &(to, value)) in points.iter().enumerate() {
        let before = k.checked_sub(1).map_or(f64::NEG_INFINITY, |b| points[b].0);
        let from = before.max(to - usual_s);
        // The figure is of the whole usual step, also where a stray stamp cuts it.
        let value = mean(value, usual_s.min(to - from));
        if to - from > HOUR_S + 1.0 {
            long.push(SpanRow {
                from,
                to,
                value: Some(value),
            });
            continue;
        }
        let mut at = from;
        while at < to {
            let end = (((at / HOUR_S).floor() + 1.0) * HOUR_S).min(to);
            hours.add(at, end, value);
            at = end;
        }
    }
    let mut rows = hours.rows();
    rows.retain(|hour| {
        let next = long.partition_point(|span: &SpanRow| span.to <= hour.from);
        long.get(next).is_none_or(|span| span.from >= hour.to)
    });
    rows.extend(long);
    rows.sort_by(|a, b| a.from.total_cmp(&b.from));
    rows
}

/// Median distance of the stamps, at most a day; `None` for fewer than two.
fn usual_step_s(points: &[Point]) -> Option<f64> {
    let mut apart: Vec<f64> = points.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    apart.sort_by(f64::total_cmp);
    Some(apart.get(apart.len() / 2)?.min(86_400.0))
}

/// Directions of the hours between instants at most six hours apart, degrees: of the mean of unit vectors, since the speed at
/// those instants stands in another series.
pub(super) fn direction_hours(points: &[Point]) -> Vec<SpanRow> {
    let part = |of: fn(f64) -> f64| -> Vec<SpanRow> {
        let parts: Vec<Point> = points
            .iter()
            .map(|&(at, deg)| (at, of(deg.to_radians())))
            .collect();
        hours_between(&parts)
    };
    let (east, north) = (part(f64::sin), part(f64::cos));
    let pairs = east.iter().zip(&north);
    let direction = |(east, north): (&SpanRow, &SpanRow)| {
        let (e, n) = (east.value?, north.value?);
        // Opposite directions either side of an hour tell none.
        let known = e.hypot(n) > 1e-9;
        known.then(|| SpanRow {
            value: Some(e.atan2(n).to_degrees().rem_euclid(360.0)),
            ..*east
        })
    };
    pairs.filter_map(direction).collect()
}

/// Sums by hour, in order of time.
#[derive(Default)]
struct Hours {
    /// Hour since the start, integral, covered time.
    sums: Vec<(f64, f64, f64)>,
}

impl Hours {
    /// Adds a stretch inside one hour.
    fn add(&mut self, from: f64, to: f64, mean: f64) {
        let hour = (0.5 * (from + to) / HOUR_S).floor();
        if self.sums.last().is_none_or(|last| last.0 != hour) {
            self.sums.push((hour, 0.0, 0.0));
        }
        if let Some(last) = self.sums.last_mut() {
            last.1 += mean * (to - from);
            last.2 += to - from;
        }
    }

    fn rows(self) -> Vec<SpanRow> {
        let covered = self.sums.into_iter().filter(|s| s.2 >= COVERED_FRAC * HOUR_S);
        covered
            .map(|(hour, integral, time_s)| SpanRow {
                from: hour * HOUR_S,
                to: (hour + 1.0) * HOUR_S,
                value: Some(integral / time_s),
            })
            .collect()
    }
}

/// Daily values of the window's days as spans, with the day's place; a day counts when it is over. Sums become rates.
pub(super) fn days(
    rows: &[Observation],
    window: &Window,
    stands: Stands,
    wanted: impl Fn(Flag) -> bool,
    mut believed: impl FnMut(f64) -> bool,
    clock: &crate::clock::LakeClock,
) -> Vec<Option<f64>> {
    let mut values = vec![None; window.days()];
    // No day of the window begins outside; the calendar is not asked for each day of forty years.
    let near = window.start - chrono::Duration::days(2)..window.end() + chrono::Duration::days(2);
    for row in rows
        .iter()
        .filter(|row| near.contains(&row.time) && wanted(row.flag))
    {
        let Some(value) = row.value.filter(|v| v.is_finite()) else {
            continue;
        };
        let Some(day) = window.day(clock.standard_day(row.time)) else {
            continue;
        };
        let length_s = window.day_edges_s[day + 1] - window.day_edges_s[day];
        let value = match stands {
            Stands::StepSum => value / length_s,
            _ => value,
        };
        if believed(value) {
            values[day] = Some(value);
        }
    }
    values
}
