//! The lake cut open along its arms: temperature, oxygen and share of river water, each block one layer of one column.
//!
//! | file | what it holds |
//! |---|---|
//! | `sheet` | where everything stands, for a row of zones or a row a zone |
//! | `strip` | one zone of one quantity |
//! | `marks` | rivers, outlets, closed reaches over a strip |
//! | `bands` | what is shown, its colours in bands, their bar |
//! | `words` | title, caption, axes in the reader's units |

mod bands;
mod marks;
mod sheet;
mod strip;
mod words;

pub use sheet::{SectionPicture, section_scene};
