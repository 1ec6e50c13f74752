//! How deep to run, by species, zone and hour, and which structure reaches that depth.

use serde::{Deserialize, Serialize};

use super::way::Ways;
use crate::column::Water;
use crate::conditions::{Conditions, LightCondition};
use crate::lake::{Lake, SpeciesId, Stretch, Structure, ZoneId, ZoneKind, practice};
use crate::species::Species;
use crate::whereabouts::DepthRange;
use crate::whereabouts::depth::DepthBand;
use crate::whereabouts::drivers::water_of;
use crate::whereabouts::zone_band::{ZoneBand, zone_band};
use chrono::{DateTime, Duration, Utc};

/// Shallowest that a ball is set (project choice): above it a line is run flat.
const LEAST_DEPTH_M: f64 = 1.5;
/// Depth of the surface band that a line is run flat in.
const SURFACE_BAND_M: f64 = 3.0;
/// The surface suits a species while it has this share of the best water (project choice).
const SURFACE_SUITS_FRAC: f64 = 0.9;
/// Water that a ball keeps under it (project choice).
const CLEARANCE_M: f64 = 1.5;

/// The depths of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesDepth {
    /// Species.
    pub species: SpeciesId,
    /// One entry an open zone of standing water, in the order of the lake file.
    pub zones: Vec<ZoneDepth>,
    /// When the depth of first light holds; `None` where dawn is not known.
    pub first_light: Option<FirstLight>,
    /// Whether feeding fish are said to move to steep structure.
    pub steep: bool,
}

/// The hours in which fish are taken to stand shallower.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FirstLight {
    /// Civil dawn.
    pub from: DateTime<Utc>,
    /// An hour after sunrise.
    pub to: DateTime<Utc>,
}

/// The depth in one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ZoneDepth {
    /// Zone.
    pub zone: ZoneId,
    /// Upper edge of the band of suitable water; `None` where none is known.
    pub band_top_m: Option<f64>,
    /// Lower edge.
    pub band_bottom_m: Option<f64>,
    /// Depth to set: the best water of the band, its middle where none stands out; where that lies outside the hard limits, the nearest
    /// depth of the band within them, if there is one.
    pub set_m: Option<f64>,
    /// Depth to set at first light: shallower, but not above the band, nor above water that is too warm or too poor.
    pub first_light_m: Option<f64>,
    /// Depths within the hard limits of temperature and oxygen; empty where none is, `None` where its limits are not known.
    pub within_limits: Option<Vec<DepthRange>>,
    /// Whether the set depth lies outside them: no depth of the band is within.
    pub outside_limits: bool,
    /// Whether a layer of the band thick enough to run a ball in (1 m, project choice) is within them; so it is taken to be where they are
    /// not known.
    pub has_layer_within: bool,
    /// Depth down to which the surface suits it as well as any water and has a layer within its limits, so that a line is run flat; `None` where
    /// it does not.
    pub surface_m: Option<f64>,
    /// Stretches of the zone that reach the set depth, those to try first in front.
    pub structures: Vec<StructurePick>,
}

/// A stretch against the depth to set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct StructurePick {
    /// Stretch.
    pub stretch: String,
    /// Name.
    pub name: String,
    /// Structure.
    pub structure: Structure,
    /// Water over its bed today.
    pub water_m: f64,
    /// Whether it is steep.
    pub steep: bool,
}

/// A layer within the limits that is thinner than this is no place to run: no ball is held to it (project choice).
const LEAST_LAYER_M: f64 = 1.0;

