//! The sources of a quantity that have a past, the base among them, and their scale against it.

use super::note::StoredNote;
use super::rows::{Point, Stands, days, direction_hours, means, points};
use super::seam::{Scaling, SeamScale, StoredSeam};
use super::window::{HOUR_S, Window};
use crate::clock::LakeClock;
use crate::conditions::seam::{BIAS_DAYS, BIAS_FEWEST_DAYS, SeamBasis, SeamPart};
use crate::lake::{Cadence, SeriesSource};
use crate::math::span_means::SpanRow;
use crate::quantity::Quantity;
use crate::series::{Flag, SeriesSet};

/// Hours that a day needs for its mean, or two sources must have in common on it (as for a daily mean).
const DAY_H: usize = 18;
/// Days back over which a factor is learned (project choice: the wind of a month is too few storms).
const FACTOR_DAYS: usize = 365;
/// Share of the window's days from which a station carries it alone.
const ALONE_FRAC: f64 = 0.9;

/// One source with a past.
pub(super) struct Past<'a> {
    pub source: &'a SeriesSource,
    /// Means of hours or longer steps, of readings that passed.
    pub spans: Vec<SpanRow>,
    /// Daily values that passed. Shape `[day]`.
    pub days: Vec<Option<f64>>,
    /// The same of suspect readings too; empty where there are none.
    pub suspect_spans: Vec<SpanRow>,
    pub suspect_days: Vec<Option<f64>>,
    /// How it reads against the base; `None` where that is not known, and it is not used.
    pub scale: Option<SeamScale>,
}

/// What is read of a source, and how.
#[derive(Clone, Copy)]
pub(super) struct Reading<'w> {
    pub set: &'w SeriesSet,
    pub clock: &'w LakeClock,
    pub window: &'w Window,
    /// Values outside are none; of a sum they are of a second.
    pub limits: (f64, f64),
}

impl<'a> Past<'a> {
    /// The past of a source in the window; `None` where it has nothing there.
    pub fn read(
        source: &'a SeriesSource,
        reading: Reading<'_>,
        notes: &mut Vec<StoredNote>,
    ) -> Option<Past<'a>> {
        let stands = Stands::of(source.quantity);
        let (low, high) = reading.limits;
        let mut unbelieved = 0;
        let mut believed = |value: f64| {
            let is = (low..=high).contains(&value);
            unbelieved += usize::from(!is);
            is
        };
        let within = reading.set.observations(&source.id, Cadence::Continuous);
        let daily = reading.set.observations(&source.id, Cadence::Daily);
        let usable = |flag: Flag| flag.is_usable();
        let or_suspect = |flag: Flag| flag.is_usable() || flag == Flag::Suspect;
        let spans_of = |points: &[Point]| match source.quantity {
            Quantity::WindDirection => direction_hours(points),
            _ => means(points, stands),
        };
        // A sum of a step is a rate only when the step is known.
        let mut spans = |wanted: &dyn Fn(Flag) -> bool| match stands {
            Stands::StepSum => {
                let mut spans = spans_of(&points(within, reading.window, wanted, |_| true));
                spans.retain(|span| span.value.is_some_and(&mut believed));
                spans
            }
            _ => spans_of(&points(within, reading.window, wanted, &mut believed)),
        };
        let own = spans(&usable);
        let is_suspect =
            |rows: &[crate::series::Observation]| rows.iter().any(|row| row.flag == Flag::Suspect);
        let suspect_spans = if is_suspect(within) {
            spans(&or_suspect)
        } else {
            Vec::new()
        };
        let mut by_day = |wanted: &dyn Fn(Flag) -> bool| {
            if source.quantity == Quantity::WindDirection {
                // A direction has no daily mean.
                return Vec::new();
            }
            days(
                daily,
                reading.window,
                stands,
                wanted,
                &mut believed,
                reading.clock,
            )
        };
        let days = by_day(&usable);
        let suspect_days = if is_suspect(daily) {
            by_day(&or_suspect)
        } else {
            Vec::new()
        };
        if unbelieved > 0 {
            notes.push(StoredNote::Unbelieved {
                what: source.quantity,
                series: source.id.clone(),
                rows: unbelieved,
            });
        }
        let nothing = own.is_empty()
            && suspect_spans.is_empty()
            && days.iter().chain(&suspect_days).all(Option::is_none);
        (!nothing).then_some(Past {
            source,
            spans: own,
            days,
            suspect_spans,
            suspect_days,
            scale: None,
        })
    }

    /// Values made into another quantity, span by span.
    pub fn map(&mut self, window: &Window, make: impl Fn(&SpanRow) -> Option<f64>) {
        for span in self.spans.iter_mut().chain(&mut self.suspect_spans) {
            span.value = make(span);
        }
        self.spans.retain(|span| span.value.is_some());
        self.suspect_spans.retain(|span| span.value.is_some());
        for days in [&mut self.days, &mut self.suspect_days] {
            for (day, value) in days.iter_mut().enumerate() {
                *value = value.and_then(|value| make(&day_span(window, day, value)));
            }
        }
    }

    /// Mean of a day: its daily value, or that of 18 or more of its hours.
    fn day_means(&self, window: &Window) -> Vec<Option<f64>> {
        let hours = by_day(&self.spans, window);
        let of_day = |(day, sums): (usize, &(f64, f64))| {
            let own = self.days.get(day).copied().flatten();
            own.or_else(|| (sums.1 >= DAY_H as f64 * HOUR_S).then(|| sums.0 / sums.1))
        };
        hours.iter().enumerate().map(of_day).collect()
    }
}

