//! What to do about it: ramps and cautions. Cautions come before any advice and cannot be left out.

pub mod alerts;
pub mod cautions;
pub mod choice;
mod level;
pub mod ramp;
mod ramp_outlook;
pub mod state;

pub use alerts::{AlertsNotKnown, OfficialAlerts, official_alerts};
pub use cautions::cautions;
pub use choice::{fallback_zone, ramp_for};
pub use level::is_level_late;
pub use ramp::ramps;
pub use ramp_outlook::{RampChance, RampDay, RampOutlook, RampTurn, ramp_chance};
pub use state::*;
