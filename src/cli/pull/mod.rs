//! `plungeline pull`: fetch what is new into the stores of one lake or many.

mod command;
mod history;
mod keep;
mod lake;
mod many;
mod round;

pub use command::run;
pub use keep::Count;
pub use many::{Options, pull};
