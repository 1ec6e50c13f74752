//! What of a brief is kept as its call.

use chrono::{DateTime, NaiveDate, Utc};

use super::Brief;
use crate::archive::analysed::{InputHash, code_version, in_hexadecimal};
use crate::whereabouts::learn::Features;
use crate::whereabouts::{CALL_FORM, CalledSpecies, IssuedCall};

/// When and how a brief was made.
#[derive(Debug, Clone, Copy)]
pub struct Making<'a> {
    /// By the wall clock.
    pub made_at: DateTime<Utc>,
    /// Whether from saved replies.
    pub replayed: bool,
    /// Civil day of the trip that it is for.
    pub day: NaiveDate,
    /// Hash of the values that it rests on.
    pub inputs: &'a InputHash,
    /// Hash of the lake file.
    pub lake_file: &'a InputHash,
}

/// The call of `brief` with what its species were `offered`.
pub fn issued_call(brief: &Brief, offered: Features, making: &Making<'_>) -> IssuedCall {
    let species = offered.into_iter().filter_map(|(id, offered)| {
        let call = brief.whereabouts.get(&id)?;
        Some((id, CalledSpecies::of(call, offered)))
    });
    IssuedCall {
        form: CALL_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: brief.lake.id.clone(),
        as_of: brief.as_of,
        made_at: making.made_at,
        replayed: making.replayed,
        enough: brief.trust.enough,
        code: code_version(),
        day: making.day,
        inputs_sha256: in_hexadecimal(making.inputs),
        lake_file_sha256: in_hexadecimal(making.lake_file),
        basis: brief.basis.clone(),
        species: species.collect(),
    }
}
