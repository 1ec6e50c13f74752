//! What to run, and how much cable takes it to depth.

use serde::{Deserialize, Serialize};

use crate::lake::{Boat, Lake, Presentation, SpeciesId, practice};
use crate::physics::cable::{
    Ball, SPHERE_DRAG_COEFFICIENT, TowedLoad, WIRE_DRAG_COEFFICIENT, cable_load_n_per_m, cable_out_m,
};
use crate::physics::water::water_density_kg_m3;

/// Density of lead (handbook value, as in the check rows of the cable).
const LEAD_KG_M3: f64 = 11_340.0;
/// Temperature at which the water's density is taken: it changes the cable by less than 0.1 % from 4 to 25 degC.
const WATER_DEGC: f64 = 12.0;
/// Longest cable of a table (project choice).
const LONGEST_M: f64 = 120.0;
/// How far a depth by the equation may be off: drag coefficients of balls and wires differ (check rows' text, "show 10 %").
const GIVE_OR_TAKE_FRAC: f64 = 0.1;
/// Speeds that differ by less are one column of the table.
const SAME_SPEED_M_S: f64 = 0.1;

/// The ladder of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesLadder {
    /// Species.
    pub species: SpeciesId,
    /// Whether the rungs are those of the lake file; else they are common practice.
    pub from_lake_file: bool,
    /// Rungs, in the order to try them.
    pub rungs: Vec<PlanRung>,
}

/// One presentation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PlanRung {
    /// What to run, by kind of tackle.
    pub what: String,
    /// Slow end of the speed through the water.
    pub speed_min_m_s: f64,
    /// Fast end.
    pub speed_max_m_s: f64,
    /// Distance from the blade or the release to the lure.
    pub lead_m: Option<f64>,
    /// Length of the blade ahead of the lure.
    pub blade_m: Option<f64>,
    /// What else there is to it.
    pub note: Option<String>,
    /// The sign to move on.
    pub move_on: String,
    /// Where the advice comes from.
    pub basis: String,
}

/// Cable out for the depths of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SetDepths {
    /// Mass of the ball.
    pub ball_kg: f64,
    /// Diameter of the cable.
    pub cable_diameter_m: f64,
    /// Whether one of the two is taken from common practice, because the lake file does not give it.
    pub assumed: bool,
    /// How far the depth may be off. The drag of line and lure is not among the figures: none is published.
    pub give_or_take_frac: f64,
    /// One row a depth and speed.
    pub rows: Vec<SetDepth>,
}

/// Cable out for one depth at one speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SetDepth {
    /// Depth of the ball.
    pub depth_m: f64,
    /// Speed through the water.
    pub speed_m_s: f64,
    /// Cable from the surface of the water to the ball; `None` where 120 m do not reach.
    pub cable_out_m: Option<f64>,
}

/// The ladder of a species: the lake file's rungs for it, in their order; of a species without any, common practice.
pub fn ladder(lake: &Lake, species: &SpeciesId) -> SpeciesLadder {
    let own: Vec<&Presentation> = lake
        .ladder
        .iter()
        .filter(|rung| rung.species.contains(species))
        .collect();
    let rungs = if own.is_empty() {
        practice().ladder(species).iter().map(rung).collect()
    } else {
        own.iter().map(|presentation| rung(presentation)).collect()
    };
    SpeciesLadder {
        species: species.clone(),
        from_lake_file: !own.is_empty(),
        rungs,
    }
}

fn rung(from: &Presentation) -> PlanRung {
    PlanRung {
        what: from.what.clone(),
        speed_min_m_s: from.speed_min_m_s,
        speed_max_m_s: from.speed_max_m_s,
        lead_m: from.lead_m,
        blade_m: from.blade_m,
        note: from.note.clone(),
        move_on: from.move_on.clone(),
        basis: from.basis.clone(),
    }
}

