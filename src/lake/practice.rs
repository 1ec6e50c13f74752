//! Common practice of the trade, from `config/ladder.toml`: it stands in where a lake file has no ladder or tackle. It has
//! no source, and says so.

use std::sync::OnceLock;

use serde::Deserialize;

use super::model::SpeciesId;
use super::outing::{CableKind, Presentation};
use crate::units::{KG_PER_LB, M_PER_FT, M_PER_IN, M_S_PER_MPH};

const BUILT_IN: &str = include_str!("../../config/ladder.toml");

/// What is common practice.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practice {
    rungs: Vec<Rung>,
    habits: Vec<Habit>,
    first_light: FirstLight,
    tackle: Tackle,
    running: Running,
}

/// A presentation for some species, or for all.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Rung {
    species: Vec<SpeciesId>,
    what: String,
    speed_min_mph: f64,
    speed_max_mph: f64,
    lead_min_in: Option<f64>,
    lead_max_in: Option<f64>,
    blade_in: Option<f64>,
    note: Option<String>,
    move_on: String,
    basis: String,
}

/// How a species uses structure and surface.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Habit {
    /// Species.
    pub species: SpeciesId,
    /// Feeding fish move to steep structure.
    pub steep: bool,
    /// Fish use the surface while it suits them.
    pub surface: bool,
    /// Where that comes from.
    pub basis: String,
}

/// Fish stand shallower at first light.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstLight {
    shallower_min_ft: f64,
    shallower_max_ft: f64,
    until_after_sunrise_h: f64,
    basis: String,
}

/// Ball, cable and lure.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Tackle {
    ball_lb: f64,
    cable_diameter_in: f64,
    cable_kind: CableKind,
    lure_length_in: f64,
    lure_width_in: f64,
    blade_width_frac: f64,
    basis: String,
}

/// Running the boat.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Running {
    slow_speed_mph: f64,
    basis: String,
}

/// The practice that the program carries.
pub fn practice() -> &'static Practice {
    static PRACTICE: OnceLock<Practice> = OnceLock::new();
    PRACTICE.get_or_init(|| {
        toml::from_str(BUILT_IN).expect("config/ladder.toml is part of the program, and a test reads it")
    })
}

impl Practice {
    /// The rungs for a species, in the order to try them.
    pub fn ladder(&self, species: &SpeciesId) -> Vec<Presentation> {
        let for_it = |rung: &&Rung| rung.species.is_empty() || rung.species.contains(species);
        self.rungs
            .iter()
            .filter(for_it)
            .map(|r| r.presentation(species))
            .collect()
    }

    /// How a species uses structure and surface, where anything is said of it.
    pub fn habit(&self, species: &SpeciesId) -> Option<&Habit> {
        self.habits.iter().find(|habit| &habit.species == species)
    }

    /// How much shallower fish stand at first light: the middle of the range.
    pub fn shallower_m(&self) -> f64 {
        0.5 * (self.first_light.shallower_min_ft + self.first_light.shallower_max_ft) * M_PER_FT
    }

    /// Where that comes from.
    pub fn shallower_basis(&self) -> &str {
        &self.first_light.basis
    }

    /// How long after sunrise that holds.
    pub fn after_sunrise_h(&self) -> f64 {
        self.first_light.until_after_sunrise_h
    }

    /// Speed of a run in the dark or among floating wood, where the lake file names none.
    pub fn slow_speed_m_s(&self) -> f64 {
        self.running.slow_speed_mph * M_S_PER_MPH
    }

    /// Mass of a ball where the lake file names none.
    pub fn ball_kg(&self) -> f64 {
        self.tackle.ball_lb * KG_PER_LB
    }

    /// Diameter of its cable likewise.
    pub fn cable_diameter_m(&self) -> f64 {
        self.tackle.cable_diameter_in * M_PER_IN
    }

    /// Make-up of its cable likewise.
    pub fn cable_kind(&self) -> CableKind {
        self.tackle.cable_kind
    }

    /// Area of what a rung tows, seen from its flat side: the lure, and the blade of `blade_m` ahead of it where there is one.
    pub fn broadside_m2(&self, blade_m: Option<f64>) -> f64 {
        let tackle = &self.tackle;
        let lure_m2 = tackle.lure_length_in * tackle.lure_width_in * M_PER_IN * M_PER_IN;
        let blade_m2 = blade_m.map_or(0.0, |blade_m| blade_m * blade_m * tackle.blade_width_frac);
        lure_m2 + blade_m2
    }
}

impl Rung {
    fn presentation(&self, species: &SpeciesId) -> Presentation {
        let lead_m = self
            .lead_min_in
            .zip(self.lead_max_in)
            .map(|(min, max)| 0.5 * (min + max) * M_PER_IN);
        Presentation {
            species: vec![species.clone()],
            what: self.what.clone(),
            speed_min_m_s: self.speed_min_mph * M_S_PER_MPH,
            speed_max_m_s: self.speed_max_mph * M_S_PER_MPH,
            lead_m,
            blade_m: self.blade_in.map(|inches| inches * M_PER_IN),
            note: self.note.clone(),
            move_on: self.move_on.clone(),
            basis: self.basis.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rung_and_habit_says_that_it_has_no_source() {
        let practice = practice();
        let mut bases: Vec<&str> = practice.rungs.iter().map(|r| r.basis.as_str()).collect();
        bases.extend(practice.habits.iter().map(|h| h.basis.as_str()));
        bases.push(&practice.tackle.basis);
        bases.push(&practice.running.basis);
        bases.push(&practice.first_light.basis);
        assert!(
            bases
                .iter()
                .all(|b| b.starts_with("common practice, no source") || b.starts_with("project choice"))
        );
    }

    #[test]
    fn kings_begin_with_a_bare_spoon_and_go_on_behind_a_blade() {
        // Common practice, no source: 2.5 to 3.5 mph bare; about 2 mph behind a six-inch blade, 12 to 18 in.
        let ladder = practice().ladder(&SpeciesId::new("landlocked-chinook"));
        let mph = |speed_m_s: f64| speed_m_s / 0.44704;
        assert!((3..=4).contains(&ladder.len()));
        assert!(
            (mph(ladder[0].speed_min_m_s) - 2.5).abs() < 1e-9
                && (mph(ladder[0].speed_max_m_s) - 3.5).abs() < 1e-9
        );
        assert_eq!(ladder[0].blade_m, None);
        assert!(mph(ladder[1].speed_min_m_s) < 2.0 && mph(ladder[1].speed_max_m_s) > 2.0);
        assert!((ladder[1].blade_m.unwrap() - 6.0 * 0.0254).abs() < 1e-12);
        let lead_in = ladder[1].lead_m.unwrap() / 0.0254;
        assert!(
            (12.0..=18.0).contains(&lead_in),
            "two to three blade lengths: {lead_in}"
        );
        let other = practice().ladder(&SpeciesId::new("kokanee"));
        assert_eq!(other.len(), 2, "what is for every species");
    }
}
