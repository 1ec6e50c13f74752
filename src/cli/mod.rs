//! One file a command, and the wiring of sources, store and faces.

mod args;
mod brief;
mod calls;
mod demo;
mod digest;
mod failures;
mod fit;
mod forecasts;
mod hindcast;
mod invented_forecasts;
mod lake;
mod lake_new;
mod lakes;
mod log;
mod morning;
mod notices;
mod output;
mod progress;
mod pull;
mod read;
mod session;
mod skill;
mod start;
mod turnover;
mod validators;
mod water;

pub use lake_new::DraftError;
pub use start::main;
