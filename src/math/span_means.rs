//! Means over spans, made into means over other spans without losing any of the whole.
//!
//! A record gives the mean of a quantity over each of its spans (3 hours, a day); a model wants the mean over its
//! own steps. In each span a parabola is drawn that has the span's mean and meets its neighbours at the edges
//! (Colella & Woodward 1984, J. Comput. Phys. 54:174, equations 1.4-1.6), and is then integrated. Where it would leave
//! the bounds of its quantity it is drawn toward its mean, which it keeps (Zhang & Shu 2010, J. Comput. Phys. 229:3091,
//! equation 2.7).

/// One row of a record: the mean over `[from, to)`, `None` where it is not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpanRow {
    /// Beginning.
    pub from: f64,
    /// End, after it.
    pub to: f64,
    /// Mean.
    pub value: Option<f64>,
}

/// Why a record does not serve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpanFault {
    /// Two rows overlap, or one ends before it begins.
    Overlap {
        /// Beginning of the second.
        at: f64,
    },
    /// No value for longer than is filled.
    Gap {
        /// Beginning.
        from: f64,
        /// End.
        to: f64,
    },
    /// No value at all.
    Empty,
}

/// What was filled of a record.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Filled {
    /// Gaps.
    pub gaps: usize,
    /// Their length in all.
    pub length: f64,
}

/// How gaps are filled.
#[derive(Clone, Copy)]
pub struct Filling<'f> {
    /// Longest gap that is filled.
    pub longest_gap: f64,
    /// Length of the spans put into a gap.
    pub step: f64,
    /// Shape that the quantity follows, such as the height of the sun: the ratio to its mean over a span is what is
    /// interpolated. 1 everywhere where there is none.
    pub shape: &'f dyn Fn(f64, f64) -> f64,
    /// Spans of a lesser shape tell nothing of the ratio.
    pub least_shape: f64,
}

/// Means over spans that follow each other without a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct SpanMeans {
    /// Edges, one more than spans, increasing.
    edges: Vec<f64>,
    /// Means.
    means: Vec<f64>,
}

/// Spans that miss each other by less are neighbours (rounding of times in seconds).
const TOUCH: f64 = 1e-3;

impl SpanMeans {
    /// The record over at least `[from, to]`: rows in order of time, gaps filled by straight lines between the middles
    /// of the rows beside them, and beyond the first and the last row by their values.
    ///
    /// # Errors
    /// [`SpanFault`]; faults of rows wholly outside `[from, to]` do not count.
    pub fn filled(
        rows: &[SpanRow],
        (from, to): (f64, f64),
        filling: Filling<'_>,
    ) -> Result<(SpanMeans, Filled), SpanFault> {
        // A few rows beside the range shape the parabolas at its ends.
        let margin = 3.0 * filling.step;
        let mut rows: Vec<SpanRow> = rows
            .iter()
            .copied()
            .filter(|row| row.to > from - margin && row.from < to + margin)
            .collect();
        rows.sort_by(|a, b| a.from.total_cmp(&b.from));
        for pair in rows.windows(2) {
            if pair[1].from < pair[0].to - TOUCH {
                return Err(SpanFault::Overlap { at: pair[1].from });
            }
        }
        if let Some(row) = rows.iter().find(|row| row.to <= row.from) {
            return Err(SpanFault::Overlap { at: row.from });
        }
        let known: Vec<(f64, f64, f64)> = rows
            .iter()
            .filter_map(|row| Some((row.from, row.to, row.value?)))
            .collect();
        let (Some(first), Some(last)) = (known.first(), known.last()) else {
            return Err(SpanFault::Empty);
        };
        let ratios = ratios(&known, &filling);
        let (first_from, last_to) = (first.0.min(to), last.1.max(from));
        let mut built = Built {
            means: SpanMeans {
                edges: vec![from.min(first.0)],
                means: Vec::new(),
            },
            filled: Filled::default(),
            ratios,
        };
        built.bridge(from.min(first_from), first.0, &filling)?;
        for (k, &(_, end, value)) in known.iter().enumerate() {
            built.push(end, value);
            if let Some(next) = known.get(k + 1) {
                built.bridge(end, next.0, &filling)?;
            }
        }
        built.bridge(last.1, last_to.max(to), &filling)?;
        Ok((built.means, built.filled))
    }

