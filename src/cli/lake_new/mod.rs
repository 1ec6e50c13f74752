//! `plungeline lake new`: a draft of a lake file from what the services have near a position.

mod args;
mod ask;
mod error;
mod run;

pub use args::LakeNewArgs;
pub use error::DraftError;
pub use run::run;
