//! Gross range test (QARTOD test 4): can the value be?

use crate::series::Flag;

/// A span of values, its ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Lowest value inside, in the unit of the values.
    pub low: f64,
    /// Highest value inside, in the unit of the values.
    pub high: f64,
}

impl Span {
    /// The span that holds every number.
    pub const ALL: Span = Span {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
    };

    /// The span from `low` to `high`; an end that is `None` is open.
    pub fn new(low: Option<f64>, high: Option<f64>) -> Span {
        Span {
            low: low.unwrap_or(Self::ALL.low),
            high: high.unwrap_or(Self::ALL.high),
        }
    }

    /// Whether the span holds `value`; no span holds a value that is not a number.
    pub fn holds(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// What lies in both spans.
    pub fn and(self, other: Span) -> Span {
        Span {
            low: self.low.max(other.low),
            high: self.high.min(other.high),
        }
    }
}

/// 4 outside `fail`, 3 outside `suspect`, 1 inside both, 9 where there is no value.
///
/// Source: QARTOD water level manual v2.1, test 4 (sensor span, user span).
pub fn check_gross_range(values: &[Option<f64>], fail: Span, suspect: Span) -> Vec<Flag> {
    let flag = |value: &Option<f64>| match value {
        None => Flag::Missing,
        Some(value) if !fail.holds(*value) => Flag::Fail,
        Some(value) if !suspect.holds(*value) => Flag::Suspect,
        Some(_) => Flag::Pass,
    };
    values.iter().map(flag).collect()
}
