//! A pool that falls fast: boats at moorings and on beaches, ramps going out.

use super::note::{Scene, caution, not_known, number};
use crate::plan::level::is_level_late;
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::units::M_PER_FT;

/// Fall over 7 days (project choice).
const FALL_7D_FT: f64 = 2.0;

const SOURCE: &str =
    "project choice; Bureau of Reclamation release 2019, read: users are warned of a drawdown of feet a week";

/// The caution of a falling level; `None` where it is known and falls less.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let change_7d = scene.conditions.pool.as_ref().and_then(|p| p.change_7d);
    let Some(change_m) = number(change_7d.map(|c| c.change_m)) else {
        let threshold = "not known: the change of level over 7 days is missing";
        return Some(not_known(
            Hazard::ChangingLevel,
            vec!["pool_elevation".to_owned()],
            threshold,
            SOURCE,
        ));
    };
    if change_m > -FALL_7D_FT * M_PER_FT {
        let threshold = "not known: the level is late, and the pool may have fallen since";
        let late = is_level_late(scene.lake, scene.conditions);
        let missing = || vec!["pool_elevation".to_owned()];
        return late.then(|| not_known(Hazard::ChangingLevel, missing(), threshold, SOURCE));
    }
    let threshold = "a fall of 2 ft or more in 7 days: mind moorings, beached boats and the ramp on return";
    let found = caution(Hazard::ChangingLevel, CautionLevel::Caution, threshold, SOURCE);
    Some(found.with_figure("pool_change_7d_m", change_m))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    #[test]
    fn a_fall_counts_from_two_feet_a_week_and_is_not_known_without_a_level() {
        let mut morning = Morning::calm();
        let mut level = |change_ft: f64| {
            morning.set_change_7d(change_ft * M_PER_FT);
            morning.level_of(Hazard::ChangingLevel)
        };
        assert_eq!(level(-1.99), None);
        assert_eq!(level(-2.0), Some(CautionLevel::Caution));
        assert_eq!(level(1.0), None);
        morning.pool().observed_at = morning.as_of - chrono::Duration::days(5);
        assert_eq!(
            morning.level_of(Hazard::ChangingLevel),
            Some(CautionLevel::NotKnown)
        );
        morning.pool().change_7d = None;
        assert_eq!(
            morning.level_of(Hazard::ChangingLevel),
            Some(CautionLevel::NotKnown)
        );
    }
}
