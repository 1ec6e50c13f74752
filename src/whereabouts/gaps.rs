//! What the rules did not know, and what follows.

use std::collections::{BTreeMap, BTreeSet};

use super::drivers::{ZoneDrivers, inflow_of, water_of};
use super::rules::{Driver, Term};
use crate::column::Water;
use crate::lake::{Lake, SeriesPlace, ZoneId, ZoneKind};
use crate::quantity::Quantity;
use crate::series::{Consequence, Gap, GapReason};
use crate::species::{Species, Unknown};

/// One gap for each missing driver (and zone, where it is a matter of the zone), with the rules that it
/// leaves out. Closed zones ask for nothing.
pub fn driver_gaps(lake: &Lake, species: &Species, zones: &[ZoneDrivers], terms: &[Vec<Term>]) -> Vec<Gap> {
    let mut left_out: BTreeMap<(Driver, Option<ZoneId>), BTreeSet<usize>> = BTreeMap::new();
    for (zone, terms) in zones.iter().zip(terms).filter(|(zone, _)| !zone.closed) {
        for term in terms {
            for driver in &term.missing {
                let place = is_of_zone(lake, *driver).then(|| zone.zone.clone());
                left_out.entry((*driver, place)).or_default().insert(term.row);
            }
        }
    }
    left_out
        .into_iter()
        .map(|((driver, place), rows)| {
            let has_river = zones
                .iter()
                .any(|z| Some(&z.zone) == place.as_ref() && z.has_river);
            let ids: Vec<&str> = rows.iter().map(|row| species.rules[*row].id.as_str()).collect();
            let spoken_of = place
                .as_ref()
                .and_then(|id| lake.zone(id))
                .map_or("the arms and rivers", |z| &z.name);
            let spread = rows
                .iter()
                .any(|row| species.rules[*row].unknown_half_range > 0.0);
            let spread = if spread {
                "; the interval keeps their spread"
            } else {
                ""
            };
            let figure = format!("{} for {} in {spoken_of}{spread}", ids.join(", "), species.name);
            Gap {
                what: topic(driver, place.as_ref()),
                reason: reason(lake, driver, place.as_ref(), has_river),
                consequence: Consequence::LeftOut { figure },
            }
        })
        .collect()
}

/// Whether a driver is missing zone by zone, or for the whole lake: turbidity that nobody measures is one gap.
fn is_of_zone(lake: &Lake, driver: Driver) -> bool {
    match driver {
        Driver::ZoneWater | Driver::RiverTemp | Driver::FlowRatio => true,
        Driver::Turbidity => has_turbidity(lake),
        Driver::MainWater | Driver::Areas | Driver::LevelChange | Driver::Forage | Driver::Releases => false,
    }
}

fn has_turbidity(lake: &Lake) -> bool {
    lake.series.iter().any(|s| s.quantity == Quantity::Turbidity)
}

fn topic(driver: Driver, zone: Option<&ZoneId>) -> String {
    let word = match driver {
        Driver::MainWater | Driver::ZoneWater => "water_temp",
        Driver::Areas => "hypsography",
        Driver::RiverTemp => "river_temp",
        Driver::FlowRatio => "flow_ratio",
        Driver::LevelChange => "level_change_7d",
        Driver::Turbidity => "turbidity",
        Driver::Forage => "forage",
        Driver::Releases => "stocking",
    };
    zone.map_or_else(|| word.to_owned(), |zone| format!("{word}:{zone}"))
}

fn reason(lake: &Lake, driver: Driver, zone: Option<&ZoneId>, has_river: bool) -> GapReason {
    let described = match driver {
        Driver::MainWater | Driver::ZoneWater => true,
        Driver::Areas => lake.hypsography.is_some(),
        Driver::RiverTemp | Driver::FlowRatio => has_river,
        Driver::LevelChange => lake
            .series_of(Quantity::PoolElevation, &SeriesPlace::Lake)
            .next()
            .is_some(),
        Driver::Turbidity => zone.and_then(|id| lake.zone(id)).is_some_and(|z| {
            let river = inflow_of(lake, z).map(|i| SeriesPlace::Inflow(i.id.clone()));
            let places = std::iter::once(SeriesPlace::Zone(z.id.clone())).chain(river);
            places
                .into_iter()
                .any(|p| lake.series_of(Quantity::Turbidity, &p).next().is_some())
        }),
        // Neither has a series: forage comes from bait marks in the trip log.
        Driver::Forage | Driver::Releases => true,
    };
    if described {
        GapReason::NoData
    } else {
        GapReason::NotDescribed
    }
}

/// The gap that says that oxygen is not known in some open water, so that the depth band and the shares
/// rest on temperature alone there; `None` where it is known everywhere.
pub fn oxygen_gap(lake: &Lake, water: &Water) -> Option<Gap> {
    let standing = lake.zones.iter().filter(|z| z.kind != ZoneKind::River);
    let unknown = standing
        .filter_map(|z| water_of(water, &z.id))
        .any(|w| !w.closed && w.oxygen_mg_l.is_none());
    let described = lake.oxygen.is_some()
        || lake
            .series
            .iter()
            .any(|s| s.quantity == Quantity::DissolvedOxygen);
    unknown.then(|| Gap {
        what: "dissolved_oxygen".to_owned(),
        reason: if described {
            GapReason::NoData
        } else {
            GapReason::NotDescribed
        },
        consequence: Consequence::StandIn {
            stand_in: "temperature alone (the deep water may hold too little oxygen, and the depth band \
                       reach too deep)"
                .to_owned(),
        },
    })
}

/// The gaps that a species file tells itself: what is not known of the species, and what is left out for it.
pub fn species_gaps(species: &Species) -> Vec<Gap> {
    let left_out = |part: &Unknown| match part {
        Unknown::Temperature => "depth band and suitable water",
        Unknown::Oxygen => "oxygen in the suitability of water",
        Unknown::Limits => "hard limits of temperature and oxygen",
        Unknown::Rules => "shares of main body, arms and rivers",
    };
    species
        .not_known
        .iter()
        .map(|(part, why)| Gap {
            what: format!("species_{}:{}", part.key(), species.id),
            reason: GapReason::NotKnown { why: why.clone() },
            consequence: Consequence::LeftOut {
                figure: format!("{} of {}", left_out(part), species.name),
            },
        })
        .collect()
}

/// The gap of a zone without a depth band.
pub fn band_gap(species: &Species, zone_name: &str, has_profile: bool) -> Gap {
    let figure = if has_profile {
        format!(
            "depth band of {}: no depth of {zone_name} suits it in any member",
            species.name
        )
    } else {
        format!(
            "depth band of {}: the water of {zone_name} is not known",
            species.name
        )
    };
    Gap {
        what: "depth_band".to_owned(),
        reason: GapReason::NoData,
        consequence: Consequence::LeftOut { figure },
    }
}
