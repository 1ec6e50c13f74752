//! A pool that falls fast: boats at moorings and on beaches, ramps going out.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use crate::plan::level::is_level_late;
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of a falling level; `None` where it is known and falls less.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let change_7d = scene.conditions.pool.as_ref().and_then(|p| p.change_7d);
    let Some(change_m) = number(change_7d.map(|c| c.change_m)) else {
        let threshold = "not known: the change of level over 7 days is missing";
        return Some(not_known(
            Hazard::ChangingLevel,
            vec!["pool_elevation".to_owned()],
            threshold,
            source(Hazard::ChangingLevel),
        ));
    };
    if change_m > -si(Hazard::ChangingLevel, CautionLevel::Caution, "fall") {
        let threshold = "not known: the level is late, and the pool may have fallen since";
        let late = is_level_late(scene.lake, scene.conditions);
        let missing = || vec!["pool_elevation".to_owned()];
        return late.then(|| {
            not_known(
                Hazard::ChangingLevel,
                missing(),
                threshold,
                source(Hazard::ChangingLevel),
            )
        });
    }
    let threshold = says(Hazard::ChangingLevel, CautionLevel::Caution);
    let found = caution(
        Hazard::ChangingLevel,
        CautionLevel::Caution,
        threshold,
        source(Hazard::ChangingLevel),
    );
    Some(found.with_figure("pool_change_7d_m", change_m))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::units::M_PER_FT;

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
