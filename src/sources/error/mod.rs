//! What can go wrong between a service and a record.
//!
//! Three kinds by place: on the way ([`FetchError`]), in the bytes ([`ReadError`]), in a replay folder
//! ([`ReplayError`]). Each message says what was found, what was wanted, and how to mend it.

mod fetch;
mod job;
mod read;
mod words;

pub use super::replay::ReplayError;
pub use fetch::FetchError;
pub use job::SourceError;
pub use read::ReadError;
pub(super) use words::is_certificate_fault;