    /// Mean over the whole of it.
    pub fn total_mean(&self) -> f64 {
        let sum: f64 = self
            .edges
            .windows(2)
            .zip(&self.means)
            .map(|(edge, mean)| (edge[1] - edge[0]) * mean)
            .sum();
        sum / (self.edges[self.edges.len() - 1] - self.edges[0])
    }

    /// Spans with their means.
    pub fn spans(&self) -> impl Iterator<Item = (f64, f64, f64)> + '_ {
        self.edges
            .windows(2)
            .zip(&self.means)
            .map(|(edge, mean)| (edge[0], edge[1], *mean))
    }

    /// The curve that keeps each mean, within `bounds`.
    pub fn curve(&self, bounds: (f64, f64)) -> Curve {
        let n = self.means.len();
        let length = |i: usize| self.edges[i + 1] - self.edges[i];
        let edge_value = |i: usize| {
            // Value at edge i, between spans i - 1 and i; beyond the record the end spans' own means.
            if i == 0 || i == n {
                return self.means[i.min(n - 1)];
            }
            let (a, b) = (self.means[i - 1], self.means[i]);
            let even = i >= 2
                && i + 1 < n
                && [i - 2, i - 1, i + 1]
                    .iter()
                    .all(|&k| (length(k) - length(i)).abs() <= TOUCH);
            if even {
                (7.0 * (a + b) - self.means[i - 2] - self.means[i + 1]) / 12.0
            } else {
                (a * length(i) + b * length(i - 1)) / (length(i) + length(i - 1))
            }
        };
        let at_edges: Vec<f64> = (0..=n).map(edge_value).collect();
        let pieces = (0..n)
            .map(|i| Parabola::within(at_edges[i], at_edges[i + 1], self.means[i], bounds))
            .collect();
        Curve {
            edges: self.edges.clone(),
            pieces,
        }
    }

    /// The curve that is constant in each span.
    pub fn flat(&self) -> Curve {
        Curve {
            edges: self.edges.clone(),
            pieces: self
                .means
                .iter()
                .map(|&mean| Parabola {
                    left: mean,
                    rise: 0.0,
                    bend: 0.0,
                })
                .collect(),
        }
    }
}

/// Middle of each span whose shape tells, with the ratio of mean and shape.
fn ratios(known: &[(f64, f64, f64)], filling: &Filling<'_>) -> Vec<(f64, f64)> {
    known
        .iter()
        .filter_map(|&(from, to, value)| {
            let shape = (filling.shape)(from, to);
            (shape >= filling.least_shape).then(|| (0.5 * (from + to), value / shape))
        })
        .collect()
}

/// Spans so far.
struct Built {
    means: SpanMeans,
    filled: Filled,
    ratios: Vec<(f64, f64)>,
}

impl Built {
    fn push(&mut self, end: f64, mean: f64) {
        self.means.edges.push(end);
        self.means.means.push(mean);
    }

    /// Fills from `from` to `to`, where that is more than a rounding.
    fn bridge(&mut self, from: f64, to: f64, filling: &Filling<'_>) -> Result<(), SpanFault> {
        let length = to - from;
        if length <= TOUCH {
            return Ok(());
        }
        if length > filling.longest_gap + TOUCH {
            return Err(SpanFault::Gap { from, to });
        }
        self.filled.gaps += 1;
        self.filled.length += length;
        let count = (length / filling.step).ceil().max(1.0);
        for k in 0..count as usize {
            let start = from + length * k as f64 / count;
            let end = from + length * (k + 1) as f64 / count;
            let ratio = super::interpolate::linear_pairs(&self.ratios, 0.5 * (start + end));
            self.push(end, ratio.unwrap_or(0.0) * (filling.shape)(start, end));
        }
        Ok(())
    }
}

/// `left + x (rise + bend (1 - x))`, x from 0 to 1 over the span; its mean is `left + rise/2 + bend/6`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Parabola {
    left: f64,
    rise: f64,
    bend: f64,
}

