//! The trip log itself: one SQLite file a lake, in the lake's folder of the store.
//!
//! A trip is never written over. Each edit adds a version with all its parts, and removing one adds a version that says so;
//! what a trip was before can be shown and brought back. Whatever is written is one transaction.

mod open;
mod read;
mod schema;
mod write;

pub use open::{OpenOptions, TripLog};
pub use read::{StoredTrip, Version};
pub use write::{Added, Twins};
