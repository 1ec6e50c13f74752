//! Floating wood after a rise.

use chrono::Duration;

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use crate::conditions::InflowCondition;
use crate::plan::level::is_level_late;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of debris; `None` where nothing that is known, and all of it is, points to it.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let pool = scene.conditions.pool.as_ref();
    let rise_m = number(pool.and_then(|p| p.change_7d).map(|c| c.change_m));
    let above_highest_m = number(pool.and_then(|p| Some(p.elevation_m - p.highest_60d_m?)));
    let rising = rise_m
        .or(pool.and_then(|p| p.change_1d).map(|c| c.change_m))
        .is_some_and(|r| r > 0.0);
    let has_risen = rise_m.is_some_and(|r| r >= limit("rise"));
    let new_highest = above_highest_m.is_some_and(|x| x >= limit("above_highest")) && rising;
    let pulsed: Vec<&InflowCondition> = scene
        .conditions
        .inflows
        .iter()
        .filter(|i| has_pulsed(i))
        .collect();
    let missing = missing(scene, rise_m, above_highest_m);
    if !(has_risen || new_highest || !pulsed.is_empty()) {
        if missing.is_empty() {
            return None;
        }
        let threshold = says(Hazard::Debris, CautionLevel::NotKnown);
        return Some(not_known(
            Hazard::Debris,
            missing,
            threshold,
            source(Hazard::Debris),
        ));
    }
    let names = pulsed.iter().map(|i| {
        let named = scene.lake.inflows.iter().find(|l| l.id == i.inflow);
        named.map_or_else(|| i.inflow.to_string(), |l| l.name.clone())
    });
    let greatest = pulsed
        .iter()
        .filter_map(|i| i.highest_10d)
        .map(|peak| peak.ratio)
        .reduce(f64::max);
    let found = caution(
        Hazard::Debris,
        CautionLevel::Caution,
        says(Hazard::Debris, CautionLevel::Caution),
        source(Hazard::Debris),
    )
    .with_figure_if("pool_change_7d_m", rise_m)
    .with_figure_if("above_highest_60d_m", above_highest_m.filter(|_| new_highest))
    .with_figure_if("highest_10d_ratio", greatest)
    .with_names(names);
    Some(found.with_names(missing))
}

/// A number of the threshold.
fn limit(name: &str) -> f64 {
    si(Hazard::Debris, CautionLevel::Caution, name)
}

fn has_pulsed(inflow: &InflowCondition) -> bool {
    inflow
        .highest_10d
        .is_some_and(|peak| peak.ratio >= limit("ratio"))
}

fn missing(scene: Scene, rise_m: Option<f64>, above_highest_m: Option<f64>) -> Vec<String> {
    // A flow that has not been read for so long may have risen since.
    let silent_h = si(Hazard::Debris, CautionLevel::NotKnown, "silent");
    let silent_after = Duration::seconds((silent_h * 3600.0) as i64);
    let mut missing = Vec::new();
    // A late level says nothing of a rise since.
    if rise_m.is_none() || above_highest_m.is_none() || is_level_late(scene.lake, scene.conditions) {
        missing.push("pool_elevation".to_owned());
    }
    for inflow in &scene.lake.inflows {
        let known = scene.conditions.inflows.iter().find(|c| c.inflow == inflow.id);
        let silent = |c: &InflowCondition| scene.conditions.as_of - c.observed_at > silent_after;
        if known.is_none_or(|c| c.ratio.is_none() || silent(c)) {
            missing.push(format!("inflow:{}", inflow.id));
        }
    }
    missing
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::conditions::LEVEL_READING_SD_M;
    use crate::units::M_PER_FT;

    #[test]
    fn a_new_highest_level_is_far_above_the_reading_error() {
        // The difference of two readings has sqrt(2) times the deviation of one.
        assert!(limit("above_highest") > std::f64::consts::SQRT_2 * LEVEL_READING_SD_M);
    }

    fn level(change: impl Fn(&mut Morning)) -> Option<CautionLevel> {
        let mut morning = Morning::calm();
        change(&mut morning);
        morning.level_of(Hazard::Debris)
    }

    #[test]
    fn a_rise_of_three_feet_in_a_week_brings_debris() {
        assert_eq!(level(|m| m.set_change_7d(2.99 * M_PER_FT)), None);
        assert_eq!(
            level(|m| m.set_change_7d(3.0 * M_PER_FT)),
            Some(CautionLevel::Caution)
        );
    }

    #[test]
    fn a_level_a_foot_above_the_highest_brings_debris_only_while_it_rises() {
        let above = |m: &mut Morning, above_ft: f64, change_m: f64| {
            let elevation_m = m.pool().elevation_m;
            m.pool().highest_60d_m = Some(elevation_m - above_ft * M_PER_FT);
            m.set_change_7d(change_m);
        };
        assert_eq!(level(|m| above(m, 1.01, 0.1)), Some(CautionLevel::Caution));
        assert_eq!(
            level(|m| above(m, 0.99, 0.1)),
            None,
            "a few inches are no new shore"
        );
        assert_eq!(level(|m| above(m, 1.01, -0.1)), None);
        assert_eq!(level(|m| m.set_change_7d(0.1)), None, "below the highest");
    }

    #[test]
    fn a_flow_counts_from_four_times_baseflow_whatever_the_latest_pulse_is() {
        assert_eq!(level(|m| m.set_highest_ratio(0, 3.9)), None);
        assert_eq!(
            level(|m| m.set_highest_ratio(0, 4.0)),
            Some(CautionLevel::Caution)
        );
    }

    #[test]
    fn missing_level_or_inflow_is_not_known_unless_the_rest_points_to_it() {
        assert_eq!(level(|m| m.conditions.pool = None), Some(CautionLevel::NotKnown));
        assert_eq!(
            level(|m| m.conditions.inflows.clear()),
            Some(CautionLevel::NotKnown)
        );
        assert_eq!(level(|m| m.pool().change_7d = None), Some(CautionLevel::NotKnown));
        let both = |m: &mut Morning| {
            m.set_highest_ratio(0, 6.0);
            m.conditions.pool = None;
        };
        assert_eq!(level(both), Some(CautionLevel::Caution));
    }

    #[test]
    fn a_silent_gauge_and_a_late_level_are_not_known() {
        let old = |m: &mut Morning, hours: i64| {
            m.conditions.inflows[0].observed_at = m.as_of - Duration::hours(hours);
        };
        assert_eq!(level(|m| old(m, 72)), None);
        assert_eq!(level(|m| old(m, 73)), Some(CautionLevel::NotKnown));
        let late = |m: &mut Morning| m.pool().observed_at = m.as_of - Duration::days(5);
        assert_eq!(level(late), Some(CautionLevel::NotKnown));
    }
}
