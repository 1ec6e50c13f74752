//! What drives one step of the lake.

use chrono::Datelike as _;

use crate::column::forcing::{Forcing, RiverFlow, Weather};
use crate::column::layered::Lanes;

/// What drives one step, lane by lane.
#[derive(Debug, Clone, Copy)]
pub struct Drive<'a, const L: usize> {
    /// Length of the step, s.
    pub step_s: f64,
    /// Month of the year, January 0.
    pub month0: usize,
    /// Weather over the lake.
    pub weather: &'a [Weather; L],
    /// Rivers in the order of the setup, shape `[river][lane]`; empty where none is known.
    pub rivers: &'a [[RiverFlow; L]],
    /// Releases in the order of the setup's outlets, m3/s, shape `[outlet][lane]`; empty where none is known.
    pub release_m3s: &'a [Lanes<L>],
    /// Level at the end of the step where it is known, m; else it follows from the flows.
    pub level_m: [Option<f64>; L],
}

impl<const L: usize> Drive<'_, L> {
    /// Whether nothing is known of the water that comes and goes, so that the level stays, and rain and evaporation
    /// leave it be.
    pub(super) fn is_still(&self, lane: usize) -> bool {
        self.rivers.is_empty() && self.release_m3s.is_empty() && self.level_m[lane].is_none()
    }
}

/// Room for what drives a step, used again at the next.
#[derive(Debug, Clone)]
pub struct DriveBuffer<const L: usize> {
    weather: Option<[Weather; L]>,
    rivers: Vec<[RiverFlow; L]>,
    release_m3s: Vec<Lanes<L>>,
}

impl<const L: usize> Default for DriveBuffer<L> {
    fn default() -> Self {
        DriveBuffer {
            weather: None,
            rivers: Vec::new(),
            release_m3s: Vec::new(),
        }
    }
}

impl<const L: usize> DriveBuffer<L> {
    /// What drives a step of every lane, each from a forcing of its own. All begin at one instant and have steps of one
    /// length, at least `step + 1` of them, and the same rivers and outlets.
    pub fn gather(&mut self, forcings: [&Forcing; L], step: usize) -> Drive<'_, L> {
        let first = forcings[0];
        let time = first.step_start(step);
        self.rivers.clear();
        for river in 0..first.rivers.len() {
            self.rivers.push(forcings.map(|f| f.rivers[river][step]));
        }
        self.release_m3s.clear();
        for outlet in 0..first.release_m3s.len() {
            self.release_m3s
                .push(forcings.map(|f| f.release_m3s[outlet][step]));
        }
        Drive {
            step_s: first.step_s,
            month0: time.month0() as usize,
            weather: self.weather.insert(forcings.map(|f| f.weather[step])),
            rivers: &self.rivers,
            release_m3s: &self.release_m3s,
            level_m: forcings.map(|f| f.level_m.get(step).copied()),
        }
    }
}