/// A day as a span.
pub(super) fn day_span(window: &Window, day: usize, value: f64) -> SpanRow {
    SpanRow {
        from: window.day_edges_s[day],
        to: window.day_edges_s[day + 1],
        value: Some(value),
    }
}

/// Integral and time of the spans by day.
fn by_day(spans: &[SpanRow], window: &Window) -> Vec<(f64, f64)> {
    let mut sums = vec![(0.0, 0.0); window.days()];
    for span in spans {
        let middle = 0.5 * (span.from + span.to);
        if let (Some(day), Some(value)) = (window.day_at(middle), span.value) {
            sums[day].0 += value * (span.to - span.from);
            sums[day].1 += span.to - span.from;
        }
    }
    sums
}

/// Pairs of daily means, `spans` and `base`, on the last `count` days of the window: over the hours that both have, or, where the
/// base has daily values, of the day.
pub(super) fn day_pairs(own: &Past<'_>, base: &Past<'_>, window: &Window, count: usize) -> Vec<(f64, f64)> {
    let mut common = vec![(0.0, 0.0, 0_usize); window.days()];
    let mut others = base.spans.iter().peekable();
    for span in &own.spans {
        while others.next_if(|other| other.from < span.from - 1.0).is_some() {}
        let Some(other) = others
            .peek()
            .filter(|other| (other.from - span.from).abs() <= 1.0)
        else {
            continue;
        };
        if let (Some(day), Some(a), Some(b)) = (window.day_at(span.from), span.value, other.value) {
            common[day].0 += a;
            common[day].1 += b;
            common[day].2 += 1;
        }
    }
    let (own, base) = (own.day_means(window), base.day_means(window));
    let first = window.days().saturating_sub(count);
    (first..window.days())
        .filter_map(|day| {
            let (a, b, n) = common[day];
            if n >= DAY_H {
                return Some((a / n as f64, b / n as f64));
            }
            Some((own[day]?, base[day]?))
        })
        .collect()
}

/// Whether a series was observed: it goes by station, or by a file without forecasts. One that goes by position is a model's.
fn is_observed(source: &SeriesSource) -> bool {
    let file = source.csv.is_some() && !source.cadences.contains(&Cadence::Forecast);
    !source.station.is_empty() || file
}

/// The sources with the base first, each with its scale against it, and the seams between them.
///
/// The base is chosen as for the quick model's air temperature: the first station that has 10 of the last 30 days, and either
/// carries the window alone or has 10 days in common with a model that lengthens it; without one the first model, else
/// the first series. A source whose scale is not known is not used. (Project choices.)
pub(super) fn on_one_scale<'a>(
    mut pasts: Vec<Past<'a>>,
    (what, scaling): (Quantity, Scaling),
    window: &Window,
    seams: &mut Vec<StoredSeam>,
) -> Vec<Past<'a>> {
    let Some(base) = base_of(&pasts, window) else {
        return pasts;
    };
    let mut base = pasts.remove(base);
    base.scale = Some(SeamScale::Same);
    for other in &mut pasts {
        let count = pair_days(scaling);
        let pairs = day_pairs(other, &base, window, count);
        other.scale = SeamScale::of(scaling, &pairs);
        if scaling != Scaling::AsItIs {
            let scale = other.scale.map(|scale| (scale, SeamBasis::DailyValues));
            let part = (&other.source.id, SeamPart::Past);
            seams.push(StoredSeam::of(what, part, &base.source.id, scale, pairs.len()));
        }
    }
    pasts.insert(0, base);
    pasts
}

/// Days that a scale is learned from.
pub(super) fn pair_days(scaling: Scaling) -> usize {
    match scaling {
        Scaling::Factor => FACTOR_DAYS,
        _ => BIAS_DAYS as usize,
    }
}

fn base_of(pasts: &[Past<'_>], window: &Window) -> Option<usize> {
    let common = |a: &Past<'_>, b: &Past<'_>| day_pairs(a, b, window, BIAS_DAYS as usize).len();
    let known = |past: &Past<'_>| past.day_means(window).iter().flatten().count();
    let carries = |station: &&Past<'_>| {
        let mut models = pasts.iter().filter(|p| !is_observed(p.source)).peekable();
        let alone = models.peek().is_none() || known(station) as f64 >= ALONE_FRAC * window.days() as f64;
        is_observed(station.source)
            && common(station, station) >= BIAS_FEWEST_DAYS
            && (alone || models.any(|model| common(model, station) >= BIAS_FEWEST_DAYS))
    };
    let station = pasts.iter().find(carries);
    let model = || pasts.iter().find(|p| !is_observed(p.source));
    let base = station.or_else(model).or(pasts.first())?;
    pasts.iter().position(|p| p.source.id == base.source.id)
}
