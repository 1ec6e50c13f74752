//! Spans of several sources laid side by side, the best first.

use super::note::Used;
use super::rows::BRIDGED_S;
use super::seam::SeamScale;
use super::sources::day_span;
use super::window::{HOUR_S, Window};
use crate::lake::SeriesId;
use crate::math::span_means::SpanRow;

/// Hours beside the window that count as well: they shape its ends.
const MARGIN_H: i64 = 24;
/// Free hours from which a day takes its daily value: with 18 hours it has a mean of its own.
const FREE_H: usize = 7;
/// Longest gap beside a daily value that is filled from it (project choice: weather of three days ago still says a little).
pub(super) const DAYS_BRIDGED_S: f64 = 72.0 * HOUR_S;
/// Length from which a span counts as a day's.
const LONG_S: f64 = 12.0 * HOUR_S;

/// Spans laid so far.
pub(super) struct Laid<'w> {
    window: &'w Window,
    /// Hours taken, the first `MARGIN_H` before the window.
    taken: Vec<bool>,
    /// Spans with the layer that they come from.
    spans: Vec<(SpanRow, usize)>,
    /// Days, the same; they drive out the spans that they overlap.
    days: Vec<(SpanRow, usize)>,
    layers: Vec<(SeriesId, Used)>,
}

impl<'w> Laid<'w> {
    pub fn new(window: &'w Window) -> Laid<'w> {
        Laid {
            window,
            taken: vec![false; window.hours + 2 * MARGIN_H as usize],
            spans: Vec::new(),
            days: Vec::new(),
            layers: Vec::new(),
        }
    }

    /// Places of the hours that a span touches; `None` where it leaves the margins.
    fn touched(&self, span: &SpanRow) -> Option<std::ops::Range<usize>> {
        let from = ((span.from + 1.0) / HOUR_S).floor() as i64 + MARGIN_H;
        let to = ((span.to - 1.0) / HOUR_S).floor() as i64 + 1 + MARGIN_H;
        let range = usize::try_from(from).ok()?..usize::try_from(to).ok()?;
        (range.start < range.end && range.end <= self.taken.len()).then_some(range)
    }

    /// Lays the spans whose hours are all free.
    pub fn spans(&mut self, (series, used): (&SeriesId, Used), spans: &[SpanRow], scale: SeamScale) {
        let layer = self.layers.len();
        self.layers.push((series.clone(), used));
        for span in spans {
            let Some(hours) = self.touched(span) else { continue };
            if self.taken[hours.clone()].iter().any(|taken| *taken) {
                continue;
            }
            self.taken[hours].fill(true);
            let value = span.value.map(|value| scale.corrected(value));
            self.spans.push((SpanRow { value, ..*span }, layer));
        }
    }

    /// Lays the daily values of days that have 7 free hours or more; the spans there give way, so that the day's mean stands.
    pub fn days(&mut self, (series, used): (&SeriesId, Used), days: &[Option<f64>], scale: SeamScale) {
        let layer = self.layers.len();
        self.layers.push((series.clone(), used));
        for (day, value) in days.iter().enumerate() {
            let Some(value) = value else { continue };
            let span = day_span(self.window, day, scale.corrected(*value));
            let Some(hours) = self.touched(&span) else {
                continue;
            };
            let free = self.taken[hours.clone()].iter().filter(|taken| !**taken).count();
            if free >= FREE_H {
                self.taken[hours].fill(true);
                self.days.push((span, layer));
            }
        }
    }

    /// All spans in order of time, and hours of the window by layer.
    pub fn finish(mut self) -> (Vec<SpanRow>, Vec<(SeriesId, Used, usize)>) {
        self.days.sort_by(|a, b| a.0.from.total_cmp(&b.0.from));
        let days = &self.days;
        self.spans.retain(|(span, _)| {
            let next = days.partition_point(|(day, _)| day.to <= span.from);
            days.get(next).is_none_or(|(day, _)| day.from >= span.to)
        });
        let mut all = self.spans;
        all.extend(self.days);
        all.sort_by(|a, b| a.0.from.total_cmp(&b.0.from));
        let mut seconds = vec![0.0; self.layers.len()];
        for (span, layer) in &all {
            seconds[*layer] += (span.to.min(self.window.end_s()) - span.from.max(0.0)).max(0.0);
        }
        let used = self.layers.into_iter().zip(seconds);
        let used = used
            .map(|((series, used), s)| (series, used, (s / HOUR_S).round() as usize))
            .filter(|(_, _, hours)| *hours > 0);
        (all.iter().map(|(span, _)| *span).collect(), used.collect())
    }
}

/// A stretch of the window without a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hole {
    pub from: f64,
    pub to: f64,
    /// Whether it is short enough to be filled from what lies beside it.
    pub bridged: bool,
}

/// The stretches of the window without a value, of `rows` in order of time.
pub(super) fn holes(rows: &[SpanRow], window: &Window) -> Vec<Hole> {
    let end_s = window.end_s();
    let mut holes = Vec::new();
    let is_day = |row: Option<&SpanRow>| row.is_some_and(|row| row.to - row.from >= LONG_S);
    let mut push = |before: Option<&SpanRow>, after: Option<&SpanRow>| {
        let from = before.map_or(0.0, |row| row.to).max(0.0);
        let to = after.map_or(end_s, |row| row.from).min(end_s);
        if to - from <= 1.0 {
            return;
        }
        // What is filled reaches from row to row, also where the window cuts it.
        let whole = after.map_or(end_s, |row| row.from) - before.map_or(0.0, |row| row.to);
        let longest_s = if is_day(before) || is_day(after) {
            DAYS_BRIDGED_S
        } else {
            BRIDGED_S
        };
        let bridged = (before.is_some() || after.is_some()) && whole <= longest_s + 1.0;
        holes.push(Hole { from, to, bridged });
    };
    push(None, rows.first());
    rows.windows(2)
        .for_each(|pair| push(Some(&pair[0]), Some(&pair[1])));
    if let Some(last) = rows.last() {
        push(Some(last), None);
    }
    holes
}
