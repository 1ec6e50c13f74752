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
//! | `section` | the lake cut open along its arms, as a value |

mod books;
mod drive;
mod ensemble;
mod model;
mod one;
mod run;
mod section;
mod setup;
mod shelter;

pub use books::SurfaceBooks;
pub use drive::{Drive, DriveBuffer};
pub use ensemble::Ensemble;
pub use model::Reservoir;
pub use one::LakeSetup;
pub use run::{DayMeans, RunError, run_lake};
pub use section::{
    BedPoint, MouthSide, RiverRest, RiverWay, Section, SectionColumn, SectionLayer, SectionOutlet,
    SectionRiver, SectionRows, SectionSpot, SectionZone, section_of,
};
pub use setup::{ReservoirSetup, SetupError, UNKNOWN_EXTINCTION_PER_M, demand_of};
pub use shelter::Shelters;
