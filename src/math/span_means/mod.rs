//! Means over spans, made into means over other spans without losing any of the whole.
//!
//! A record gives the mean of a quantity over each of its spans (3 hours, a day); a model wants the mean over its
//! own steps. In each span a parabola is drawn that has the span's mean and meets its neighbours at the edges
//! (Colella & Woodward 1984, J. Comput. Phys. 54:174, equations 1.4-1.6), and is then integrated. Where it would leave
//! the bounds of its quantity it is drawn toward its mean, which it keeps (Zhang & Shu 2010, J. Comput. Phys. 229:3091,
//! equation 2.7).

mod curve;
#[cfg(test)]
mod tests;

pub use curve::Curve;
use curve::Parabola;

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
            let ratio = crate::math::interpolate::linear_pairs(&self.ratios, 0.5 * (start + end));
            self.push(end, ratio.unwrap_or(0.0) * (filling.shape)(start, end));
        }
        Ok(())
    }
}
