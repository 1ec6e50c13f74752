//! Which ramps float the boat today, by level only.

use super::RampState;
use crate::conditions::Conditions;
use crate::lake::Lake;

/// Every ramp of the lake, in the order of the file.
pub fn ramps(lake: &Lake, conditions: &Conditions) -> Vec<RampState> {
    let _ = (lake, conditions);
    todo!()
}