impl Parabola {
    /// Through both edges with the mean, drawn toward the mean as far as the bounds ask.
    fn within(left: f64, right: f64, mean: f64, (low, high): (f64, f64)) -> Parabola {
        let rise = right - left;
        let bend = 6.0 * (mean - 0.5 * (left + right));
        let peak = if bend == 0.0 {
            2.0
        } else {
            0.5 * (1.0 + rise / bend)
        };
        let value = |x: f64| left + x * (rise + bend * (1.0 - x));
        let (mut least, mut most) = (left.min(right), left.max(right));
        if (0.0..=1.0).contains(&peak) {
            least = least.min(value(peak));
            most = most.max(value(peak));
        }
        let mut share: f64 = 1.0;
        if least < low {
            share = share.min(((mean - low) / (mean - least)).max(0.0));
        }
        if most > high {
            share = share.min(((high - mean) / (most - mean)).max(0.0));
        }
        Parabola {
            left: mean + share * (left - mean),
            rise: share * rise,
            bend: share * bend,
        }
    }

    /// Integral from 0 to `x`.
    fn integral(&self, x: f64) -> f64 {
        x * (self.left + x * (0.5 * (self.rise + self.bend) - self.bend * x / 3.0))
    }
}

/// A curve over spans.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    edges: Vec<f64>,
    pieces: Vec<Parabola>,
}

impl Curve {
    /// Mean over `[from, to]`, which lies inside the curve; `None` where it does not.
    pub fn mean(&self, from: f64, to: f64) -> Option<f64> {
        let start = self.edges.partition_point(|&edge| edge <= from).checked_sub(1)?;
        self.mean_from(start, from, to).map(|(mean, _)| mean)
    }

    /// Means over `count` steps of length `step` from `start` on; `None` where the curve does not reach so far.
    pub fn steps(&self, start: f64, step: f64, count: usize) -> Option<Vec<f64>> {
        let mut place = self.edges.partition_point(|&edge| edge <= start).checked_sub(1)?;
        let mut means = Vec::with_capacity(count);
        for k in 0..count {
            let (from, to) = (start + step * k as f64, start + step * (k + 1) as f64);
            let (mean, next) = self.mean_from(place, from, to)?;
            means.push(mean);
            place = next;
        }
        Some(means)
    }