/// Depths of `species` in every open zone.
pub fn species_depth(lake: &Lake, species: &Species, conditions: &Conditions, water: &Water) -> SpeciesDepth {
    let id = SpeciesId::new(species.id.clone());
    let habit = practice().habit(&id);
    let (steep, surface) = habit.map_or((false, false), |h| (h.steep, h.surface));
    let level_m = Ways::new(lake, conditions).level().map(|l| l.newest_m);
    let open = lake.zones.iter().filter(|z| z.kind != ZoneKind::River);
    let zones = open
        .filter_map(|zone| {
            let own = water_of(water, &zone.id).filter(|w| !w.closed)?;
            let found = zone_band(species, own);
            let stretches: Vec<&Stretch> = lake.stretches.iter().filter(|s| s.zone == zone.id).collect();
            Some(zone_depth(&zone.id, &found, surface, steep, level_m, &stretches))
        })
        .collect();
    SpeciesDepth {
        species: id,
        zones,
        first_light: conditions.light.as_ref().and_then(first_light),
        steep,
    }
}

fn first_light(light: &LightCondition) -> Option<FirstLight> {
    let after_s = (practice().after_sunrise_h() * 3600.0) as i64;
    Some(FirstLight {
        from: light.civil_dawn?,
        to: light.sunrise? + Duration::seconds(after_s),
    })
}

fn zone_depth(
    zone: &ZoneId,
    found: &ZoneBand,
    surface: bool,
    steep: bool,
    level_m: Option<f64>,
    stretches: &[&Stretch],
) -> ZoneDepth {
    let band = found.band;
    let limits = found.within_limits.as_deref();
    let inside = |depth_m: f64| limits.is_none_or(|l| l.iter().any(|r| holds(r, depth_m)));
    // What of the band is within the limits.
    let layers: Vec<DepthRange> = match (band, limits) {
        (Some(band), Some(limits)) => limits.iter().filter_map(|r| common(r, &band)).collect(),
        _ => Vec::new(),
    };
    let set_m = band.map(|b| {
        let best_m = b.best_m.unwrap_or(b.middle_m).max(LEAST_DEPTH_M);
        nearest_within(&layers, best_m)
            .filter(|_| !inside(best_m))
            .unwrap_or(best_m)
    });
    let first_light_m = set_m.zip(band).map(|(set_m, band)| {
        let shallower_m = (set_m - practice().shallower_m())
            .max(LEAST_DEPTH_M)
            .max(band.top_m)
            .min(set_m);
        // Water above that is too warm, or too poor in oxygen, holds them down.
        let range = limits.and_then(|l| l.iter().find(|r| holds(r, set_m)));
        range.map_or(shallower_m, |r| shallower_m.max(r.top_m))
    });
    let suits = found
        .surface_suitability
        .zip(found.best_suitability)
        .is_some_and(|(top, best)| best > 0.0 && top >= SURFACE_SUITS_FRAC * best);
    // The zone's figure is that of its best part, and a cold river at the head of an arm is one: its layers have a say too.
    let top_within = limits.is_none_or(|l| {
        let upper = |r: &DepthRange| r.bottom_m.min(SURFACE_BAND_M) - r.top_m;
        l.iter().any(|r| upper(r) >= LEAST_LAYER_M)
    });
    let structures = match (set_m, level_m) {
        (Some(set_m), Some(level_m)) => picks(stretches, set_m, level_m, steep),
        _ => Vec::new(),
    };
    ZoneDepth {
        zone: zone.clone(),
        band_top_m: band.map(|b| b.top_m),
        band_bottom_m: band.map(|b| b.bottom_m),
        set_m,
        first_light_m,
        within_limits: found.within_limits.clone(),
        outside_limits: set_m.is_some_and(|m| !inside(m)),
        has_layer_within: limits.is_none() || layers.iter().any(|r| r.bottom_m - r.top_m >= LEAST_LAYER_M),
        surface_m: (surface && suits && top_within).then_some(SURFACE_BAND_M),
        structures,
    }
}

/// What of a range within the limits lies in the band.
fn common(range: &DepthRange, band: &DepthBand) -> Option<DepthRange> {
    let both = DepthRange {
        top_m: range.top_m.max(band.top_m).max(LEAST_DEPTH_M),
        bottom_m: range.bottom_m.min(band.bottom_m),
    };
    (both.top_m <= both.bottom_m).then_some(both)
}

