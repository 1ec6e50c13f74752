//! What to run, and how much cable takes it to depth.

use serde::{Deserialize, Serialize};

use super::drift::SurfaceDrift;
use super::hours::PlanHours;
use crate::lake::{Boat, CableKind, Lake, Presentation, SpeciesId, practice};
use crate::physics::cable::{
    Ball, SPHERE_DRAG_COEFFICIENT, STRANDED_DRAG_COEFFICIENT, STRUMMING_DRAG_COEFFICIENT, TowedLoad,
    WIRE_DRAG_COEFFICIENT, cable_load_n_per_m, cable_out_m, light_cable_place, plate_drag_n,
};
use crate::physics::water::water_density_kg_m3;

/// Density of lead (handbook value, as in the check rows of the cable).
const LEAD_KG_M3: f64 = 11_340.0;
/// Temperature at which the water's density is taken: it changes the cable by less than 0.1 % from 4 to 25 degC.
const WATER_DEGC: f64 = 12.0;
/// Longest cable of a table (project choice).
const LONGEST_M: f64 = 120.0;
/// Rungs whose middle speeds differ by less are one column of the table.
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
    /// Make-up of the cable.
    pub cable_kind: CableKind,
    /// Whether one of the three is taken from common practice, because the lake file does not give it.
    pub assumed: bool,
    /// Drag coefficient across the cable that cable out is for.
    pub drag_coefficient: f64,
    /// The same of a cable that hums, for the least depth.
    pub strumming_drag_coefficient: f64,
    /// One row a depth and column of speeds.
    pub rows: Vec<SetDepth>,
    /// What the wind's drift does to a speed over ground; `None` where the wind is not known.
    pub drift: Option<SurfaceDrift>,
}

/// Cable out for one depth at the speeds of one rung, or of rungs that are alike.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SetDepth {
    /// Depth of the ball.
    pub depth_m: f64,
    /// Speed through the water that the cable is for: the middle of the rung.
    pub speed_m_s: f64,
    /// Slow end of the rung.
    pub speed_min_m_s: f64,
    /// Fast end.
    pub speed_max_m_s: f64,
    /// Cable from the surface of the water to the ball; `None` where 120 m do not reach.
    pub cable_out_m: Option<f64>,
    /// Depth of the ball on that cable at the slow end.
    pub slow_depth_m: Option<f64>,
    /// The same at the fast end.
    pub fast_depth_m: Option<f64>,
    /// The least that it may be: at the fast end, with a cable that hums and a lure that drags like a plate across the flow.
    /// The line from the release up to the rod is not in it: what it pulls depends on how it is held.
    pub least_depth_m: Option<f64>,
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

/// Cable out at the speeds of `ladders` for each of `depths_m`, shallowest first, and the drift of `hours`.
pub fn set_depths(
    boat: Option<Boat>,
    ladders: &[SpeciesLadder],
    depths_m: &[f64],
    hours: &PlanHours,
) -> SetDepths {
    let (ball, diameter, kind) = (
        boat.and_then(|b| b.ball_kg),
        boat.and_then(|b| b.cable_diameter_m),
        boat.and_then(|b| b.cable_kind),
    );
    let tackle = Tackle {
        ball_kg: ball.unwrap_or_else(|| practice().ball_kg()),
        cable_diameter_m: diameter.unwrap_or_else(|| practice().cable_diameter_m()),
        cable_kind: kind.unwrap_or_else(|| practice().cable_kind()),
    };
    let columns = columns(ladders);
    let rows = apart(depths_m.to_vec(), 0.5)
        .into_iter()
        .flat_map(|depth_m| {
            columns
                .iter()
                .map(move |column| tackle.set_depth(column, depth_m))
        })
        .collect();
    SetDepths {
        ball_kg: tackle.ball_kg,
        cable_diameter_m: tackle.cable_diameter_m,
        cable_kind: tackle.cable_kind,
        assumed: ball.is_none() || diameter.is_none() || kind.is_none(),
        drag_coefficient: tackle.drag_coefficient(),
        strumming_drag_coefficient: STRUMMING_DRAG_COEFFICIENT,
        rows,
        drift: SurfaceDrift::of(hours),
    }
}

