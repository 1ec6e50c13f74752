//! Main body, arms or rivers: shares by zone with an interval, a depth band, and signed reasons.

pub mod belief;
pub mod call;
pub mod catchability;
pub mod depth;
pub mod draws;
pub mod drivers;
pub mod engine;
pub mod gaps;
pub mod habitat;
pub mod hard_band;
pub mod issued;
pub mod learn;
pub mod reasons;
pub mod response;
pub mod rules;
#[cfg(test)]
mod tests;
pub mod zone_band;

pub use belief::Belief;
pub use call::*;
pub use engine::{CallOptions, call_species, call_species_by, mature_frac};
pub use issued::{CALL_FORM, CallBasis, CalledShare, CalledSpecies, IssuedCall, RulesWhy};
