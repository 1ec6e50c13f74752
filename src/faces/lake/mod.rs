//! The lake description as text: everything that was understood, in the reader's units.

mod boat;
mod draft;
mod keys;
mod notices;
mod page;
mod schema;
mod show;

pub use draft::{render_draft, render_found};
pub use keys::render_keys;
pub use schema::render_lake_schema;
pub use show::{orders_of, render_lake};