/// Rungs of one speed.
#[derive(Debug, Clone, Copy)]
struct Column {
    slow_m_s: f64,
    middle_m_s: f64,
    fast_m_s: f64,
    /// Largest blade or lure of them, seen from its flat side.
    broadside_m2: f64,
}

/// The speeds of the ladders, slowest first; rungs that are hardly apart are one column with the ends of both.
fn columns(ladders: &[SpeciesLadder]) -> Vec<Column> {
    let mut all: Vec<Column> = ladders
        .iter()
        .flat_map(|ladder| &ladder.rungs)
        .map(|rung| Column {
            slow_m_s: rung.speed_min_m_s,
            middle_m_s: 0.5 * (rung.speed_min_m_s + rung.speed_max_m_s),
            fast_m_s: rung.speed_max_m_s,
            broadside_m2: practice().broadside_m2(rung.blade_m),
        })
        .collect();
    all.sort_by(|a, b| a.middle_m_s.total_cmp(&b.middle_m_s));
    all.dedup_by(|b, a| {
        let one = b.middle_m_s - a.middle_m_s < SAME_SPEED_M_S;
        if one {
            a.slow_m_s = a.slow_m_s.min(b.slow_m_s);
            a.fast_m_s = a.fast_m_s.max(b.fast_m_s);
            a.broadside_m2 = a.broadside_m2.max(b.broadside_m2);
        }
        one
    });
    all
}

/// What is towed.
#[derive(Debug, Clone, Copy)]
struct Tackle {
    ball_kg: f64,
    cable_diameter_m: f64,
    cable_kind: CableKind,
}

impl Tackle {
    /// Of the cable as it runs when it does not hum. Of a braided line no figure was found: it is taken to be as rough as
    /// stranded wire.
    fn drag_coefficient(&self) -> f64 {
        match self.cable_kind {
            CableKind::Smooth => WIRE_DRAG_COEFFICIENT,
            CableKind::Stranded | CableKind::Braid => STRANDED_DRAG_COEFFICIENT,
        }
    }

    /// The lead ball at the end of the cable, and what a lure adds.
    fn load(&self, speed_m_s: f64, lure_n: f64) -> TowedLoad {
        let water_kg_m3 = water_density_kg_m3(WATER_DEGC);
        let ball = Ball {
            mass_kg: self.ball_kg,
            density_kg_m3: LEAD_KG_M3,
            drag_coefficient: SPHERE_DRAG_COEFFICIENT,
        };
        TowedLoad {
            weight_n: ball.weight_n(water_kg_m3),
            drag_n: ball.drag_n(speed_m_s, water_kg_m3) + lure_n,
        }
    }

    fn across_n_per_m(&self, drag_coefficient: f64, speed_m_s: f64) -> f64 {
        cable_load_n_per_m(
            drag_coefficient,
            self.cable_diameter_m,
            speed_m_s,
            water_density_kg_m3(WATER_DEGC),
        )
    }

    /// Cable that takes the ball to a depth at a speed, without a lure.
    fn cable_out_m(&self, speed_m_s: f64, depth_m: f64) -> Option<f64> {
        let across = self.across_n_per_m(self.drag_coefficient(), speed_m_s);
        cable_out_m(self.load(speed_m_s, 0.0), across, depth_m, LONGEST_M)
    }

    fn set_depth(&self, column: &Column, depth_m: f64) -> SetDepth {
        let out_m = self.cable_out_m(column.middle_m_s, depth_m);
        let runs_at = |speed_m_s: f64, drag_coefficient: f64, lure_n: f64| {
            let across = self.across_n_per_m(drag_coefficient, speed_m_s);
            out_m.map(|out_m| light_cable_place(self.load(speed_m_s, lure_n), across, out_m).depth_m)
        };
        let lure_n = plate_drag_n(
            column.broadside_m2,
            column.fast_m_s,
            water_density_kg_m3(WATER_DEGC),
        );
        SetDepth {
            depth_m,
            speed_m_s: column.middle_m_s,
            speed_min_m_s: column.slow_m_s,
            speed_max_m_s: column.fast_m_s,
            cable_out_m: out_m,
            slow_depth_m: runs_at(column.slow_m_s, self.drag_coefficient(), 0.0),
            fast_depth_m: runs_at(column.fast_m_s, self.drag_coefficient(), 0.0),
            least_depth_m: runs_at(column.fast_m_s, STRUMMING_DRAG_COEFFICIENT, lure_n),
        }
    }
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
    use crate::plan::hours::plan_hours;

