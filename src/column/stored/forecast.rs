//! Which forecast of a quantity to take, how it reads, what its members say.

use super::rows::{BRIDGED_S, Point, Stands, direction_hours, means};
use super::seam::SeamScale;
use super::window::Window;
use crate::conditions::allowed_age_h;
use crate::lake::{Cadence, SeriesId, SeriesSource};
use crate::math::span_means::SpanRow;
use crate::quantity::Quantity;
use crate::series::{ForecastBatch, Member, SeriesSet};

/// A forecast, and how it reads against the base of the past.
#[derive(Clone, Copy)]
pub(super) struct Issued<'a> {
    pub source: &'a SeriesSource,
    pub batch: &'a ForecastBatch,
    pub scale: SeamScale,
}

/// The forecast to take: the base's own, else in the order of the file; of these the first that is not late, else the first.
/// One without any step at or after the clock tells nothing.
pub(super) fn to_take<'a>(
    set: &'a SeriesSet,
    sources: &[&'a SeriesSource],
    base: Option<&SeriesId>,
) -> Option<(&'a SeriesSource, &'a ForecastBatch)> {
    let own = sources.iter().filter(|s| Some(&s.id) == base);
    let mut found = own
        .chain(sources)
        .filter_map(|source| Some((*source, set.forecast(&source.id)?)))
        .filter(|(_, batch)| batch.time.last().is_some_and(|last| *last > set.as_of));
    let in_time = |(source, batch): &(&SeriesSource, &ForecastBatch)| {
        let age_h = (set.as_of - batch.issued_at).num_seconds() as f64 / 3600.0;
        age_h <= allowed_age_h(source, Cadence::Forecast)
    };
    found.clone().find(in_time).or_else(|| found.next())
}

/// Mean over the members of a step, of directions that of unit vectors; `None` where none has a value.
fn mean_of_members(batch: &ForecastBatch, step: usize, quantity: Quantity) -> Option<f64> {
    let values = batch
        .value
        .iter()
        .filter_map(|member| member.get(step).copied().flatten());
    let values: Vec<f64> = values.filter(|v| v.is_finite()).collect();
    if quantity == Quantity::WindDirection {
        let sum = |part: fn(f64) -> f64| values.iter().map(|deg| part(deg.to_radians())).sum::<f64>();
        let (east, north) = (sum(f64::sin), sum(f64::cos));
        let known = east.hypot(north) > 1e-9 * values.len().max(1) as f64;
        return known.then(|| east.atan2(north).to_degrees().rem_euclid(360.0));
    }
    crate::math::quantiles::mean(&values)
}

/// Spans of points of a quantity.
fn spans(points: &[Point], quantity: Quantity) -> Vec<SpanRow> {
    match quantity {
        Quantity::WindDirection => direction_hours(points),
        _ => means(points, Stands::of(quantity)),
    }
}

/// The hours that have passed of the forecasts of a series, means over members; where runs overlap the later one's.
pub(super) fn passed(
    set: &SeriesSet,
    (source, batch): (&SeriesSource, &ForecastBatch),
    window: &Window,
    limits: (f64, f64),
) -> Vec<SpanRow> {
    let mut points: Vec<Point> = Vec::new();
    for run in set.earlier_runs(&source.id).iter().chain([batch]) {
        let (Some(first), Some(_)) = (run.time.first(), run.time.last()) else {
            continue;
        };
        let first_s = window.seconds(*first);
        points.truncate(points.partition_point(|point| point.0 < first_s));
        for (step, time) in run.time.iter().enumerate() {
            let at_s = window.seconds(*time);
            if *time > set.as_of || at_s < -86_400.0 {
                continue;
            }
            let value = mean_of_members(run, step, source.quantity);
            points.extend(
                value
                    .filter(|v| is_within(source.quantity, *v, limits))
                    .map(|v| (at_s, v)),
            );
        }
    }
    spans(&points, source.quantity)
}

/// A sum's limits are of a second; half a metre in a step is none.
fn is_within(quantity: Quantity, value: f64, (low, high): (f64, f64)) -> bool {
    match Stands::of(quantity) {
        Stands::StepSum => (-1e-6..=0.5).contains(&value),
        _ => (low..=high).contains(&value),
    }
}

/// Spans of one member over the window, the mean of the members where it lacks a value; `None` where it has nothing.
pub(super) fn member_spans(
    batch: &ForecastBatch,
    quantity: Quantity,
    member: usize,
    window: &Window,
    limits: (f64, f64),
) -> Vec<SpanRow> {
    let own = batch.value.get(member);
    let (first_s, last_s) = (-86_400.0, window.end_s() + BRIDGED_S);
    let steps = batch.time.iter().enumerate();
    let points: Vec<Point> = steps
        .map(|(step, time)| (step, window.seconds(*time)))
        .filter(|(_, at_s)| (first_s..=last_s).contains(at_s))
        .filter_map(|(step, at_s)| {
            let value = own.and_then(|own| own.get(step).copied().flatten());
            let value = value.filter(|v| v.is_finite() && is_within(quantity, *v, limits));
            Some((at_s, value.or_else(|| mean_of_members(batch, step, quantity))?))
        })
        .collect();
    spans(&points, quantity)
}

/// Place of a member in a batch: that of the same number where the batch has it, else by turns.
pub(super) fn place_of(batch: &ForecastBatch, number: Member, by_turns: usize) -> usize {
    let own = batch.members.iter().position(|member| *member == number);
    own.unwrap_or(by_turns % batch.members.len().max(1))
}
