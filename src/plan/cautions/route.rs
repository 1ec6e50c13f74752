//! Waters that a boat may come to today, as cautions have to know them before there is a plan.
//!
//! A plan orders every open zone of standing water, one after the other, whatever ramps are in use: the run to a zone may not
//! be known, and a zone that is last in the order is still one of it. So the possible routes are all open zones, and the river
//! above each of them, up to its last trollable yard. What is left out is an arm that is closed at this level, with its river.

use super::note::Scene;
use crate::lake::{Inflow, ZoneId, ZoneKind};
use crate::whereabouts::drivers::water_of;

/// Whether some route of today may come to a zone; a zone of which nothing is known counts.
pub(super) fn on_route(scene: Scene, zone: &ZoneId) -> bool {
    let river = scene.lake.zone(zone).filter(|z| z.kind == ZoneKind::River);
    let standing = river.and_then(|z| z.above.as_ref()).unwrap_or(zone);
    !water_of(scene.water, standing).is_some_and(|water| water.closed)
}

/// Whether some route of today may come to the water of an inflow: to its reach above an open zone, or its plume in it.
pub(super) fn river_on_route(scene: Scene, inflow: &Inflow) -> bool {
    on_route(scene, &inflow.enters)
}
