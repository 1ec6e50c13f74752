//! `plungeline digest`: the weekly letter, its readers, and what became of it.

mod args;
mod command;
mod letters;
mod readers;
mod send;

pub use args::DigestArgs;
pub use command::run;
