//! The two columns of a face.

use super::layout::{Face, Place};
use crate::column::layered::{Column, Lanes};

/// The two columns of a face: the one away from the lake, then the one toward it.
pub struct Pair<'a, const L: usize> {
    /// Columns.
    pub columns: [&'a mut Column<L>; 2],
    /// Their places.
    pub places: [&'a Place; 2],
    /// The face between them.
    pub face: &'a Face,
    /// Which lanes exchange.
    pub open: [bool; L],
}

impl<const L: usize> Pair<'_, L> {
    /// The highest surface layer of any open lane, of the common grid.
    pub(super) fn highest(&self) -> usize {
        (0..L)
            .filter(|lane| self.open[*lane])
            .map(|lane| self.top(lane))
            .max()
            .unwrap_or(0)
    }

    /// Surface layer of a lane, of the common grid: the same in both columns.
    pub(super) fn top(&self, lane: usize) -> usize {
        self.columns[0].top[lane] + self.places[0].first_layer
    }

    /// [`Pair::top`] of every lane as a number.
    #[inline(always)]
    pub(super) fn tops(&self) -> Lanes<L> {
        std::array::from_fn(|lane| self.top(lane) as f64)
    }
}