    fn hours_of(morning: &Morning) -> PlanHours {
        plan_hours(&morning.lake, &morning.conditions, &morning.water)
    }

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

    /// Ten pounds of lead on 0.76 mm, as in the check rows of the cable.
    fn tackle(cable_kind: CableKind) -> Tackle {
        Tackle {
            ball_kg: 4.535_923_7,
            cable_diameter_m: 0.76e-3,
            cable_kind,
        }
    }

    #[test]
    fn the_table_has_the_cable_of_the_check_row() {
        // P10-DEP: 10 lb of lead at 2.5 mph, 30 m of 0.76 mm smooth wire: 28.89 m deep, in water of 998.2 kg/m3.
        let found = tackle(CableKind::Smooth).cable_out_m(1.1176, 28.89);
        assert!((found.unwrap() - 30.0).abs() < 0.03, "{found:?}");
    }

    #[test]
    fn each_depth_stands_at_each_speed_once_and_faster_needs_more() {
        let lake = Morning::calm().lake;
        let ladders = [ladder(&lake, &SpeciesId::new("landlocked-chinook"))];
        let hours = hours_of(&Morning::calm());
        let table = set_depths(lake.boat, &ladders, &[18.0, 12.0, 12.2], &hours);
        assert!(table.assumed);
        let depths: Vec<f64> = table.rows.iter().map(|r| r.depth_m).collect();
        assert!(depths.is_sorted() && !depths.contains(&12.2));
        for pair in table.rows.windows(2).filter(|p| p[0].depth_m == p[1].depth_m) {
            assert!(pair[1].cable_out_m > pair[0].cable_out_m, "{pair:?}");
        }
        let boat = Boat {
            ball_kg: Some(6.0),
            cable_diameter_m: Some(0.7e-3),
            cable_kind: Some(CableKind::Smooth),
            ..lake.boat.unwrap()
        };
        assert!(!set_depths(Some(boat), &ladders, &[12.0], &hours).assumed);
        let half_told = Boat {
            cable_kind: None,
            ..boat
        };
        assert!(set_depths(Some(half_told), &ladders, &[12.0], &hours).assumed);
    }

    #[test]
    fn a_rougher_cable_needs_more_and_the_least_depth_is_below_no_other() {
        let column = Column {
            slow_m_s: 1.1176,
            middle_m_s: 1.3411,
            fast_m_s: 1.5646,
            broadside_m2: practice().broadside_m2(None),
        };
        let [smooth, stranded, braid] = [CableKind::Smooth, CableKind::Stranded, CableKind::Braid]
            .map(|k| tackle(k).set_depth(&column, 30.0));
        assert!(stranded.cable_out_m > smooth.cable_out_m);
        assert_eq!(stranded.cable_out_m, braid.cable_out_m);
        for row in [smooth, stranded] {
            let (least, fast, slow) = (row.least_depth_m, row.fast_depth_m, row.slow_depth_m);
            assert!(least < fast && fast < Some(30.0) && slow > Some(30.0), "{row:?}");
        }
        // A blade of six inches by a quarter of that, and the lure of 3.5 in by 1 in behind it.
        let both_m2 = practice().broadside_m2(Some(0.1524));
        assert!((both_m2 - 0.1524 * 0.0381 - 0.0889 * 0.0254).abs() < 1e-12);
    }

    #[test]
    fn rungs_of_nearly_one_speed_are_one_column_with_the_ends_of_both() {
        let rung = |slow: f64, fast: f64, blade_m: Option<f64>| PlanRung {
            what: String::new(),
            speed_min_m_s: slow,
            speed_max_m_s: fast,
            lead_m: None,
            blade_m,
            note: None,
            move_on: String::new(),
            basis: String::new(),
        };
        let ladders = [SpeciesLadder {
            species: SpeciesId::new("kokanee"),
            from_lake_file: true,
            rungs: vec![
                rung(0.8, 1.0, Some(0.15)),
                rung(0.7, 1.2, None),
                rung(1.1, 1.5, None),
            ],
        }];
        let found = columns(&ladders);
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].slow_m_s, found[0].fast_m_s), (0.7, 1.2));
        assert_eq!(found[0].broadside_m2, practice().broadside_m2(Some(0.15)));
    }
}
