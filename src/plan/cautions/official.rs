//! Official products that are the stop line of a hazard, whatever the forecast says.
//!
//! Which product speaks of which hazard goes by the words of its name, so that one with a name of its own
//! office, such as a Lake Wind Advisory, counts as well (project choice). Names: National Weather Service's list of
//! products, from memory. A product that speaks of another danger is quoted in the brief and raises nothing.

use chrono::{DateTime, Utc};

use super::note::{Scene, caution};
use crate::plan::{Caution, CautionLevel, Hazard};
use crate::series::Alert;

/// Words of a name that make it a product of the wind. "Wind Chill" is one of the cold.
const WIND: &[&str] = &[
    "wind",
    "gale",
    "small craft",
    "special marine",
    "thunderstorm",
    "tornado",
    "tropical storm",
    "hurricane",
    "typhoon",
    "squall",
    "severe weather statement",
    "dust storm",
    "blizzard",
];
/// Whole names: "Storm Warning" is of winds over water, "Winter Storm Warning" is not.
const WIND_NAMES: &[&str] = &["storm warning", "storm watch"];
const WAVES: &[&str] = &["hazardous seas", "small craft advisory for", "rough bar"];
const THUNDER: &[&str] = &[
    "thunderstorm",
    "tornado",
    "special marine",
    "severe weather statement",
];
const FOG: &[&str] = &["fog", "dense smoke"];

/// Whether a product of this name speaks of the hazard.
pub(super) fn speaks_of(event: &str, hazard: Hazard) -> bool {
    let name = event.trim().to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    match hazard {
        Hazard::Wind => (has(WIND) && !name.contains("wind chill")) || WIND_NAMES.contains(&name.as_str()),
        Hazard::Waves => has(WAVES),
        Hazard::Thunder => has(THUNDER),
        Hazard::Fog => has(FOG),
        _ => false,
    }
}

/// Names of the products of the trip whose name holds one of `words`, each once.
pub(super) fn products_with(scene: Scene, words: &[&str]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for alert in &scene.alerts.list {
        let name = alert.event.to_lowercase();
        if words.iter().any(|word| name.contains(word)) && !names.contains(&alert.event) {
            names.push(alert.event.clone());
        }
    }
    names
}

/// What to do by an official product of the hazard.
fn stop_line(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Fog => "do not run",
        Hazard::Thunder => "do not go out",
        _ => "do not launch small craft",
    }
}

/// The caution at its stop line where an official product of the hazard is in force in the trip; otherwise
/// `found`, which the forecast gave. Its hours are those of the products, and of the forecast where that
/// alone reaches the stop line.
pub(super) fn raised(scene: Scene, hazard: Hazard, found: Option<Caution>) -> Option<Caution> {
    let products: Vec<&Alert> = scene
        .alerts
        .list
        .iter()
        .filter(|alert| speaks_of(&alert.event, hazard))
        .collect();
    if products.is_empty() {
        return found;
    }
    let mut names: Vec<String> = Vec::new();
    for alert in &products {
        if !names.contains(&alert.event) {
            names.push(alert.event.clone());
        }
    }
    let line = format!(
        "official product in force, {}: {}",
        names.join(", "),
        stop_line(hazard)
    );
    let source = "any official product of the hazard is the stop line: project choice; the product is quoted in this brief";
    let mut raised = match found {
        Some(found) if found.level == CautionLevel::Severe => Caution {
            threshold: format!("{line}; {}", found.threshold),
            source: format!("{source}; {}", found.source),
            ..found
        },
        Some(found) => Caution {
            level: CautionLevel::Severe,
            threshold: line,
            source: source.to_owned(),
            // The hours of a lower threshold are not those of the product.
            from: None,
            to: None,
            peak_at: None,
            ..found
        },
        None => caution(hazard, CautionLevel::Severe, &line, source),
    };
    raised.products = names;
    let (from, to) = span(scene, &products);
    raised.from = Some(raised.from.map_or(from, |own| own.min(from)));
    raised.to = Some(raised.to.map_or(to, |own| own.max(to)));
    Some(raised)
}

