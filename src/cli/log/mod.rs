//! `plungeline log`: the angler's own trips.

mod add;
mod args;
mod ask;
mod command;
mod edit;
mod export;
mod import;

pub use args::LogArgs;
pub use command::run;
