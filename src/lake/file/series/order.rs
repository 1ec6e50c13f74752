//! What series that stand in for each other must have in common.

use std::collections::BTreeMap;

use crate::lake::file::block::{plain, quote};
use crate::lake::file::fault::{At, Faults};
use crate::lake::{SeriesPlace, SeriesSource};

/// Most that the depths of two series of one water may differ, metres (project choice): the surface is no
/// stand-in for deep water.
const SAME_DEPTH_M: f64 = 2.0;

/// A series that stands in for another.
pub(super) struct StandIn {
    pub id: String,
    /// The one that it stands in for.
    pub first: At<String>,
}

/// Notes each series that stands in for one of another quantity, place or depth, and each that comes to
/// stand in for itself. `sound` are the series without faults of their own.
pub(super) fn check_order<'s>(
    faults: &Faults<'_>,
    stand_ins: &[StandIn],
    sound: impl Iterator<Item = &'s SeriesSource>,
) {
    let sound: BTreeMap<&str, &SeriesSource> = sound.map(|s| (s.id.as_str(), s)).collect();
    for stand_in in stand_ins {
        let wanted = |what: String| format!("a series of {what}, as {} is", quote(&stand_in.id));
        let fault = |found: String, wanted: String| {
            let found = format!("{}, {found}", quote(&stand_in.first.value));
            faults.add(
                stand_in.first.span.start,
                format!("stands_in_for = {found}"),
                wanted,
                "name another series, or remove the key",
            );
        };
        if goes_in_a_circle(stand_in, stand_ins) {
            fault(
                "which in the end stands in for itself".to_owned(),
                "an order that has a first".to_owned(),
            );
            continue;
        }
        let pair = sound
            .get(stand_in.id.as_str())
            .zip(sound.get(stand_in.first.value.as_str()));
        let Some((own, first)) = pair else { continue };
        if own.quantity != first.quantity {
            fault(
                format!("which measures {}", first.quantity.word()),
                wanted(own.quantity.word().to_owned()),
            );
        } else if own.place != first.place {
            fault(
                format!("which is {}", place(&first.place)),
                wanted(place(&own.place)),
            );
        } else if let (Some(own_m), Some(first_m)) = (own.depth_m, first.depth_m)
            && (own_m - first_m).abs() > SAME_DEPTH_M
        {
            fault(
                format!("which is at {} m", plain(first_m)),
                format!("one within {} m of {} m", plain(SAME_DEPTH_M), plain(own_m)),
            );
        }
    }
}

fn goes_in_a_circle(start: &StandIn, all: &[StandIn]) -> bool {
    let mut at = start;
    for _ in all {
        if at.first.value == start.id {
            return true;
        }
        match all.iter().find(|s| s.id == at.first.value) {
            Some(next) => at = next,
            None => return false,
        }
    }
    false
}

fn place(place: &SeriesPlace) -> String {
    match place {
        SeriesPlace::Lake => "of the whole lake".to_owned(),
        SeriesPlace::Zone(zone) => format!("in zone {}", quote(zone.as_str())),
        SeriesPlace::Inflow(inflow) => format!("of inflow {}", quote(inflow.as_str())),
    }
}
