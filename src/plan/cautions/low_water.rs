//! Rocks, stumps and ramp ends near the surface at a low level.

use super::note::{Scene, caution, not_known, number};
use crate::lake::{Hazard as Shoal, Lake};
use crate::plan::ramp::level_m;
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::units::M_PER_FT;

/// Water over a ramp's end, or over a shoal, that is too little (project choice).
const NEAR_FT: f64 = 5.0;
/// Share of the record's levels of the date below which the level counts as low (project choice).
const LOW_FRAC: f64 = 0.20;

const THRESHOLD: &str = "within 5 ft of the end of a ramp in use, below the 20th percentile of levels for the date, or a named \
                         rock, stump field or saddle out of the water or within 5 ft of the surface";
const SOURCE: &str = "project choice; Oregon Marine Board notice, read: rocks, stumps and logs stand just under the surface at \
                      low level; hazards by the lake file, others are not known";

/// The caution of low water; `None` where the level is known and nothing is near the surface.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let pool = scene.conditions.pool.as_ref();
    let Some(elevation_m) = level_m(scene.conditions) else {
        let threshold =
            "not known: no level of the last week in the feeds, so shoals and ramp ends cannot be judged";
        return Some(not_known(
            Hazard::LowWater,
            vec!["pool_elevation".to_owned()],
            threshold,
            SOURCE,
        ));
    };
    let near_m = NEAR_FT * M_PER_FT;
    let shoals = shoals_near(scene.lake, elevation_m);
    let in_use = scene.ramps.iter().filter(|r| r.usable == Some(true));
    let ramps: Vec<_> = in_use
        .filter(|r| r.water_over_toe_m.is_some_and(|w| w <= near_m))
        .collect();
    let percentile = number(pool.and_then(|p| p.percentile_for_date_frac));
    let low_for_date = percentile.is_some_and(|p| p < LOW_FRAC);
    if shoals.is_empty() && ramps.is_empty() && !low_for_date {
        if percentile.is_some() {
            return None;
        }
        let threshold = "not known: the record is too short to say whether the level is low for the date";
        let missing = vec!["pool_elevation record".to_owned()];
        return Some(
            not_known(Hazard::LowWater, missing, threshold, SOURCE)
                .with_figure("pool_elevation_m", elevation_m),
        );
    }
    Some(
        caution(Hazard::LowWater, CautionLevel::Caution, THRESHOLD, SOURCE)
            .with_figure("pool_elevation_m", elevation_m)
            .with_figure_if("percentile_for_date_frac", percentile)
            .with_names(ramps.iter().map(|r| r.name.clone()))
            .with_shoals(&shoals, elevation_m),
    )
}

/// Shoals that stand out of the water or within 5 ft of the surface, those of closed arms left out:
/// there is no water to run in.
pub(super) fn shoals_near(lake: &Lake, elevation_m: f64) -> Vec<&Shoal> {
    let closed = |shoal: &Shoal| {
        lake.zone(&shoal.zone)
            .is_some_and(|zone| lake.is_closed_at(zone, elevation_m) == Some(true))
    };
    lake.hazards
        .iter()
        .filter(|shoal| elevation_m - shoal.top_elevation_m <= NEAR_FT * M_PER_FT && !closed(shoal))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

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
    fn the_end_of_a_ramp_in_use_counts_from_five_feet_and_one_out_of_use_does_not() {
        let mut morning = Morning::calm();
        let level_m = morning.pool().elevation_m;
        let mut names = |water_ft: f64| {
            morning.lake.ramps[0].toe_elevation_m = level_m - water_ft * M_PER_FT;
            morning.caution(Hazard::LowWater).map(|c| c.names)
        };
        assert_eq!(names(5.1), None);
        assert_eq!(names(4.9), Some(vec!["Dam Road".to_owned()]));
        assert_eq!(names(0.5), None, "the boat of the test needs 0.9 m");
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
