//! Tables of the lake file under the table of keys: what a key holds, with its place and in SI, or the
//! fault that it is.

mod nearest;
mod table;
mod typed;
mod value;

pub(super) use nearest::nearest;
pub(super) use table::Block;
pub use table::QUESTION;
pub(super) use value::{describe, plain, quote};
