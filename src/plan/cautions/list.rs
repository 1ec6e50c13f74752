//! All cautions of a morning.

use chrono::{DateTime, Utc};

use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{Caution, RampState};

/// Every caution of the trip that begins at `as_of`, the most severe first.
pub fn cautions(
    lake: &Lake,
    conditions: &Conditions,
    water: &Water,
    ramps: &[RampState],
    as_of: DateTime<Utc>,
) -> Vec<Caution> {
    let _ = (lake, conditions, water, ramps, as_of);
    todo!()
}