/// The depth of the layers that is nearest to `depth_m`.
fn nearest_within(layers: &[DepthRange], depth_m: f64) -> Option<f64> {
    layers
        .iter()
        .map(|layer| depth_m.max(layer.top_m).min(layer.bottom_m))
        .min_by(|a, b| (a - depth_m).abs().total_cmp(&(b - depth_m).abs()))
}

fn holds(range: &DepthRange, depth_m: f64) -> bool {
    (range.top_m..=range.bottom_m).contains(&depth_m)
}

/// Stretches with water for the depth to set under their line: steep ones first where the species keeps to them, then those whose bed is nearest
/// below it.
fn picks(stretches: &[&Stretch], set_m: f64, level_m: f64, steep_first: bool) -> Vec<StructurePick> {
    let mut found: Vec<StructurePick> = stretches
        .iter()
        .map(|s| StructurePick {
            stretch: s.id.clone(),
            name: s.name.clone(),
            structure: s.structure,
            water_m: level_m - s.bed_elevation_m,
            steep: is_steep(s.structure),
        })
        // At a hump as anywhere: a ball that hangs up in the bed holds the boat.
        .filter(|p| p.water_m >= set_m + CLEARANCE_M)
        .collect();
    let order = |p: &StructurePick| (steep_first && !p.steep, (p.water_m - set_m).abs());
    found.sort_by(|a, b| {
        let (a, b) = (order(a), order(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    found
}

/// Walls, and the sides of humps and points.
fn is_steep(structure: Structure) -> bool {
    matches!(structure, Structure::Bluff | Structure::Island | Structure::Point)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(best_m: Option<f64>) -> ZoneBand {
        ZoneBand {
            band: Some(DepthBand {
                top_m: 10.0,
                middle_m: 16.0,
                bottom_m: 30.0,
                best_m,
            }),
            within_limits: Some(vec![DepthRange {
                top_m: 13.0,
                bottom_m: 40.0,
            }]),
            surface_suitability: Some(0.5),
            best_suitability: Some(0.52),
        }
    }

    fn stretch(id: &str, structure: Structure, bed_elevation_m: f64) -> Stretch {
        Stretch {
            id: id.to_owned(),
            name: id.to_owned(),
            zone: ZoneId::new("main"),
            structure,
            line: Vec::new(),
            outline: Vec::new(),
            bed_elevation_m,
        }
    }

    fn depth(found: &ZoneBand, surface: bool, steep: bool, stretches: &[&Stretch]) -> ZoneDepth {
        zone_depth(
            &ZoneId::new("main"),
            found,
            surface,
            steep,
            Some(250.0),
            stretches,
        )
    }

    #[test]
    fn the_depth_to_set_is_the_best_water_and_at_first_light_shallower_as_far_as_the_water_allows() {
        let free = depth(&band(Some(20.0)), false, false, &[]);
        assert_eq!(free.set_m, Some(20.0));
        // Common practice, no source: 5 to 10 ft shallower; the middle, 7.5 ft, is 2.286 m.
        assert!((free.first_light_m.unwrap() - 17.714).abs() < 1e-9);
        let held = depth(&band(None), false, false, &[]);
        assert_eq!((held.set_m, held.first_light_m), (Some(16.0), Some(13.714)));
        let squeezed = depth(&band(Some(14.0)), false, false, &[]);
        assert_eq!(
            squeezed.first_light_m,
            Some(13.0),
            "the water above 13 m is too warm"
        );
        assert!(!squeezed.outside_limits);
        let in_the_band = depth(&band(Some(11.0)), false, false, &[]);
        assert_eq!(
            in_the_band.first_light_m,
            Some(13.0),
            "the limits hold it at their edge"
        );
        let mut wide = band(Some(11.0));
        wide.within_limits = None;
        let unlimited = depth(&wide, false, false, &[]);
        assert_eq!(
            (unlimited.set_m, unlimited.first_light_m),
            (Some(11.0), Some(10.0)),
            "no shallower than the band"
        );
    }

    #[test]
    fn the_depth_to_set_keeps_to_the_limits_where_the_band_reaches_them() {
        // The band of the test is 10 to 30 m.
        let with = |best_m, ranges: &[(f64, f64)]| {
            let range = |&(top_m, bottom_m): &(f64, f64)| DepthRange { top_m, bottom_m };
            let mut found = band(Some(best_m));
            found.within_limits = Some(ranges.iter().map(range).collect());
            let found = depth(&found, false, false, &[]);
            (found.set_m, found.outside_limits, found.has_layer_within)
        };
        assert_eq!(with(12.0, &[(13.0, 40.0)]), (Some(13.0), false, true));
        assert_eq!(
            with(20.0, &[(0.0, 11.0), (28.5, 40.0)]),
            (Some(28.5), false, true)
        );
        assert_eq!(
            with(20.0, &[(0.0, 12.0), (29.5, 40.0)]),
            (Some(12.0), false, true)
        );
        // Half a metre is no layer to run in; but where it is the only one, the ball is set to it.
        assert_eq!(with(20.0, &[(29.5, 40.0)]), (Some(29.5), false, false));
        assert_eq!(with(20.0, &[(0.0, 9.0), (31.0, 40.0)]), (Some(20.0), true, false));
        assert_eq!(with(20.0, &[]), (Some(20.0), true, false));
    }

    #[test]
    fn the_surface_is_run_only_by_species_that_use_it_and_where_it_suits_them() {
        let within = |top_m: f64| {
            let within_limits = Some(vec![DepthRange {
                top_m,
                bottom_m: 40.0,
            }]);
            ZoneBand {
                within_limits,
                ..band(None)
            }
        };
        let surface_m = |found: &ZoneBand, uses_it| depth(found, uses_it, false, &[]).surface_m;
        assert_eq!(surface_m(&within(0.0), true), Some(3.0));
        assert_eq!(surface_m(&within(0.0), false), None);
        let warm = ZoneBand {
            surface_suitability: Some(0.2),
            ..within(0.0)
        };
        assert_eq!(surface_m(&warm, true), None);
        // The best part may be a river's; the upper three metres need a layer of one within the limits, or limits that are not known.
        assert_eq!(surface_m(&within(2.0), true), Some(3.0));
        assert_eq!(surface_m(&within(2.1), true), None);
        let unknown = ZoneBand {
            within_limits: None,
            ..within(0.0)
        };
        assert_eq!(surface_m(&unknown, true), Some(3.0));
    }

    #[test]
    fn kings_try_steep_structure_that_reaches_the_depth_first() {
        // The pool stands at 250 m and the depth to set is 20 m.
        let (flat, wall) = (
            stretch("flat", Structure::Flat, 228.0),
            stretch("wall", Structure::Bluff, 210.0),
        );
        let shallow = stretch("shallow wall", Structure::Bluff, 240.0);
        let hump = stretch("hump", Structure::Island, 235.0);
        let deep_hump = stretch("deep hump", Structure::Island, 215.0);
        let all = [&flat, &wall, &shallow, &hump, &deep_hump];
        let names = |steep| -> Vec<String> {
            let found = depth(&band(Some(20.0)), false, steep, &all);
            found.structures.into_iter().map(|s| s.name).collect()
        };
        // The hump whose crown stands at 15 m is no place for a ball at 20.
        assert_eq!(names(true), ["deep hump", "wall", "flat"]);
        assert_eq!(names(false), ["flat", "deep hump", "wall"]);
    }

    #[test]
    fn nothing_is_said_of_depth_where_no_water_suits() {
        let none = ZoneBand {
            band: None,
            within_limits: None,
            surface_suitability: None,
            best_suitability: None,
        };
        let found = depth(&none, true, true, &[]);
        assert_eq!(
            (found.set_m, found.first_light_m, found.surface_m),
            (None, None, None)
        );
    }
}
