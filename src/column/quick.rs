//! The quick water model.

use super::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::series::SeriesSet;

/// How to run the water model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WaterOptions {
    /// Members of the ensemble.
    pub members: usize,
    /// Seed of every draw.
    pub seed: u64,
}

/// The lake's water on the morning of `conditions.as_of`.
pub fn water_at(lake: &Lake, conditions: &Conditions, set: &SeriesSet, options: &WaterOptions) -> Water {
    let _ = (lake, conditions, set);
    Water {
        members: options.members,
        zones: Vec::new(),
        rivers: Vec::new(),
        surface_outlook: Vec::new(),
        surface_fit: None,
        gaps: Vec::new(),
    }
}