/// First and last instant of the trip that a product speaks of.
fn span(scene: Scene, products: &[&Alert]) -> (DateTime<Utc>, DateTime<Utc>) {
    let (from, to) = (scene.alerts.from, scene.alerts.to);
    let begins = products.iter().map(|alert| alert.begins_at().max(from)).min();
    let ends = products
        .iter()
        .map(|alert| alert.ends_at().map_or(to, |end| end.min(to)))
        .max();
    (begins.unwrap_or(from), ends.unwrap_or(to))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::{Morning, alert};
    use super::*;
    use chrono::Duration;

    #[test]
    fn products_of_wind_thunder_and_fog_are_known_by_their_names() {
        for name in [
            "Lake Wind Advisory",
            "Wind Advisory",
            "High Wind Watch",
            "High Wind Warning",
            "Small Craft Advisory",
            "Brisk Wind Advisory",
            "Gale Watch",
            "Gale Warning",
            "Storm Warning",
            "Special Marine Warning",
            "Severe Thunderstorm Warning",
        ] {
            assert!(speaks_of(name, Hazard::Wind), "{name}");
            assert!(!speaks_of(name, Hazard::Fog), "{name}");
        }
        for name in [
            "Severe Thunderstorm Warning",
            "Special Marine Warning",
            "Tornado Watch",
        ] {
            assert!(speaks_of(name, Hazard::Thunder), "{name}");
        }
        for name in ["Dense Fog Advisory", "Freezing Fog Advisory"] {
            assert!(speaks_of(name, Hazard::Fog), "{name}");
        }
        for name in [
            "Wind Chill Advisory",
            "Winter Storm Warning",
            "Flood Watch",
            "Heat Advisory",
            "Red Flag Warning",
        ] {
            for hazard in [Hazard::Wind, Hazard::Waves, Hazard::Thunder, Hazard::Fog] {
                assert!(!speaks_of(name, hazard), "{name}");
            }
        }
    }

    #[test]
    fn a_product_raises_a_calm_morning_to_the_stop_line_and_is_named_with_its_hours() {
        let mut morning = Morning::calm();
        assert_eq!(morning.caution(Hazard::Wind), None);
        let as_of = morning.as_of;
        let begins = as_of + Duration::hours(2);
        morning.alerts.list = vec![alert("Lake Wind Advisory", begins, Some(20))];
        let wind = morning.caution(Hazard::Wind).unwrap();
        assert_eq!(wind.level, CautionLevel::Severe);
        assert_eq!(wind.products, ["Lake Wind Advisory"]);
        assert!(
            wind.threshold.contains("Lake Wind Advisory"),
            "{}",
            wind.threshold
        );
        // The trip of 6 h and 2 h more end before the advisory.
        assert_eq!(
            (wind.from, wind.to),
            (Some(begins), Some(as_of + Duration::hours(8)))
        );
        assert_eq!(morning.caution(Hazard::Fog), None);
    }

    #[test]
    fn the_figures_of_a_lower_caution_stay_and_a_severe_one_keeps_its_own_threshold() {
        let mut morning = Morning::calm();
        morning.alerts.list = vec![alert("Wind Advisory", morning.as_of, None)];
        // 7 m/s is 13.6 kt, above 12 and below 18; 10 m/s is 19.4 kt.
        morning.set_wind(7.0, Some(8.0), Some(0.0));
        let wind = morning.caution(Hazard::Wind).unwrap();
        assert_eq!(
            (wind.level, wind.figures["wind_speed_m_s"]),
            (CautionLevel::Severe, 7.0)
        );
        assert!(!wind.threshold.contains("12 kt"), "{}", wind.threshold);
        morning.set_wind(10.0, Some(11.0), Some(0.0));
        let wind = morning.caution(Hazard::Wind).unwrap();
        assert!(wind.threshold.contains("18 kt"), "{}", wind.threshold);
    }

    #[test]
    fn thunder_and_fog_are_raised_and_what_is_missing_of_them_stays_named() {
        let mut morning = Morning::calm();
        morning.alerts.list = vec![
            alert("Severe Thunderstorm Warning", morning.as_of, Some(1)),
            alert("Dense Fog Advisory", morning.as_of, Some(4)),
        ];
        morning.conditions.sky = None;
        let level_and_names = |hazard| {
            let found = morning.caution(hazard).unwrap();
            (found.level, found.names)
        };
        assert_eq!(
            level_and_names(Hazard::Thunder),
            (CautionLevel::Severe, vec!["thunder_probability".to_owned()])
        );
        assert_eq!(
            level_and_names(Hazard::Fog),
            (CautionLevel::Severe, vec!["visibility".to_owned()])
        );
        assert_eq!(morning.level_of(Hazard::Wind), Some(CautionLevel::Severe));
    }
}
