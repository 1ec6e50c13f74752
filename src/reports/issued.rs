//! What of a brief is kept as its call.

use chrono::{DateTime, NaiveDate, Utc};

use super::Brief;
use crate::archive::analysed::InputHash;
use crate::whereabouts::learn::Features;
use crate::whereabouts::{CALL_FORM, CalledSpecies, IssuedCall};

/// The call of `brief`, for the trip of `day`, with what its species were `offered`; `made_at` by the wall clock. Hashes are of the
/// values that it rests on and of the lake file.
pub fn issued_call(
    brief: &Brief,
    offered: Features,
    (made_at, day): (DateTime<Utc>, NaiveDate),
    (inputs, lake_file): (&InputHash, &InputHash),
) -> IssuedCall {
    let in_hexadecimal = |hash: &InputHash| hash.iter().map(|byte| format!("{byte:02x}")).collect();
    let species = offered.into_iter().filter_map(|(id, offered)| {
        let call = brief.whereabouts.get(&id)?;
        Some((id, CalledSpecies::of(call, offered)))
    });
    IssuedCall {
        form: CALL_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: brief.lake.id.clone(),
        as_of: brief.as_of,
        made_at,
        day,
        inputs_sha256: in_hexadecimal(inputs),
        lake_file_sha256: in_hexadecimal(lake_file),
        basis: brief.basis.clone(),
        species: species.collect(),
    }
}
