//! `plungeline digest`: the weekly digest, shown and (from others' files) sent.

mod args;
mod make;
mod preview;

pub use args::DigestArgs;
pub use preview::run;
