//! What to do about it: cautions, ramps, and the plan. Cautions come before any advice and cannot be left out.

pub mod alerts;
pub mod cautions;
pub mod choice;
pub mod depth;
pub mod drift;
pub mod hours;
pub mod ladder;
mod level;
pub mod order;
pub mod pace;
pub mod ramp;
mod ramp_outlook;
pub mod runs;
pub mod second;
pub mod state;
mod way;
mod whole;

pub use alerts::{AlertsNotKnown, OfficialAlerts, official_alerts};
pub use cautions::{calm_hours, cautions};
pub use choice::{Launches, fallback_zone};
pub use depth::{FirstLight, SpeciesDepth, StructurePick, ZoneDepth};
pub use drift::SurfaceDrift;
pub use hours::{Light, PlanHour, PlanHours, ZoneChop, plan_hours};
pub use ladder::{PlanRung, SetDepth, SetDepths, SpeciesLadder};
pub use level::is_level_late;
pub use order::{OrderPlace, Scouting, SpeciesOrder};
pub use pace::RunPace;
pub use ramp::ramps;
pub use ramp_outlook::{RampChance, RampDay, RampOutlook, RampTurn, ramp_chance};
pub use runs::{RampLasts, RampPlan, Run};
pub use second::SecondChoice;
pub use state::*;
pub use way::NoWay;
pub use whole::{Plan, PlanParts, make_plan, says_stay_ashore};
