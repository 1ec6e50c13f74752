//! Thresholds of the cautions with their words and sources, from `config/cautions.toml`.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::plan::{CautionLevel, Hazard};
use crate::units::{M_PER_FT, M_PER_MI, M_S_PER_KT, degc_from_degf};

const BUILT_IN: &str = include_str!("../../../config/cautions.toml");

/// One hazard.
#[derive(Debug, Deserialize)]
struct HazardLimits {
    source: String,
    #[serde(flatten)]
    levels: BTreeMap<String, LevelLimits>,
}

/// One level of it.
#[derive(Debug, Deserialize)]
struct LevelLimits {
    says: String,
    /// Numbers with their units.
    #[serde(flatten)]
    numbers: BTreeMap<String, String>,
}

fn all() -> &'static BTreeMap<String, HazardLimits> {
    static LIMITS: OnceLock<BTreeMap<String, HazardLimits>> = OnceLock::new();
    LIMITS.get_or_init(|| {
        toml::from_str(BUILT_IN).expect("config/cautions.toml is part of the program, and a test reads it")
    })
}

fn hazard_limits(hazard: Hazard) -> &'static HazardLimits {
    all()
        .get(key_of(hazard))
        .expect("every hazard that asks for a threshold stands in config/cautions.toml")
}

fn level_limits(hazard: Hazard, level: CautionLevel) -> &'static LevelLimits {
    let word = match level {
        CautionLevel::Reminder => "reminder",
        CautionLevel::NotKnown => "not_known",
        CautionLevel::Caution => "caution",
        CautionLevel::Strong => "strong",
        CautionLevel::Severe => "severe",
    };
    hazard_limits(hazard)
        .levels
        .get(word)
        .expect("every level that a hazard asks for stands in config/cautions.toml")
}

fn key_of(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Wind => "wind",
        Hazard::Waves => "waves",
        Hazard::ColdWater => "cold_water",
        Hazard::Ice => "ice",
        Hazard::Thunder => "thunder",
        Hazard::Debris => "debris",
        Hazard::LowWater => "low_water",
        Hazard::ChangingLevel => "changing_level",
        Hazard::Fog => "fog",
        Hazard::Darkness => "darkness",
        Hazard::Heat => "heat",
        Hazard::ColdAir => "cold_air",
        Hazard::Ramp => "ramp",
        Hazard::LifeJacket => "life_jacket",
        Hazard::Algae => "algae",
        Hazard::FishAdvisory => "fish_advisory",
        Hazard::Regulations => "regulations",
    }
}

/// Where the thresholds of a hazard come from.
pub(super) fn source(hazard: Hazard) -> &'static str {
    &hazard_limits(hazard).source
}

/// The threshold of a level in words.
pub(super) fn says(hazard: Hazard, level: CautionLevel) -> &'static str {
    &level_limits(hazard, level).says
}

/// A number of a level, in the SI unit of its own unit; a share of 1 for one in percent.
pub(super) fn si(hazard: Hazard, level: CautionLevel, name: &str) -> f64 {
    let text = level_limits(hazard, level)
        .numbers
        .get(name)
        .expect("every number that a hazard asks for stands in config/cautions.toml");
    in_si(text)
        .expect("config/cautions.toml gives each number one of the units at its head, and a test reads all")
}

/// `12 kt` in SI; `None` where it is no number with a unit that is known.
fn in_si(text: &str) -> Option<f64> {
    let (number, unit) = text.split_once(' ')?;
    let number: f64 = number.parse().ok()?;
    Some(match unit {
        "kt" => number * M_S_PER_KT,
        "ft" => number * M_PER_FT,
        "mi" => number * M_PER_MI,
        "m" | "degC" | "h" => number,
        "degF" => degc_from_degf(number),
        "%" => number / 100.0,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_has_a_unit_that_is_known_and_stands_in_its_sentence() {
        // What the sentence says in other words.
        let other = |text: &str| match text {
            "400 %" => "4 times".to_owned(),
            "0.25 mi" => "a quarter mile".to_owned(),
            "20 %" => "20th percentile".to_owned(),
            text => text.to_owned(),
        };
        let mut numbers = 0;
        for (hazard, limits) in all() {
            assert!(!limits.source.is_empty(), "{hazard}");
            for (level, limits) in &limits.levels {
                for (name, text) in &limits.numbers {
                    let value = in_si(text).unwrap_or_else(|| panic!("{hazard}.{level}.{name}: {text}"));
                    // Of temperatures alone one below 0 degC makes sense.
                    assert!(value > 0.0 || text.ends_with("degF"), "{hazard}.{level}.{name}");
                    let said = limits.says.contains(&other(text)) || name == "silent";
                    assert!(said, "{hazard}.{level}: {text} is not in {:?}", limits.says);
                    numbers += 1;
                }
            }
        }
        assert!(numbers >= 20, "{numbers}");
    }

    #[test]
    fn every_key_is_explained_in_the_file() {
        let comments: Vec<&str> = BUILT_IN.lines().filter(|l| l.starts_with('#')).collect();
        for level in all().values().flat_map(|l| l.levels.values()) {
            for name in level.numbers.keys() {
                assert!(
                    comments.iter().any(|c| c.contains(&format!("`{name}`"))),
                    "{name}"
                );
            }
        }
    }

    #[test]
    fn units_become_si() {
        // 1 kt = 1852 m / 3600 s, 1 ft = 0.3048 m, 50 degF = 10 degC, exact.
        let close = |text: &str, wanted: f64| (in_si(text).unwrap() - wanted).abs() < 1e-12;
        assert!(close("3600 kt", 1852.0) && close("10 ft", 3.048) && close("50 degF", 10.0));
        assert!(close("15 %", 0.15));
        assert_eq!(
            [in_si("12"), in_si("x kt"), in_si("12 furlongs")],
            [None, None, None]
        );
    }
}
