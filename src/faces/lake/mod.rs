//! The lake description as text: everything that was understood, in the reader's units.

mod keys;
mod page;
mod show;

pub use keys::render_keys;
pub use show::{orders_of, render_lake};
