//! Which ramps float the boat today, by level only: gate, closure and surface are not known.

use super::RampState;
use super::level::judged_level;
use super::ramp_outlook::ramp_outlook;
use crate::conditions::{Conditions, trip_window};
use crate::lake::{Boat, Lake, Ramp};

/// Every ramp of the lake, in the order of the file. Without a level, or with one that is two days past its
/// lateness, nothing is said of its use. None without a boat.
///
/// A late level is lowered by what the pool may have fallen since: a ramp that floats the boat even so, now and at the end of the
/// trip, is usable; one that did not at the level read, or would not at the end of the trip with a level in time, is not; one between
/// the two is not known.
pub fn ramps(lake: &Lake, conditions: &Conditions) -> Vec<RampState> {
    let Some(boat) = lake.boat else {
        return Vec::new();
    };
    lake.ramps
        .iter()
        .map(|ramp| state(lake, boat, conditions, ramp))
        .collect()
}

fn state(lake: &Lake, boat: Boat, conditions: &Conditions, ramp: &Ramp) -> RampState {
    let needed_m = boat.launch_depth_m;
    let level = judged_level(lake, conditions);
    let water_over_toe_m = level.map(|l| l.newest_m - ramp.toe_elevation_m);
    let lowest_water_m = level.map(|l| l.lowest_m - ramp.toe_elevation_m);
    let trend_is_known = conditions
        .pool
        .as_ref()
        .is_some_and(|p| p.slope_7d_m_per_day.is_some());
    let change_m = level.map(|l| l.change_m(conditions, trip_window(lake, conditions.as_of).to));
    let water_on_return_m = lowest_water_m.zip(change_m).map(|(water, change)| water + change);
    let least_m = lowest_water_m
        .zip(water_on_return_m)
        .map(|(now, back)| now.min(back));
    let usable = match (least_m, water_over_toe_m) {
        (Some(least_m), _) if least_m >= needed_m => Some(true),
        (_, Some(water_m)) if water_m < needed_m => Some(false),
        // The boat floats now: that it will not on return only a level in time with a trend tells.
        (Some(_), _) if level.is_some_and(|l| !l.late) && trend_is_known => Some(false),
        _ => None,
    };
    // A level too old to judge today is too old to judge the days ahead.
    let projection = conditions.level_projection.as_ref().filter(|_| level.is_some());
    RampState {
        id: ramp.id.clone(),
        name: ramp.name.clone(),
        zone: ramp.zone.clone(),
        toe_elevation_m: ramp.toe_elevation_m,
        water_over_toe_m,
        water_at_least_m: lowest_water_m.filter(|_| level.is_some_and(|l| l.late)),
        water_on_return_m,
        needed_m,
        usable,
        lanes: level.and_then(|l| lanes_at(&ramp.lanes, l.lowest_m)),
        outlook: projection.and_then(|p| ramp_outlook(p, ramp.toe_elevation_m + needed_m)),
    }
}

