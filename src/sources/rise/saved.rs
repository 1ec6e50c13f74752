//! The records of any saved reply of the service.

use super::item::{Item, RiseLocation, read_items, read_locations};
use super::result::{Outcome, read_results};
use super::table::quantity_of;
use crate::lake::Cadence;
use crate::sources::error::ReadError;
use crate::sources::reply::begins_with_word;
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::usgs_ogc::station_record;

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "\"attributes\"")
        && (begins_with_word(bytes, "/rise/api/") || begins_with_word(bytes, "\"itemId\""))
}

/// The records of a saved reply: results, locations, or items and parameters.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let has = |word: &str| begins_with_word(bytes, word);
    let saved = |kind: &str, records| Saved {
        service: super::NAME,
        kind: kind.to_owned(),
        records,
        faults: Vec::new(),
    };
    if has("\"locationName\"") {
        let found = read_locations(bytes)?;
        return Ok(Saved {
            faults: found.faults,
            ..saved(
                "locations",
                found.locations.into_iter().flat_map(of_location).collect(),
            )
        });
    }
    if has("\"parameterName\"") || has("\"itemTitle\"") {
        let (items, _) = read_items(bytes)?;
        return Ok(saved("items", items.iter().map(of_item).collect()));
    }
    let results = read_results(bytes)?;
    Ok(Saved {
        faults: results.faults,
        ..saved(
            "results (their unit stands with the item)",
            results.outcomes.iter().map(of_outcome).collect(),
        )
    })
}

fn of_outcome(outcome: &Outcome) -> SavedRecord {
    SavedRecord {
        time: outcome.time.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        qualifier: outcome.kind.clone().unwrap_or_default(),
        note: outcome.time_step.clone().unwrap_or_default(),
        ..SavedRecord::of(outcome.location.as_deref().unwrap_or_default(), &outcome.item).with_value(
            outcome.value,
            "",
            None,
            Cadence::Continuous,
        )
    }
}

fn of_item(item: &Item) -> SavedRecord {
    let extent = match &item.extent {
        (Some(first), Some(last)) => format!("{first} to {last}"),
        (Some(first), None) => format!("from {first}"),
        _ => String::new(),
    };
    let words = [
        item.name.clone(),
        item.time_step.clone().unwrap_or_default(),
        extent,
    ];
    SavedRecord {
        unit: item.unit.clone().unwrap_or_default(),
        quantity: quantity_of(&item.name),
        note: words
            .into_iter()
            .filter(|word| !word.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
        ..SavedRecord::of(item.location.as_deref().unwrap_or_default(), &item.id)
    }
}

fn of_location(location: RiseLocation) -> Vec<SavedRecord> {
    let mut records = vec![SavedRecord {
        series: location.kind.unwrap_or_default(),
        ..station_record(location.station)
    }];
    records.extend(location.items.iter().map(of_item));
    records
}