    /// Mean over `[from, to]`, the search beginning in span `place`, and the span that holds `to`.
    fn mean_from(&self, mut place: usize, from: f64, to: f64) -> Option<(f64, usize)> {
        let (mut sum, mut at) = (0.0, from);
        loop {
            let piece = self.pieces.get(place)?;
            let (left, right) = (self.edges[place], self.edges[place + 1]);
            let length = right - left;
            let end = right.min(to);
            if end > at {
                let part = |t: f64| piece.integral(((t - left) / length).clamp(0.0, 1.0));
                sum += length * (part(end) - part(at));
                at = end;
            }
            // A last edge that rounding puts before the end is the end.
            if to <= right + TOUCH && (to <= right || place + 1 == self.pieces.len()) {
                return Some((sum / (to - from), place));
            }
            place += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FLAT: Filling<'static> = Filling {
        longest_gap: 3.0,
        step: 1.0,
        shape: &|_, _| 1.0,
        least_shape: 0.0,
    };

    fn rows(values: &[Option<f64>], length: f64) -> Vec<SpanRow> {
        values
            .iter()
            .enumerate()
            .map(|(i, &value)| SpanRow {
                from: length * i as f64,
                to: length * (i + 1) as f64,
                value,
            })
            .collect()
    }

    proptest! {
        #[test]
        fn the_mean_of_each_span_is_kept_and_bounds_hold(
            values in prop::collection::vec(0.0..30.0_f64, 1..40), pieces in 1_usize..25,
        ) {
            let record: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
            let length = pieces as f64;
            let end = length * values.len() as f64;
            let filling = Filling { step: length, ..FLAT };
            let (spans, filled) = SpanMeans::filled(&rows(&record, length), (0.0, end), filling).unwrap();
            prop_assert_eq!(filled, Filled::default());
            let steps = spans.curve((0.0, 30.0)).steps(0.0, 1.0, pieces * values.len()).unwrap();
            for (span, value) in steps.chunks(pieces).zip(&values) {
                let mean = span.iter().sum::<f64>() / length;
                // Rounding of sums of 24 numbers up to 30.
                prop_assert!((mean - value).abs() < 1e-11, "{} {}", mean, value);
            }
            prop_assert!(steps.iter().all(|v| (-1e-12..=30.0 + 1e-11).contains(v)));
        }

        #[test]
        fn steps_that_cut_spans_keep_the_whole(values in prop::collection::vec(-5.0..5.0_f64, 3..20)) {
            let record: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
            let n = values.len();
            let (spans, _) = SpanMeans::filled(&rows(&record, 3.0), (0.0, 3.0 * n as f64), FLAT).unwrap();
            // Steps of 0.75, offset by nothing, cut no edge; steps of 2 do.
            let count = 3 * n / 2;
            let steps = spans.curve((f64::MIN, f64::MAX)).steps(0.0, 2.0, count).unwrap();
            let mean = spans.curve((f64::MIN, f64::MAX)).mean(0.0, 2.0 * count as f64).unwrap();
            prop_assert!((steps.iter().sum::<f64>() / count as f64 - mean).abs() < 1e-11);
        }
    }

    #[test]
    fn a_wave_is_drawn_closer_than_by_steps() {
        // Mean of cos(2 pi t / 24) over a span: the difference of its primitive.
        let mean = |from: f64, length: f64| {
            let primitive = |t: f64| (std::f64::consts::TAU * t / 24.0).sin() * 24.0 / std::f64::consts::TAU;
            (primitive(from + length) - primitive(from)) / length
        };
        let record: Vec<Option<f64>> = (0..80).map(|i| Some(mean(3.0 * f64::from(i), 3.0))).collect();
        let filling = Filling { step: 3.0, ..FLAT };
        let (spans, _) = SpanMeans::filled(&rows(&record, 3.0), (0.0, 240.0), filling).unwrap();
        let steps = spans.curve((-2.0, 2.0)).steps(0.0, 1.0, 240).unwrap();
        // An edge of fourth order errs by (k h)^4 / 30 of the amplitude, k h = 2 pi 3/24: 1.3 %. Steps err by 25 %.
        let worst = (24..216)
            .map(|k| (steps[k] - mean(k as f64, 1.0)).abs())
            .fold(0.0, f64::max);
        assert!(worst < 0.013, "{worst}");
    }

    #[test]
    fn a_short_gap_is_filled_straight_and_counted() {
        let record = rows(&[Some(1.0), None, None, Some(4.0)], 1.0);
        let (spans, filled) = SpanMeans::filled(&record, (0.0, 4.0), FLAT).unwrap();
        assert_eq!(filled, Filled { gaps: 1, length: 2.0 });
        let means: Vec<f64> = spans.spans().map(|s| s.2).collect();
        assert_eq!(means, [1.0, 2.0, 3.0, 4.0]);
    }

    #[test]
    fn a_long_gap_is_refused_with_its_ends_unless_it_lies_outside() {
        let record = rows(&[Some(1.0), None, None, None, None, Some(4.0), Some(5.0)], 1.0);
        let gap = SpanFault::Gap { from: 1.0, to: 5.0 };
        assert_eq!(SpanMeans::filled(&record, (0.0, 6.0), FLAT).unwrap_err(), gap);
        assert!(SpanMeans::filled(&record[5..], (5.0, 7.0), FLAT).is_ok());
        let ahead = SpanMeans::filled(&record[5..], (0.0, 7.0), FLAT).unwrap_err();
        assert_eq!(ahead, SpanFault::Gap { from: 0.0, to: 5.0 });
    }

    #[test]
    fn rows_that_overlap_are_refused() {
        let mut record = rows(&[Some(1.0), Some(2.0)], 1.0);
        record[1].from = 0.5;
        let fault = SpanMeans::filled(&record, (0.0, 2.0), FLAT).unwrap_err();
        assert_eq!(fault, SpanFault::Overlap { at: 0.5 });
        assert_eq!(
            SpanMeans::filled(&[], (0.0, 2.0), FLAT).unwrap_err(),
            SpanFault::Empty
        );
    }

    #[test]
    fn a_gap_of_a_shaped_quantity_follows_the_shape() {
        let shape = |from: f64, to: f64| 0.5 * (from + to);
        let filling = Filling {
            shape: &shape,
            least_shape: 0.1,
            ..FLAT
        };
        let record = rows(&[Some(1.0), None, None, Some(7.0)], 1.0);
        let (spans, _) = SpanMeans::filled(&record, (0.0, 4.0), filling).unwrap();
        let means: Vec<f64> = spans.spans().map(|s| s.2).collect();
        // Twice the middle of each span.
        assert_eq!(means, [1.0, 3.0, 5.0, 7.0]);
    }
}
