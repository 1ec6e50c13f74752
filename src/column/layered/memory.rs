//! What a column remembers beside its water.

use super::bed::BedHeat;
use super::state::Column;
use super::wind::WindMixing;

/// What a run that is taken up again has to have beside the column itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Memory<const L: usize> {
    /// The moving surface layer.
    pub wind: WindMixing<L>,
    /// The bed's warmth.
    pub bed: BedHeat<L>,
}

impl<const L: usize> Memory<L> {
    /// Of a column at rest, on a bed as warm as its water.
    pub fn of(column: &Column<L>) -> Self {
        Memory {
            wind: WindMixing::default(),
            bed: BedHeat::under(column),
        }
    }

    /// Begins anew in one lane.
    pub fn begin(&mut self, column: &Column<L>, lane: usize) {
        self.wind.rest(lane);
        self.bed.forget(column, lane);
    }
}
