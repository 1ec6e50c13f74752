//! Waves by zone from the strongest wind of the trip, the higher of two fetch-limited forms.

use super::note::{Scene, caution, not_known, number};
use crate::lake::{Zone, ZoneKind};
use crate::physics::waves::{Waves, higher_of_both};
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::whereabouts::drivers::water_of;

/// Significant height of a caution (project choice).
const CAUTION_HEIGHT_M: f64 = 0.3;
/// Significant height at which small craft are not launched (project choice).
const SEVERE_HEIGHT_M: f64 = 0.6;

const SOURCE: &str = "project choice; height, about, by the higher of the Shore Protection Manual 1984 and the \
                      restricted-fetch form of Smith 1991; one wave in a hundred is about 1.6 times as high";

/// The caution of the highest waves of any open zone; `None` below all thresholds.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    let Some(wind) = scene.conditions.wind.as_ref() else {
        let threshold = "not known: no wind forecast in the feeds; check an official forecast";
        return Some(not_known(
            Hazard::Waves,
            vec!["wind_speed".to_owned()],
            threshold,
            SOURCE,
        ));
    };
    // The stronger of mean and gust: waves lag behind gusts, so this errs on the high side.
    let speed_m_s =
        number(Some(wind.speed_max_m_s)).map(|mean| mean.max(number(wind.gust_max_m_s).unwrap_or(0.0)));
    let direction_deg = number(wind.direction_deg);
    let waves_of = |zone: &Zone| higher_of_both(speed_m_s.unwrap_or(f64::NAN), &zone.fetch, direction_deg);
    let zones: Vec<(&Zone, Option<Waves>)> = open_zones(scene).map(|zone| (zone, waves_of(zone))).collect();
    let highest = zones
        .iter()
        .filter_map(|(_, w)| *w)
        .max_by(|a, b| a.height_m.total_cmp(&b.height_m));
    let missing: Vec<String> = zones
        .iter()
        .filter(|(_, w)| w.is_none())
        .map(|(z, _)| format!("fetch:{}", z.id))
        .collect();
    let rough = |least_m: f64| -> Vec<String> {
        let at_least = zones
            .iter()
            .filter(|(_, w)| w.is_some_and(|w| w.height_m >= least_m));
        at_least.map(|(zone, _)| zone.name.clone()).collect()
    };
    let height_m = highest.map_or(0.0, |w| w.height_m);
    let found = if height_m >= SEVERE_HEIGHT_M {
        let threshold = "waves of about 0.6 m (2 ft): do not launch small craft";
        caution(Hazard::Waves, CautionLevel::Severe, threshold, SOURCE).with_names(rough(SEVERE_HEIGHT_M))
    } else if height_m >= CAUTION_HEIGHT_M {
        caution(
            Hazard::Waves,
            CautionLevel::Caution,
            "waves of about 0.3 m (1 ft)",
            SOURCE,
        )
        .with_names(rough(CAUTION_HEIGHT_M))
    } else if speed_m_s.is_none() {
        let threshold = "not known: the wind forecast holds no usable wind; check an official forecast";
        not_known(Hazard::Waves, vec!["wind_speed".to_owned()], threshold, SOURCE)
    } else if !missing.is_empty() {
        let threshold =
            "not known: the lake file gives no fetch for these zones, so chop there cannot be judged";
        not_known(Hazard::Waves, missing, threshold, SOURCE)
    } else {
        return None;
    };
    let found = found
        .with_figure_if("wave_height_m", highest.map(|w| w.height_m))
        .with_figure_if("wave_period_s", highest.map(|w| w.period_s))
        .with_figure_if("wind_speed_m_s", speed_m_s)
        .with_figure_if("wind_direction_deg", direction_deg);
    Some(found.between(wind.from, wind.to))
}

/// Zones that a boat may cross today.
fn open_zones<'a>(scene: Scene<'a>) -> impl Iterator<Item = &'a Zone> {
    let closed = move |zone: &Zone| water_of(scene.water, &zone.id).is_some_and(|w| w.closed);
    scene
        .lake
        .zones
        .iter()
        .filter(move |z| z.kind != ZoneKind::River && !closed(z))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;

    fn caution_at(fetch_m: f64, speed_m_s: f64, direction_deg: Option<f64>) -> Option<Caution> {
        let mut morning = Morning::calm();
        for zone in &mut morning.lake.zones {
            zone.fetch = vec![(0.0, fetch_m), (90.0, 200.0), (180.0, 200.0), (270.0, 200.0)];
        }
        morning.set_wind(speed_m_s, Some(speed_m_s), direction_deg);
        morning.caution(Hazard::Waves)
    }

    #[test]
    fn waves_pass_their_thresholds_at_0_3_and_0_6_metres() {
        // Shore Protection Manual 1984, 10 m/s over 5 km: 0.436 m (check row S-WAVE); height grows with
        // the root of the fetch, so 0.3 m stands at 2.37 km and 0.6 m at 9.48 km.
        let level = |fetch_m| caution_at(fetch_m, 10.0, Some(0.0)).map(|c| c.level);
        assert_eq!(level(2250.0), None);
        assert_eq!(level(2500.0), Some(CautionLevel::Caution));
        assert_eq!(level(9000.0), Some(CautionLevel::Caution));
        assert_eq!(level(10_000.0), Some(CautionLevel::Severe));
    }

    #[test]
    fn an_unknown_direction_takes_the_longest_fetch_and_a_sheltered_one_does_not() {
        let height =
            |direction| caution_at(9000.0, 10.0, direction).map_or(0.0, |c| c.figures["wave_height_m"]);
        assert!(height(None) >= height(Some(0.0)) - 1e-9);
        assert!(height(Some(180.0)) < height(Some(0.0)));
    }

    #[test]
    fn missing_wind_and_missing_fetch_are_not_known() {
        let mut morning = Morning::calm();
        morning.conditions.wind = None;
        assert_eq!(morning.level_of(Hazard::Waves), Some(CautionLevel::NotKnown));
        let mut morning = Morning::calm();
        morning.lake.zones[0].fetch.clear();
        let caution = morning.caution(Hazard::Waves).unwrap();
        assert_eq!(
            (caution.level, caution.names),
            (CautionLevel::NotKnown, vec!["fetch:main".to_owned()])
        );
    }
}
