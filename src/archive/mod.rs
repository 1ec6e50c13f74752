//! Briefs as they were issued: append-only, keyed by the clock and a hash of the content.

mod error;
mod issued;

pub use error::ArchiveError;
pub use issued::IssuedBriefs;
