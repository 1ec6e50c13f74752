//! What is given: histories, how many receivers listened, and which steps there are.

use crate::skill::SkillError;
use crate::skill::checks::{at_least, each, same_length};
use crate::skill::telemetry::MONTHS;

/// One tagged fish, week by week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct History {
    /// Week of the capture; weeks count as in [`Design::receiver_days`].
    pub first_week: usize,
    /// Area of the capture.
    pub start: usize,
    /// Area in which it was heard most, from the week of the capture on; `None` where it was not heard. The first is not used.
    pub heard: Vec<Option<usize>>,
}

/// What is given of areas and weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Receiver-days by week and area. Shape `[week][area]`.
    pub receiver_days: Vec<Vec<f64>>,
    /// Month of each week, 0 to 11.
    pub month: Vec<usize>,
    /// Whether receivers stand across the border of an area, so that a fish that comes or goes passes in hearing. Shape `[area]`.
    pub lined: Vec<bool>,
    /// Whether a fish may come into the area in each month. Shape `[area][month]`.
    pub may_enter: Vec<[bool; MONTHS]>,
    /// Area whose chance to hear, by receiver-day, an area shares: itself, or one that is heard better. Shape `[area]`.
    pub hears_as: Vec<usize>,
}

impl Design {
    /// Areas.
    pub fn areas(&self) -> usize {
        self.lined.len()
    }

    /// States: two for each area, and gone.
    pub fn states(&self) -> usize {
        2 * self.areas() + 1
    }

    /// Whether a fish may step from one state to another in a week of `month`.
    pub(super) fn allows(&self, month: usize, from: usize, to: usize) -> bool {
        let gone = 2 * self.areas();
        if from == gone || to == gone {
            return to == gone;
        }
        let (from_area, to_area) = (from / 2, to / 2);
        let passes = |state: usize| state.is_multiple_of(2) || !self.lined[state / 2];
        from_area == to_area || (passes(from) && passes(to) && self.may_enter[to_area][month])
    }

    /// Refuses shapes that do not belong together.
    pub(super) fn check(&self, histories: &[History]) -> Result<(), SkillError> {
        let areas = self.areas();
        at_least("areas of a telemetry record", areas, 1)?;
        same_length("months in which areas are entered", self.may_enter.len(), areas)?;
        same_length("areas that share a chance to hear", self.hears_as.len(), areas)?;
        same_length("months of weeks", self.month.len(), self.receiver_days.len())?;
        for week in &self.receiver_days {
            same_length("receiver-days of a week", week.len(), areas)?;
            each("receiver-days of a week", week, "0 or more", |d| {
                d.is_finite() && d >= 0.0
            })?;
        }
        let known = |area: usize| area < areas;
        let sound = self.month.iter().all(|m| *m < MONTHS) && self.hears_as.iter().all(|a| known(*a));
        let told = |h: &History| known(h.start) && h.heard.iter().flatten().all(|a| known(*a));
        if !sound || !histories.iter().all(told) {
            return Err(SkillError::Undefined {
                what: "a telemetry record",
                wanted: "areas that the design has, and months from 0 to 11",
            });
        }
        let end = |h: &History| h.first_week + h.heard.len();
        let weeks = histories.iter().map(end).max().unwrap_or(0);
        at_least("weeks with receiver-days", self.receiver_days.len(), weeks)
    }
}