/// Cable out at the middle speeds of `ladders` for each of `depths_m`, shallowest first.
pub fn set_depths(boat: Option<Boat>, ladders: &[SpeciesLadder], depths_m: &[f64]) -> SetDepths {
    let (ball, cable) = (
        boat.and_then(|b| b.ball_kg),
        boat.and_then(|b| b.cable_diameter_m),
    );
    let ball_kg = ball.unwrap_or_else(|| practice().ball_kg());
    let cable_diameter_m = cable.unwrap_or_else(|| practice().cable_diameter_m());
    let middle = |rung: &PlanRung| 0.5 * (rung.speed_min_m_s + rung.speed_max_m_s);
    let speeds_m_s = apart(
        ladders.iter().flat_map(|l| &l.rungs).map(middle).collect(),
        SAME_SPEED_M_S,
    );
    let rows = apart(depths_m.to_vec(), 0.5)
        .into_iter()
        .flat_map(|depth_m| speeds_m_s.iter().map(move |speed_m_s| (depth_m, *speed_m_s)))
        .map(|(depth_m, speed_m_s)| SetDepth {
            depth_m,
            speed_m_s,
            cable_out_m: cable_for(ball_kg, cable_diameter_m, speed_m_s, depth_m),
        })
        .collect();
    SetDepths {
        ball_kg,
        cable_diameter_m,
        assumed: ball.is_none() || cable.is_none(),
        give_or_take_frac: GIVE_OR_TAKE_FRAC,
        rows,
    }
}

/// Cable out of a lead ball on smooth wire.
fn cable_for(ball_kg: f64, cable_diameter_m: f64, speed_m_s: f64, depth_m: f64) -> Option<f64> {
    let water_kg_m3 = water_density_kg_m3(WATER_DEGC);
    let ball = Ball {
        mass_kg: ball_kg,
        density_kg_m3: LEAD_KG_M3,
        drag_coefficient: SPHERE_DRAG_COEFFICIENT,
    };
    let load = TowedLoad {
        weight_n: ball.weight_n(water_kg_m3),
        drag_n: ball.drag_n(speed_m_s, water_kg_m3),
    };
    let across = cable_load_n_per_m(WIRE_DRAG_COEFFICIENT, cable_diameter_m, speed_m_s, water_kg_m3);
    cable_out_m(load, across, depth_m, LONGEST_M)
}

/// The numbers in order, each at least so far from the one before.
fn apart(mut numbers: Vec<f64>, least: f64) -> Vec<f64> {
    numbers.sort_by(f64::total_cmp);
    numbers.dedup_by(|b, a| *b - *a < least);
    numbers
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;

    #[test]
    fn a_lake_file_without_a_ladder_has_common_practice_and_says_so() {
        let mut lake = Morning::calm().lake;
        let kings = SpeciesId::new("landlocked-chinook");
        let found = ladder(&lake, &kings);
        assert!(!found.from_lake_file && found.rungs.len() >= 3);
        assert!(
            found
                .rungs
                .iter()
                .all(|r| r.basis == "common practice, no source")
        );
        lake.ladder = practice().ladder(&kings)[..1].to_vec();
        let own = ladder(&lake, &kings);
        assert_eq!((own.from_lake_file, own.rungs.len()), (true, 1));
        assert!(!ladder(&lake, &SpeciesId::new("rainbow-trout")).from_lake_file);
    }

    #[test]
    fn the_table_has_the_cable_of_the_check_row() {
        // P10-DEP: 10 lb of lead at 2.5 mph, 30 m of 0.76 mm wire: 28.89 m deep, in water of 998.2 kg/m3.
        let found = cable_for(4.535_923_7, 0.76e-3, 1.1176, 28.89);
        assert!((found.unwrap() - 30.0).abs() < 0.03, "{found:?}");
    }

    #[test]
    fn each_depth_stands_at_each_speed_once_and_faster_needs_more() {
        let lake = Morning::calm().lake;
        let ladders = [ladder(&lake, &SpeciesId::new("landlocked-chinook"))];
        let table = set_depths(lake.boat, &ladders, &[18.0, 12.0, 12.2]);
        assert!(table.assumed);
        let depths: Vec<f64> = table.rows.iter().map(|r| r.depth_m).collect();
        assert!(depths.is_sorted() && !depths.contains(&12.2));
        for pair in table.rows.windows(2).filter(|p| p[0].depth_m == p[1].depth_m) {
            assert!(pair[1].cable_out_m > pair[0].cable_out_m, "{pair:?}");
        }
        let boat = Boat {
            ball_kg: Some(6.0),
            cable_diameter_m: Some(0.7e-3),
            ..lake.boat.unwrap()
        };
        assert!(!set_depths(Some(boat), &ladders, &[12.0]).assumed);
    }
}
