//! One file a command, and the wiring of sources, store and faces.

mod args;
mod brief;
mod demo;
mod failures;
mod hindcast;
mod lake;
mod lake_new;
mod lakes;
mod log;
mod output;
mod progress;
mod pull;
mod read;
mod session;
mod start;
mod validators;
mod water;

pub use lake_new::DraftError;
pub use start::main;
