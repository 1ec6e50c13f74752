//! Cautions, one file a hazard, each with the threshold behind it. Where a feed is missing the caution
//! says that the danger is not known; none can be left out, and none says that a trip is without danger.

mod list;

pub use list::cautions;
