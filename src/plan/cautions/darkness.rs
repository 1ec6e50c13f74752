//! Running in the dark: lights from sunset to sunrise, and shoals on the way before civil dawn and after civil dusk.

use chrono::{DateTime, Utc};

use super::low_water::shoals_near;
use super::note::{Scene, caution, not_known};
use super::route::on_route;
use crate::conditions::{TripWindow, trip_window};
use crate::plan::level::judged_level;
use crate::plan::way::Ways;
use crate::plan::{Caution, CautionLevel, Hazard, LightsDue};

const THRESHOLD: &str =
    "lights between sunset and sunrise; before civil dawn and after civil dusk slow past shoals";
const SOURCE: &str =
    "navigation rules: lights between sunset and sunrise (from memory); the rest: project choice";

/// The caution of darkness, with the shoals on a route of today where a part of the trip is dark; `None` where the whole trip
/// lies between sunrise and sunset.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let Some(sun) = sun(scene) else {
        let threshold = "not known: dawn, sunrise, sunset or dusk is missing";
        let missing = vec!["light".to_owned()];
        return Some(not_known(Hazard::Darkness, missing, threshold, SOURCE));
    };
    let due = lights_due(&trip_window(scene.lake, scene.as_of), sun);
    let (first, last) = (due.first()?, due.last()?);
    let mut found =
        caution(Hazard::Darkness, CautionLevel::Caution, THRESHOLD, SOURCE).between(first.from, last.to);
    if due.iter().any(|d| d.dark_from.is_some()) {
        found = match judged_level(scene.lake, scene.conditions) {
            Some(level) => {
                let mut shoals = shoals_near(scene.lake, level);
                let ways = Ways::new(scene.lake, scene.conditions);
                // What stands on land is on no boat's way; it stays under low water.
                shoals.retain(|shoal| on_route(scene, &shoal.zone) && !ways.stands_on_land(shoal));
                found.with_shoals(&shoals, level)
            }
            // What lies near the surface cannot be told.
            None => found.with_names(["pool_elevation".to_owned()]),
        };
    }
    found.lights_due = due;
    Some(found)
}

/// The sun's four events of the day of the trip.
#[derive(Clone, Copy)]
struct Sun {
    dawn: DateTime<Utc>,
    rise: DateTime<Utc>,
    set: DateTime<Utc>,
    dusk: DateTime<Utc>,
}

fn sun(scene: Scene) -> Option<Sun> {
    let light = scene.conditions.light.as_ref()?;
    Some(Sun {
        dawn: light.civil_dawn?,
        rise: light.sunrise?,
        set: light.sunset?,
        dusk: light.civil_dusk?,
    })
}

/// The parts of a trip before sunrise and after sunset. A trip that goes on beyond midnight is dark to its end: the next
/// day's dawn is not known here.
fn lights_due(trip: &TripWindow, sun: Sun) -> Vec<LightsDue> {
    let before = (trip.from < sun.rise).then(|| LightsDue {
        from: trip.from,
        to: sun.rise.min(trip.to),
        dark_from: (trip.from < sun.dawn).then_some(trip.from),
        dark_to: (trip.from < sun.dawn).then_some(sun.dawn.min(trip.to)),
    });
    let after = (trip.to > sun.set).then(|| LightsDue {
        from: sun.set.max(trip.from),
        to: trip.to,
        dark_from: (trip.to > sun.dusk).then_some(sun.dusk.max(trip.from)),
        dark_to: (trip.to > sun.dusk).then_some(trip.to),
    });
    before.into_iter().chain(after).collect()
}

#[cfg(test)]
mod tests {
    use chrono::Duration;

    use super::super::morning_tests::Morning;
    use super::*;
    use crate::lake::ZoneId;

    /// A trip that begins so many minutes after civil dawn and lasts so many hours; the sun rises 30 min after dawn.
    fn trip(after_dawn_min: i64, trip_h: f64) -> Morning {
        let mut morning = Morning::calm();
        morning.as_of = morning.light().civil_dawn.unwrap() + Duration::minutes(after_dawn_min);
        morning.lake.boat.as_mut().unwrap().trip_h = trip_h;
        morning
    }

    fn due(morning: &Morning) -> Vec<LightsDue> {
        let found = morning.caution(Hazard::Darkness);
        found.map_or_else(Vec::new, |caution| caution.lights_due)
    }

