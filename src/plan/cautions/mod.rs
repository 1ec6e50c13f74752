//! Cautions, one file a hazard, each with the threshold behind it. Where a feed is missing the caution
//! says that the danger is not known; none can be left out, and none says that a trip is without danger.
//!
//! The published figures and the triggers, most of which are this project's choice, are listed in docs/methods.md.

mod calm;
mod changing_level;
mod cold_air;
mod cold_water;
mod darkness;
mod debris;
mod fetches;
mod fog;
mod heat;
mod ice;
mod limits;
mod list;
mod low_water;
#[cfg(test)]
pub(crate) mod morning_tests;
mod note;
mod official;
mod reminders;
mod route;
mod stale;
mod surfaces;
mod thunder;
mod waves;
mod wind;
mod wind_hours;

pub use calm::calm_hours;
pub(super) use fetches::open_fetches;
pub use list::cautions;
pub(super) use stale::is_late as forecast_is_late;
pub(super) use wind_hours::wind_hours as hours_of_wind;