/// Lanes open at a level: those of the highest step that the level reaches, 0 below all of them; `None`
/// where the file gives no steps.
fn lanes_at(lanes: &[(f64, u32)], elevation_m: f64) -> Option<u32> {
    if lanes.is_empty() {
        return None;
    }
    let reached = lanes.iter().filter(|(step_m, _)| *step_m <= elevation_m);
    Some(
        reached
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(0, |(_, lanes)| *lanes),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;

    #[test]
    fn a_ramp_floats_the_boat_from_the_depth_that_it_needs() {
        let mut morning = Morning::calm();
        let toe_m = morning.lake.ramps[0].toe_elevation_m;
        let needed_m = morning.lake.boat.unwrap().launch_depth_m;
        for (level_m, usable) in [
            (toe_m + needed_m, true),
            (toe_m + needed_m - 0.01, false),
            (toe_m - 2.0, false),
        ] {
            morning.set_level(level_m);
            let ramp = &ramps(&morning.lake, &morning.conditions)[0];
            assert_eq!(ramp.usable, Some(usable), "{level_m}");
            assert!((ramp.water_over_toe_m.unwrap() - (level_m - toe_m)).abs() < 1e-9);
        }
    }

    #[test]
    fn a_ramp_that_will_not_float_the_boat_on_return_is_out_of_use() {
        let mut morning = Morning::calm();
        let floor_m = morning.lake.ramps[0].toe_elevation_m + morning.lake.boat.unwrap().launch_depth_m;
        morning.set_level(floor_m + 0.05);
        let end = trip_window(&morning.lake, morning.as_of).to;
        let until_h = (end - morning.pool().observed_at).num_seconds() as f64 / 3600.0;
        // By the end of the trip the pool has fallen by 0.06 m.
        morning.pool().slope_7d_m_per_day = Some(-0.06 * 24.0 / until_h);
        let ramp = ramps(&morning.lake, &morning.conditions).remove(0);
        let needed_m = ramp.needed_m;
        assert!((ramp.water_on_return_m.unwrap() - (needed_m - 0.01)).abs() < 1e-9);
        assert_eq!(ramp.usable, Some(false));
        morning.pool().slope_7d_m_per_day = Some(-0.04 * 24.0 / until_h);
        let usable = |morning: &Morning| ramps(&morning.lake, &morning.conditions).remove(0).usable;
        assert_eq!(usable(&morning), Some(true));
        // Without a trend it may fall as fast as it may unseen: half a foot, 0.152 m, a day.
        morning.set_level(floor_m + 0.03);
        morning.pool().slope_7d_m_per_day = None;
        assert!(0.1524 * until_h / 24.0 > 0.03, "{until_h}");
        assert_eq!(usable(&morning), None, "it may have fallen too far by then");
        // A pool that rises does not bring a ramp into use before it has risen.
        morning.set_level(floor_m - 0.01);
        morning.pool().slope_7d_m_per_day = Some(1.0);
        assert_eq!(usable(&morning), Some(false));
    }

    #[test]
    fn without_a_level_nothing_is_said_of_a_ramp() {
        let mut morning = Morning::calm();
        morning.conditions.pool = None;
        let ramp = &ramps(&morning.lake, &morning.conditions)[0];
        let said = (
            ramp.water_over_toe_m,
            ramp.usable,
            ramp.lanes,
            ramp.outlook.clone(),
        );
        assert_eq!(said, (None, None, None, None));
    }

    #[test]
    fn a_late_level_calls_a_ramp_usable_only_if_even_a_lower_pool_floats_the_boat() {
        let mut morning = Morning::calm();
        let floor_m = morning.lake.ramps[0].toe_elevation_m + morning.lake.boat.unwrap().launch_depth_m;
        let mut at = |level_m: f64, age_h: f64| {
            morning.set_level(level_m);
            morning.set_level_age_h(age_h);
            let ramp = ramps(&morning.lake, &morning.conditions).remove(0);
            (ramp.usable, ramp.water_at_least_m.is_some())
        };
        // A day at half a foot is 0.152 m; the level of the test may be 6 h old.
        assert_eq!(at(floor_m + 0.10, 6.0), (Some(true), false));
        assert_eq!(at(floor_m + 0.10, 24.0), (None, true), "it may have fallen below");
        assert_eq!(at(floor_m + 0.16, 24.0), (Some(true), true));
        assert_eq!(at(floor_m - 0.01, 24.0), (Some(false), true));
        assert_eq!(
            at(floor_m + 9.0, 55.0),
            (None, false),
            "two days past its lateness"
        );
    }

    #[test]
    fn a_ramp_has_the_share_of_members_that_lie_below_its_need() {
        let mut morning = Morning::calm();
        let floor_m = morning.lake.ramps[0].toe_elevation_m + morning.lake.boat.unwrap().launch_depth_m;
        morning.set_level(floor_m + 2.0);
        // Ten members: today all above, tomorrow three below, the day after eight.
        morning.set_members(&[0, 3, 8].map(|below| {
            (0..10)
                .map(|m| if m < below { floor_m - 1.0 } else { floor_m + 1.0 })
                .collect()
        }));
        let ramp = ramps(&morning.lake, &morning.conditions).remove(0);
        let outlook = ramp.outlook.unwrap();
        let found: Vec<f64> = outlook.days.iter().map(|d| d.below_prob).collect();
        assert_eq!(found, vec![0.0, 0.3, 0.8]);
        assert_eq!(outlook.turn.map(|t| t.date), Some(outlook.days[2].date));
        morning.set_level_age_h(55.0);
        let ramp = ramps(&morning.lake, &morning.conditions).remove(0);
        assert_eq!(ramp.outlook, None, "two days past its lateness nothing is said");
    }

    #[test]
    fn lanes_go_out_one_step_at_a_time() {
        let lanes = [(240.0, 1), (245.0, 2), (250.0, 4)];
        assert_eq!(
            [239.0, 240.0, 249.9, 250.0].map(|e| lanes_at(&lanes, e)),
            [0, 1, 2, 4].map(Some)
        );
        assert_eq!(lanes_at(&[], 240.0), None);
    }
}
