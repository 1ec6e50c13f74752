//! The piece of a track as stretches of time in one place.

use std::ops::Range;

use super::motion::Motion;

/// Each instant takes the place where the boat was for most of so many seconds around it: a border crossed to and fro makes
/// no legs (project choice).
const AROUND_S: f64 = 300.0;

/// What the boat did between two points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doing {
    /// Ashore, or outside every outline.
    Outside,
    /// Running from one place to another.
    Running,
    /// Fishing in the place of this number.
    Fishing(usize),
}

impl Doing {
    fn slot(self) -> usize {
        match self {
            Doing::Outside => 0,
            Doing::Running => 1,
            Doing::Fishing(place) => place + 2,
        }
    }

    fn of_slot(slot: usize) -> Doing {
        match slot {
            0 => Doing::Outside,
            1 => Doing::Running,
            place => Doing::Fishing(place - 2),
        }
    }
}

/// Runs of intervals in which the boat did the same, smoothed: what it did, and the intervals. Interval `i` lies between
/// points `i` and `i + 1`.
pub(super) fn runs(doing: &[Doing], motion: &Motion, places: usize) -> Vec<(Doing, Range<usize>)> {
    let since_s = &motion.since_s;
    let length_s = |i: usize| since_s[i + 1] - since_s[i];
    let mut spent_s = vec![0.0; places + 2];
    let (mut from, mut to) = (0, 0);
    let mut runs: Vec<(Doing, Range<usize>)> = Vec::new();
    for i in 0..doing.len() {
        let middle_s = 0.5 * (since_s[i] + since_s[i + 1]);
        while to < doing.len() && (to <= i || since_s[to] < middle_s + 0.5 * AROUND_S) {
            spent_s[doing[to].slot()] += length_s(to);
            to += 1;
        }
        while from < i && since_s[from + 1] < middle_s - 0.5 * AROUND_S {
            spent_s[doing[from].slot()] -= length_s(from);
            from += 1;
        }
        let before = runs.last().map(|(doing, _)| doing.slot());
        let mut most = before.unwrap_or_else(|| doing[i].slot());
        for slot in 0..spent_s.len() {
            // Sums of lengths taken off again leave a rounding error: a tie stays with what was.
            if spent_s[slot] > spent_s[most] + 1e-6 {
                most = slot;
            }
        }
        match runs.last_mut() {
            Some((doing, range)) if doing.slot() == most => range.end = i + 1,
            _ => runs.push((Doing::of_slot(most), i..i + 1)),
        }
    }
    runs
}
