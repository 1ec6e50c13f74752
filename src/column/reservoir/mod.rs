//! The whole lake: the network of columns with the physics of each, under weather, rivers and releases.
//!
//! | file | what it holds |
//! |---|---|
//! | `setup` | what of the lake file the columns need |
//! | `one` | a lake of one column |
//! | `shelter` | what the shores leave of the wind, by the direction that it comes from |
//! | `drive` | what drives a step |
//! | `model` | the lake and its step |
//! | `books` | what came and went, beside the network's own books |
//! | `run` | a lake through a span of weather, day by day |
//! | `ensemble` | the members, their steps and their correction by observations |
//! | `zone_water` | the columns read off as the water of the zones |
//! | `river_water` | where the rivers go, and what of an arm they fill |
//! | `section` | the lake cut open along its arms, as a value |

mod books;
mod drive;
mod ensemble;
mod model;
mod one;
mod river_water;
mod run;
mod section;
mod setup;
mod shelter;
mod zone_water;

pub use books::SurfaceBooks;
pub use drive::{Drive, DriveBuffer};
pub use ensemble::Ensemble;
pub use model::Reservoir;
pub use one::LakeSetup;
pub use river_water::river_ways;
pub use run::{DayMeans, RunError, run_days, run_lake};
pub use section::{
    BedPoint, MouthSide, RiverRest, Section, SectionColumn, SectionLayer, SectionOutlet, SectionRiver,
    SectionRows, SectionSpot, SectionZone, section_of,
};
pub use setup::{ReservoirSetup, SetupError, UNKNOWN_EXTINCTION_PER_M, demand_of};
pub use shelter::Shelters;
pub use zone_water::{level_of, main_body_degc, surface_degc, zone_waters};
