//! `plungeline fit`: what the trips of the log have taught.

mod args;
mod command;
mod invented;
mod mornings;

pub use args::FitArgs;
pub use command::run;
