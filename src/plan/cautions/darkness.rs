//! Running in the dark.

use chrono::{DateTime, Duration, Utc};

use super::low_water::shoals_near;
use super::note::{Scene, caution, not_known, number};
use crate::plan::{Caution, CautionLevel, Hazard};

const SOURCE: &str = "project choice; navigation rules: lights between sunset and sunrise (from memory)";

/// The caution of darkness, for the hours of the trip before civil dawn or after civil dusk; `None` where
/// the whole trip lies between them.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let light = scene.conditions.light.as_ref();
    let (dawn, dusk) = (light.and_then(|l| l.civil_dawn), light.and_then(|l| l.civil_dusk));
    let end = trip_end(scene);
    let (Some(dawn), Some(dusk)) = (dawn, dusk) else {
        let threshold = "not known: civil dawn or dusk is missing";
        return Some(not_known(
            Hazard::Darkness,
            vec!["light".to_owned()],
            threshold,
            SOURCE,
        ));
    };
    let (threshold, from, to) = if scene.as_of < dawn {
        (
            "before civil dawn: lights, slow past shoals",
            scene.as_of,
            dawn.min(end),
        )
    } else if end > dusk {
        (
            "after civil dusk: lights, slow past shoals",
            scene.as_of.max(dusk),
            end,
        )
    } else {
        return None;
    };
    let elevation_m = number(scene.conditions.pool.as_ref().map(|p| p.elevation_m));
    let shoals = elevation_m
        .map(|e| shoals_near(&scene.lake.hazards, e))
        .unwrap_or_default();
    let found = caution(Hazard::Darkness, CautionLevel::Caution, threshold, SOURCE);
    Some(
        found
            .with_names(shoals.iter().map(|s| s.name.clone()))
            .between(from, to),
    )
}

fn trip_end(scene: Scene) -> DateTime<Utc> {
    let minutes = number(Some(scene.lake.boat.trip_h))
        .unwrap_or(0.0)
        .clamp(0.0, 48.0)
        * 60.0;
    scene.as_of + Duration::minutes(minutes as i64)
}

#[cfg(test)]
mod tests {
    use super::super::morning::Morning;
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
        let trip = Duration::minutes((morning.lake.boat.trip_h * 60.0) as i64);
        morning.as_of = dusk - trip;
        assert_eq!(morning.level_of(Hazard::Darkness), None);
        morning.as_of = dusk - trip + Duration::minutes(30);
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
