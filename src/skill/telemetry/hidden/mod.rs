//! Hidden states of a tagged fish by week: in hearing or out of hearing in each area, or gone.
//!
//! A multistate capture-recapture model (Arnason 1973; Lebreton & Pradel 2002, from memory) as a hidden Markov model: state `2a` is
//! area `a` where its receivers may hear, `2a + 1` the same area out of their hearing, and the last state is gone for good (dead,
//! shed, or away from the lake); nothing is heard of the last two kinds. The chance to hear a fish in area `a` in a week in which
//! its receivers listened for `d` receiver-days is `1 - exp(-h_a d)`. Steps from week to week depend on the month.

mod design;
mod fit;
mod model;
mod smooth;
#[cfg(test)]
mod tests;

pub use design::{Design, History};
pub use fit::{FitLimits, HiddenFit, fit_hidden};
pub use model::HiddenModel;
pub use smooth::{HiddenDays, WeeksCounted, hidden_days};
