//! `plungeline digest`: the weekly digest, its readers, and what became of each letter.

mod args;
mod command;
mod letters;
mod make;
mod preview;
mod readers;
mod send;

pub use args::DigestArgs;
pub use command::run;
