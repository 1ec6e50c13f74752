//! The curve that keeps the mean of each span: a parabola a span.

use super::TOUCH;

/// `left + x (rise + bend (1 - x))`, x from 0 to 1 over the span; its mean is `left + rise/2 + bend/6`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Parabola {
    pub left: f64,
    pub rise: f64,
    pub bend: f64,
}

impl Parabola {
    /// Through both edges with the mean, drawn toward the mean as far as the bounds ask.
    pub fn within(left: f64, right: f64, mean: f64, (low, high): (f64, f64)) -> Parabola {
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
    pub(super) edges: Vec<f64>,
    pub(super) pieces: Vec<Parabola>,
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
