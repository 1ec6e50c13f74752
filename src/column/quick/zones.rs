//! Geometry of the zones at today's level, and their water by member.

use chrono::{DateTime, Utc};

use super::fit::MeanDepth;
use crate::conditions::Conditions;
use crate::lake::{Hypsography, Lake, Zone, ZoneKind};

/// Mean depth where the lake file has no hypsography (common practice, no source).
const ASSUMED_MEAN_DEPTH_M: f64 = 15.0;
/// Depth to which a profile is drawn where no depth is known (common practice, no source).
const ASSUMED_MAX_DEPTH_M: f64 = 40.0;
/// Spacing of the profile's points.
const POINT_M: f64 = 1.0;

/// A zone with standing water at today's level.
#[derive(Debug, Clone)]
pub(in crate::column) struct ZoneShape<'a> {
    pub zone: &'a Zone,
    /// Depths of the profile's points, from 0. Shape `[point]`.
    pub depth_m: Vec<f64>,
    /// Shape `[point]`.
    pub area_m2: Option<Vec<f64>>,
    pub max_depth_m: Option<f64>,
    pub volume_m3: Option<f64>,
    pub closed: bool,
}

/// The level that closures, areas and volumes are taken at, and its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PoolLevel {
    pub elevation_m: f64,
    /// `None` where the storage that it was computed from has no time.
    pub observed_at: Option<DateTime<Utc>>,
}

/// The newest level: observed, or from the storage and the hypsography.
pub(super) fn pool_level(lake: &Lake, conditions: &Conditions) -> Option<PoolLevel> {
    let from_storage = || {
        Some(PoolLevel {
            elevation_m: lake.hypsography.as_ref()?.elevation_m(conditions.storage_m3?)?,
            observed_at: conditions.storage_observed_at,
        })
    };
    let observed = conditions.pool.as_ref().map(|pool| PoolLevel {
        elevation_m: pool.elevation_m,
        observed_at: Some(pool.observed_at),
    });
    observed.or_else(from_storage)
}

fn level_m(lake: &Lake, conditions: &Conditions) -> Option<f64> {
    pool_level(lake, conditions).map(|level| level.elevation_m)
}

/// Mean depth at today's level, at full pool where the level is not known; else a guess.
pub(super) fn mean_depth(lake: &Lake, conditions: &Conditions) -> MeanDepth {
    let level_m = level_m(lake, conditions).unwrap_or(lake.full_pool_elevation_m);
    let full = |table: &Hypsography| table.mean_depth_m(lake.full_pool_elevation_m);
    let known = lake
        .hypsography
        .as_ref()
        .and_then(|table| table.mean_depth_m(level_m).or_else(|| full(table)));
    match known.filter(|depth_m| *depth_m > 0.0) {
        Some(depth_m) => MeanDepth {
            depth_m,
            assumed: false,
        },
        None => MeanDepth {
            depth_m: ASSUMED_MEAN_DEPTH_M,
            assumed: true,
        },
    }
}

/// The main body and the arms, in the order of the lake file.
pub(in crate::column) fn zone_shapes<'a>(lake: &'a Lake, level_m: Option<f64>) -> Vec<ZoneShape<'a>> {
    let standing = lake.zones.iter().filter(|zone| zone.kind != ZoneKind::River);
    standing.map(|zone| zone_shape(lake, zone, level_m)).collect()
}

fn zone_shape<'a>(lake: &'a Lake, zone: &'a Zone, level_m: Option<f64>) -> ZoneShape<'a> {
    let max_depth_m = level_m.and_then(|level_m| lake.zone_max_depth_m(zone, level_m));
    // Without a level, the depth at full pool only says how far to draw.
    let drawn_m = max_depth_m
        .or_else(|| lake.zone_max_depth_m(zone, lake.full_pool_elevation_m))
        .or_else(|| lake.zone_max_depth_m(lake.main_body(), level_m.unwrap_or(lake.full_pool_elevation_m)))
        .unwrap_or(ASSUMED_MAX_DEPTH_M);
    let depth_m = points_m(drawn_m);
    let area_m2 = level_m.and_then(|level_m| {
        // Outside the hypsography at the surface: not known. Below its first row: no water.
        lake.zone_area_m2(zone, level_m)?;
        Some(
            depth_m
                .iter()
                .map(|z| lake.zone_area_m2(zone, level_m - z).unwrap_or(0.0))
                .collect(),
        )
    });
    ZoneShape {
        zone,
        depth_m,
        area_m2,
        max_depth_m,
        volume_m3: level_m.and_then(|level_m| lake.zone_volume_m3(zone, level_m)),
        closed: level_m
            .and_then(|level_m| lake.is_closed_at(zone, level_m))
            .unwrap_or(false),
    }
}

/// Depths from 0 in whole steps, the last at `deepest_m`.
fn points_m(deepest_m: f64) -> Vec<f64> {
    let whole = (deepest_m / POINT_M).ceil().max(0.0) as usize;
    let mut points: Vec<f64> = (0..whole).map(|i| i as f64 * POINT_M).collect();
    if points.is_empty() {
        points.push(0.0);
    }
    if deepest_m > 0.0 {
        points.push(deepest_m);
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_run_from_the_surface_to_the_bed() {
        assert_eq!(points_m(2.5), vec![0.0, 1.0, 2.0, 2.5]);
        assert_eq!(points_m(2.0), vec![0.0, 1.0, 2.0]);
        assert_eq!(points_m(0.0), vec![0.0]);
    }
}
