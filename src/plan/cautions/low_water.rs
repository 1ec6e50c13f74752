//! Rocks, stumps and ramp ends near the surface at a low level.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use crate::lake::{Hazard as Shoal, Lake, ZoneId};
use crate::plan::level::{JudgedLevel, judged_level};
use crate::plan::{Caution, CautionLevel, Hazard, RampState};

/// The caution of low water; `None` where the level is known, in time, and nothing is near the surface.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let unknown = |threshold: &str, missing: &str| {
        not_known(
            Hazard::LowWater,
            vec![missing.to_owned()],
            threshold,
            source(Hazard::LowWater),
        )
    };
    let pool = scene.conditions.pool.as_ref();
    let Some(level) = judged_level(scene.lake, scene.conditions) else {
        let threshold = "not known: no level in time in the feeds, so shoals and ramp ends cannot be judged";
        return Some(unknown(threshold, "pool_elevation"));
    };
    let shoals = shoals_near(scene.lake, level);
    let ramps: Vec<&RampState> = scene
        .ramps
        .iter()
        .filter(|r| end_is_near(scene.lake, r, level))
        .collect();
    let percentile = number(pool.and_then(|p| p.percentile_for_date_frac));
    let low_for_date =
        percentile.is_some_and(|p| p < si(Hazard::LowWater, CautionLevel::Caution, "percentile"));
    let found = if !shoals.is_empty() || !ramps.is_empty() || low_for_date {
        caution(
            Hazard::LowWater,
            CautionLevel::Caution,
            says(Hazard::LowWater, CautionLevel::Caution),
            source(Hazard::LowWater),
        )
        .with_figure_if("percentile_for_date_frac", percentile)
        .with_names(ramps.iter().map(|r| r.name.clone()))
        .with_shoals(&shoals, level)
    } else if level.late {
        let threshold = "not known: the level is late; nothing of the lake file would be within 5 ft of the surface if the \
                         pool went on falling, but nobody has read it";
        unknown(threshold, "pool_elevation")
    } else if percentile.is_none() {
        let threshold = "not known: the record is too short to say whether the level is low for the date";
        unknown(threshold, "pool_elevation record")
    } else {
        return None;
    };
    Some(
        found
            .with_figure("pool_elevation_m", level.newest_m)
            .with_figure_if("pool_elevation_low_m", level.late.then_some(level.lowest_m)),
    )
}

/// Water over a ramp's end, or over a shoal, that is too little.
fn near_m() -> f64 {
    si(Hazard::LowWater, CautionLevel::Caution, "near")
}

/// Whether the end of a ramp is under water but within 5 ft of the surface, be the ramp in use or just out
/// of it: a boat that runs over it, or backs a trailer beyond it, does not see it.
fn end_is_near(lake: &Lake, ramp: &RampState, level: JudgedLevel) -> bool {
    let (most_m, least_m) = (
        level.newest_m - ramp.toe_elevation_m,
        level.lowest_m - ramp.toe_elevation_m,
    );
    most_m >= 0.0 && least_m <= near_m() && !is_closed(lake, &ramp.zone, level)
}

/// Shoals that stand out of the water, or within 5 ft of the surface, or within the boat's draft where that is more; those of
/// closed arms are left out: there is no water to run in.
pub(super) fn shoals_near(lake: &Lake, level: JudgedLevel) -> Vec<&Shoal> {
    let near_m = lake
        .boat
        .map_or(near_m(), |boat| near_m().max(boat.running_depth_m));
    let near = |shoal: &&Shoal| level.lowest_m - shoal.top_elevation_m <= near_m;
    lake.hazards
        .iter()
        .filter(near)
        .filter(|shoal| !is_closed(lake, &shoal.zone, level))
        .collect()
}

/// Whether a zone is closed even at the highest level that the pool may stand at.
fn is_closed(lake: &Lake, zone: &ZoneId, level: JudgedLevel) -> bool {
    lake.zone(zone)
        .is_some_and(|zone| lake.is_closed_at(zone, level.newest_m) == Some(true))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::units::M_PER_FT;

    #[test]
    fn a_rock_is_named_when_the_water_over_it_comes_down_to_five_feet() {
        let mut morning = Morning::calm();
        let level_m = morning.pool().elevation_m;
        let mut level_over = |water_ft: f64| {
            morning.lake.hazards[0].top_elevation_m = level_m - water_ft * M_PER_FT;
            morning.caution(Hazard::LowWater)
        };
        assert_eq!(level_over(5.1), None);
        let near = level_over(4.9).unwrap();
        assert_eq!((near.level, near.shoals.len()), (CautionLevel::Caution, 1));
        assert!((near.shoals[0].water_over_m - 4.9 * M_PER_FT).abs() < 1e-9);
        assert!(
            level_over(-3.0).unwrap().shoals[0].water_over_m < 0.0,
            "out of the water"
        );
    }

    #[test]
    fn the_end_of_a_ramp_counts_from_five_feet_until_it_comes_out_of_the_water() {
        let mut morning = Morning::calm();
        let level_m = morning.pool().elevation_m;
        let mut names = |water_ft: f64| {
            morning.lake.ramps[0].toe_elevation_m = level_m - water_ft * M_PER_FT;
            morning.caution(Hazard::LowWater).map(|c| c.names)
        };
        assert_eq!(names(5.1), None);
        let named = Some(vec!["Dam Road".to_owned()]);
        assert_eq!(names(4.9), named);
        // The boat of the test needs 0.9 m (3 ft): out of use, and its end the nearer to the surface.
        assert_eq!(names(0.5), named);
        assert_eq!(names(-0.1), None, "a dry end is in plain sight");
    }

    #[test]
    fn a_late_level_counts_what_a_lower_pool_would_bring_up_and_is_never_silent() {
        let mut morning = Morning::calm();
        let level_m = morning.pool().elevation_m;
        morning.lake.hazards[0].top_elevation_m = level_m - 5.4 * M_PER_FT;
        assert_eq!(morning.caution(Hazard::LowWater), None);
        // A day at half a foot a day: 4.9 ft over it.
        morning.set_level_age_h(24.0);
        let near = morning.caution(Hazard::LowWater).unwrap();
        assert_eq!((near.level, near.shoals.len()), (CautionLevel::Caution, 1));
        assert!((near.shoals[0].water_over_m - 4.9 * M_PER_FT).abs() < 1e-9);
        assert!((near.figures["pool_elevation_low_m"] - (level_m - 0.5 * M_PER_FT)).abs() < 1e-9);
        // Between the level read and the lower one it may be right at the surface.
        morning.lake.hazards[0].top_elevation_m = level_m - 0.2 * M_PER_FT;
        assert_eq!(
            morning.caution(Hazard::LowWater).unwrap().shoals[0].water_over_m,
            0.0
        );
        morning.lake.hazards[0].top_elevation_m = level_m - 30.0 * M_PER_FT;
        assert_eq!(morning.level_of(Hazard::LowWater), Some(CautionLevel::NotKnown));
    }

    #[test]
    fn a_level_below_the_twentieth_percentile_is_low_for_the_date() {
        let mut morning = Morning::calm();
        let mut level = |percentile: Option<f64>| {
            morning.pool().percentile_for_date_frac = percentile;
            morning.level_of(Hazard::LowWater)
        };
        assert_eq!(level(Some(0.20)), None);
        assert_eq!(level(Some(0.19)), Some(CautionLevel::Caution));
        assert_eq!(level(None), Some(CautionLevel::NotKnown));
        morning.conditions.pool = None;
        assert_eq!(morning.level_of(Hazard::LowWater), Some(CautionLevel::NotKnown));
    }
}
