//! What the series say this morning: level, inflows, surface, wind, light. Nothing of the vertical, nothing of fish.

mod ahead;
mod assemble;
pub mod balance;
pub mod baseflow;
mod choice;
mod daily_water;
pub mod degree_days;
pub mod discharge;
pub mod flashiness;
mod flow;
mod forage;
mod inputs;
mod level;
mod light;
pub mod lyne_hollick;
mod morning;
mod observed_days;
pub mod outlook;
pub mod pulse;
pub mod residence;
pub mod seam;
mod shift;
pub mod state;
mod surface;
#[cfg(test)]
mod tests;
mod trip;
mod turbidity;
mod water_balance;
mod weather;
mod week;

pub use ahead::{ConditionsAhead, FlowAhead, Foreseen, Held};
pub use assemble::conditions_at;
pub use choice::{JoinedSource, PassedOver, SourceChoice, SourcePurpose, daily_of_chain};
pub use daily_water::{DailyInflow, DailyLevel, DailyWater, daily_water};
pub use forage::{ForageCondition, forage_condition};
pub use inputs::allowed_age_h;
pub use level::LEVEL_READING_SD_M;
pub use observed_days::{MainBodyProfile, ObservedDays, observed_days, observed_surface};
pub use state::*;
pub use trip::{TripWindow, trip_window};
pub use weather::AFTER_TRIP_H;
pub use week::{LevelOfDay, SurfaceOfDay, WeekAir, WeekBehind, WeekInflow, WeekWind, week_behind};