    #[test]
    fn lights_are_due_until_sunrise_and_the_dark_ends_at_civil_dawn() {
        let mut morning = trip(-40, 6.0);
        let (dawn, rise) = (morning.light().civil_dawn, morning.light().sunrise);
        let start = Some(morning.as_of);
        let caution = morning.caution(Hazard::Darkness).unwrap();
        assert_eq!(
            (caution.level, caution.from, caution.to),
            (CautionLevel::Caution, start, rise)
        );
        assert_eq!(caution.lights_due.len(), 1);
        assert_eq!(
            (caution.lights_due[0].dark_from, caution.lights_due[0].dark_to),
            (start, dawn)
        );
        // From dawn on there is half-light: lights still, and nothing dark.
        let half = due(&trip(0, 6.0));
        assert_eq!(
            (Some(half[0].to), half[0].dark_from, half[0].dark_to),
            (rise, None, None)
        );
        assert_eq!(due(&trip(29, 6.0)).len(), 1);
        assert_eq!(trip(30, 6.0).level_of(Hazard::Darkness), None, "the sun is up");
    }

    #[test]
    fn lights_are_due_from_sunset_and_the_dark_begins_at_civil_dusk() {
        let mut morning = trip(30, 6.0);
        let (set, dusk) = (
            morning.light().sunset.unwrap(),
            morning.light().civil_dusk.unwrap(),
        );
        let hours_to = |at: DateTime<Utc>| (at - morning.as_of).num_seconds() as f64 / 3600.0;
        let (set_h, dusk_h) = (hours_to(set), hours_to(dusk));
        assert_eq!(trip(30, set_h).level_of(Hazard::Darkness), None);
        let half = due(&trip(30, set_h + 0.25));
        assert_eq!((half.len(), half[0].from, half[0].dark_from), (1, set, None));
        let dark = due(&trip(30, dusk_h + 0.5));
        assert_eq!((dark[0].from, dark[0].dark_from), (set, Some(dusk)));
        assert_eq!(dark[0].dark_to, Some(dusk + Duration::minutes(30)));
    }

    #[test]
    fn of_a_trip_that_is_dark_at_both_ends_both_are_told() {
        let mut morning = trip(-40, 17.0);
        let (rise, dusk) = (morning.light().sunrise.unwrap(), morning.light().civil_dusk);
        let end = morning.as_of + Duration::hours(17);
        let found = morning.caution(Hazard::Darkness).unwrap();
        assert_eq!(found.lights_due.len(), 2);
        assert_eq!(
            (found.lights_due[0].to, found.lights_due[1].dark_from),
            (rise, dusk)
        );
        assert_eq!((found.from, found.to), (Some(morning.as_of), Some(end)));
    }

    #[test]
    fn shoals_on_the_way_are_named_in_the_dark_alone_and_those_of_a_closed_arm_never() {
        let mut morning = trip(-40, 6.0);
        let level_m = morning.pool().elevation_m;
        morning.lake.hazards[0].top_elevation_m = level_m - 0.5;
        let names = |morning: &Morning| -> Vec<String> {
            let found = morning.caution(Hazard::Darkness).unwrap();
            found.shoals.into_iter().map(|s| s.name).collect()
        };
        assert_eq!(names(&morning), ["the sunken rock"]);
        let half_light = morning.light().civil_dawn.unwrap() + Duration::minutes(5);
        let start = std::mem::replace(&mut morning.as_of, half_light);
        assert!(names(&morning).is_empty());
        morning.as_of = start;
        morning.lake.hazards[0].zone = ZoneId::new("sorrel");
        assert_eq!(names(&morning), ["the sunken rock"]);
        morning.water.zones[1].closed = true;
        assert!(names(&morning).is_empty(), "no route comes there");
        morning.lake.hazards[0].zone = ZoneId::new("main");
        // Deep enough for the 5 ft of the threshold, not for a boat that draws more.
        morning.lake.hazards[0].top_elevation_m = level_m - 1.8;
        assert!(names(&morning).is_empty());
        morning.lake.boat.as_mut().unwrap().running_depth_m = 2.0;
        assert_eq!(names(&morning), ["the sunken rock"]);
        assert!(morning.caution(Hazard::Darkness).unwrap().names.is_empty());
        morning.conditions.pool = None;
        let without = morning.caution(Hazard::Darkness).unwrap();
        assert_eq!(
            (without.names, without.shoals),
            (vec!["pool_elevation".to_owned()], Vec::new())
        );
    }

    #[test]
    fn without_one_of_the_suns_events_darkness_is_not_known() {
        for missing in 0..4 {
            let mut morning = Morning::calm();
            let light = morning.light();
            let events = [
                &mut light.civil_dawn,
                &mut light.sunrise,
                &mut light.sunset,
                &mut light.civil_dusk,
            ];
            *events.into_iter().nth(missing).unwrap() = None;
            assert_eq!(morning.level_of(Hazard::Darkness), Some(CautionLevel::NotKnown));
        }
        let mut morning = Morning::calm();
        morning.conditions.light = None;
        assert_eq!(morning.level_of(Hazard::Darkness), Some(CautionLevel::NotKnown));
    }
}
