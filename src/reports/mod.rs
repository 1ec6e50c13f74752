//! Reports as values: assembled, SI, complete, serialisable. Not a sentence, not a foot, not a colour.

pub mod assemble;
pub mod brief;
pub mod causes;
pub mod changes;
pub mod draft;
pub mod ledger;
pub mod make;
pub mod pulled;
mod seconds;
pub mod trust;
mod water;

pub use assemble::{BriefParts, assemble_brief};
pub use brief::*;
pub use ledger::*;
pub use make::make_brief;
pub use pulled::{PullFailure, PulledLake, PulledSeries, PulledWater};
