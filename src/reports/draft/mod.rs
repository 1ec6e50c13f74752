//! A lake description begun from what the services have near a position: what was chosen, what else there is.

mod choose;
mod groups;
mod value;
mod weather;

pub use choose::draft_of;
pub use groups::{Group, groups_of};
pub use value::{Draft, DraftFacts, DraftInflow, DraftSeries, FAR_M, LakeDatum, RECENT_DAYS};
