//! Saved replies: the whole one, or one of its parts.

use super::read::{Block, read_blocks};
use super::table::parameter;
use crate::lake::Cadence;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::reply::begins_with_word;
use crate::sources::saved::{Saved, SavedRecord};

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "\"primaryName\"") && begins_with_word(bytes, "\"secondaryName\"")
}

/// The records of a saved reply. It does not name its gauge. Of a part alone the code of the element tells what it
/// is: R at its fourth place for observed, F for forecast (SHEF; from memory, unverified).
///
/// # Errors
/// [`ReadError`]: no such reply, or damaged.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let blocks = read_blocks(bytes)?;
    let mut records = Vec::new();
    let mut faults = Vec::new();
    let alone = |block: &Block| match block.element.as_bytes().get(3) {
        Some(b'R') => "observed",
        Some(b'F') => "forecast",
        _ => "",
    };
    let all = [
        blocks.observed.map(|block| ("observed", block)),
        blocks.forecast.map(|block| ("forecast", block)),
        blocks.alone.map(|block| (alone(&block), block)),
    ];
    for (part, block) in all.into_iter().flatten() {
        push(&mut records, &mut faults, part, block);
    }
    Ok(Saved {
        service: super::NAME,
        kind: "stage and flow".to_owned(),
        records,
        faults,
    })
}

fn push(records: &mut Vec<SavedRecord>, faults: &mut Vec<RowFault>, part: &str, block: Block) {
    let stamp = |instant: chrono::DateTime<chrono::Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let cadence = if part == "forecast" {
        Cadence::Forecast
    } else {
        Cadence::Continuous
    };
    let issued = block.issued_at.map(|at| format!("issued {}", stamp(at)));
    let note: Vec<&str> = [Some(part).filter(|p| !p.is_empty()), issued.as_deref()]
        .into_iter()
        .flatten()
        .collect();
    for point in &block.points {
        for (k, column) in block
            .columns
            .iter()
            .enumerate()
            .filter(|(_, c)| !c.name.is_empty())
        {
            let name = column.name.to_lowercase();
            let quantity = parameter(&name).and_then(|p| p.quantities.first().copied());
            records.push(SavedRecord {
                time: stamp(point.time),
                series: block.element.clone(),
                qualifier: point.missing[k].clone().unwrap_or_default(),
                note: note.join(", "),
                ..SavedRecord::of("", &name).with_value(point.figures[k], &column.unit, quantity, cadence)
            });
        }
    }
    faults.extend(block.faults);
}
