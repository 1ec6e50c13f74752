//! The lake cut open along its arms: what its columns hold, as a value to be told and drawn.
//!
//! | file | what it holds |
//! |---|---|
//! | `value` | the section as a value |
//! | `columns` | zones and columns of it, medians over the members |
//! | `rivers` | where each river sinks and comes to rest |

mod columns;
mod rivers;
mod value;

pub use columns::section_of;
pub use value::{
    BedPoint, MouthSide, RiverRest, Section, SectionColumn, SectionLayer, SectionOutlet, SectionRiver,
    SectionRows, SectionSpot, SectionZone,
};
