//! Running in the dark.

use super::low_water::shoals_near;
use super::note::{Scene, caution, not_known};
use crate::conditions::trip_window;
use crate::plan::level::judged_level;
use crate::plan::{Caution, CautionLevel, Hazard};

const SOURCE: &str = "project choice; navigation rules: lights between sunset and sunrise (from memory)";

/// The caution of darkness, for the hours of the trip before civil dawn or after civil dusk; `None` where
/// the whole trip lies between them.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let light = scene.conditions.light.as_ref();
    let (dawn, dusk) = (light.and_then(|l| l.civil_dawn), light.and_then(|l| l.civil_dusk));
    let trip = trip_window(scene.lake, scene.as_of);
    let (Some(dawn), Some(dusk)) = (dawn, dusk) else {
        let threshold = "not known: civil dawn or dusk is missing";
        return Some(not_known(
            Hazard::Darkness,
            vec!["light".to_owned()],
            threshold,
            SOURCE,
        ));
    };
    let (threshold, from, to) = if trip.from < dawn {
        (
            "before civil dawn: lights, slow past shoals",
            trip.from,
            dawn.min(trip.to),
        )
    } else if trip.to > dusk {
        (
            "after civil dusk: lights, slow past shoals",
            trip.from.max(dusk),
            trip.to,
        )
    } else {
        return None;
    };
    let mut found = caution(Hazard::Darkness, CautionLevel::Caution, threshold, SOURCE).between(from, to);
    if let Some(level) = judged_level(scene.lake, scene.conditions) {
        found = found.with_shoals(&shoals_near(scene.lake, level), level);
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use chrono::Duration;

    use super::super::morning_tests::Morning;
    use super::*;

    #[test]
    fn a_start_before_civil_dawn_is_dark_until_dawn() {
        let mut morning = Morning::calm();
        let dawn = morning.light().civil_dawn.unwrap();
        morning.as_of = dawn;
        assert_eq!(morning.level_of(Hazard::Darkness), None);
        morning.as_of = dawn - Duration::minutes(40);
        let caution = morning.caution(Hazard::Darkness).unwrap();
        assert_eq!(
            (caution.level, caution.from, caution.to),
            (CautionLevel::Caution, Some(morning.as_of), Some(dawn))
        );
    }

    #[test]
    fn a_trip_that_ends_after_civil_dusk_is_dark_from_dusk() {
        let mut morning = Morning::calm();
        let dusk = morning.light().civil_dusk.unwrap();
        let until_dusk_h = (dusk - morning.as_of).num_minutes() as f64 / 60.0;
        morning.lake.boat.as_mut().unwrap().trip_h = until_dusk_h;
        assert_eq!(morning.level_of(Hazard::Darkness), None);
        morning.lake.boat.as_mut().unwrap().trip_h = until_dusk_h + 0.5;
        assert_eq!(morning.caution(Hazard::Darkness).unwrap().from, Some(dusk));
    }

    #[test]
    fn without_dawn_darkness_is_not_known() {
        let mut morning = Morning::calm();
        morning.light().civil_dawn = None;
        assert_eq!(morning.level_of(Hazard::Darkness), Some(CautionLevel::NotKnown));
        morning.conditions.light = None;
        assert_eq!(morning.level_of(Hazard::Darkness), Some(CautionLevel::NotKnown));
    }
}
