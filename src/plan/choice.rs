//! Which zone and ramp follow from a species' shares.

use crate::lake::{Lake, ZoneId, ZoneKind};
use crate::plan::RampState;
use crate::whereabouts::SpeciesCall;

/// Share above which the second zone is the fallback (fish.md 5, project choice).
const FALLBACK_SHARE_FRAC: f64 = 0.3;

/// The zone to fall back to: the fishable zone with the second largest share, where that is above 0.3.
pub fn fallback_zone(call: &SpeciesCall) -> Option<ZoneId> {
    call.zones
        .iter()
        .filter(|(id, share)| {
            share.fishable && **id != call.likeliest_fishable && share.share > FALLBACK_SHARE_FRAC
        })
        .max_by(|a, b| a.1.share.total_cmp(&b.1.share))
        .map(|(id, _)| id.clone())
}

/// The ramp with the most water over its toe among those that float the boat: in the zone itself, else
/// in the main body, else in any arm. By level only.
pub fn ramp_for(lake: &Lake, ramps: &[RampState], zone: &ZoneId) -> Option<String> {
    let rank = |ramp: &RampState| {
        if &ramp.zone == zone {
            2
        } else if lake
            .zone(&ramp.zone)
            .is_some_and(|z| z.kind == ZoneKind::MainBody)
        {
            1
        } else {
            0
        }
    };
    ramps
        .iter()
        .filter(|r| r.usable == Some(true))
        .max_by(|a, b| {
            let water = |r: &RampState| r.water_over_toe_m.unwrap_or(f64::NEG_INFINITY);
            rank(a).cmp(&rank(b)).then(water(a).total_cmp(&water(b)))
        })
        .map(|r| r.id.clone())
}
