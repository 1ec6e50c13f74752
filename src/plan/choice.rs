//! Which zone and ramp follow from a species' shares.

use crate::column::Water;
use crate::lake::{Lake, ZoneId, ZoneKind, distance_m};
use crate::plan::{ChosenRamp, RampPlan, RampReason, RampState, Run};
use crate::whereabouts::SpeciesCall;
use crate::whereabouts::drivers::water_of;

/// Share above which the second zone is the fallback (fish.md 5, project choice).
const FALLBACK_SHARE_FRAC: f64 = 0.3;

/// The zone to fall back to: the fishable zone with the second largest share, where that is above 0.3.
pub fn fallback_zone(call: &SpeciesCall) -> Option<ZoneId> {
    call.zones
        .iter()
        .filter(|(id, share)| {
            share.fishable && **id != call.likeliest_fishable && share.share > FALLBACK_SHARE_FRAC
        })
        .max_by(|a, b| a.1.share.total_cmp(&b.1.share))
        .map(|(id, _)| id.clone())
}

/// The ramps of a morning with the runs from them: the one place where it is decided from which of them to launch.
#[derive(Clone, Copy)]
pub struct Launches<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Ramps by level.
    pub ramps: &'a [RampState],
    /// Runs from them.
    pub runs: &'a [RampPlan],
    /// Water, which tells of closed arms.
    pub water: &'a Water,
}

impl<'a> Launches<'a> {
    /// The ramp to launch at for `zone`, and why: of those that float the boat by level, have a lane open and
    /// do not launch into a closed arm, the one with the shortest run by water to the stretches to try `along`, as of
    /// [`Launches::run`]; where no run is known the nearest in a straight line.
    ///
    /// Where the file has no stretch in the zone, or some of these ramps has no position, distances cannot be
    /// compared: then a ramp in the zone itself comes first, then one in the main body, and among equals the
    /// one with the most water over its toe.
    pub fn ramp_for(&self, zone: &ZoneId, along: &[String]) -> Option<ChosenRamp> {
        let open: Vec<&RampState> = self.ramps.iter().filter(|ramp| self.opens(ramp)).collect();
        let chosen = |ramp: &RampState, reason| ChosenRamp {
            id: ramp.id.clone(),
            reason,
        };
        if let [only] = open[..] {
            return Some(chosen(only, RampReason::OnlyOne));
        }
        let by_water = open
            .iter()
            .filter_map(|ramp| Some((*ramp, self.run(&ramp.id, zone, along)?.distance_m?)));
        if let Some((ramp, distance_m)) = by_water.min_by(|a, b| a.1.total_cmp(&b.1)) {
            return Some(chosen(ramp, RampReason::ShortestRun { distance_m }));
        }
        let away: Option<Vec<f64>> = open.iter().map(|r| away_m(self.lake, r, zone)).collect();
        if let Some(away) = away {
            let nearest = open.iter().zip(away).min_by(|a, b| a.1.total_cmp(&b.1));
            return nearest.map(|(ramp, distance_m)| chosen(ramp, RampReason::Nearest { distance_m }));
        }
        let rank = |ramp: &RampState| {
            let kind = self.lake.zone(&ramp.zone).map(|z| z.kind);
            (&ramp.zone == zone, kind == Some(ZoneKind::MainBody))
        };
        let water_m = |ramp: &RampState| ramp.water_over_toe_m.unwrap_or(f64::NEG_INFINITY);
        let best = open
            .into_iter()
            .max_by(|a, b| rank(a).cmp(&rank(b)).then(water_m(a).total_cmp(&water_m(b))))?;
        let reason = if &best.zone == zone {
            RampReason::SameZone
        } else {
            RampReason::MostWater
        };
        Some(chosen(best, reason))
    }

    /// The run to `zone` from the ramp that [`Launches::ramp_for`] chooses; `None` where the time of it is not known.
    pub fn run_for(&self, zone: &ZoneId, along: &[String]) -> Option<(&'a RampPlan, &'a Run)> {
        let chosen = self.ramp_for(zone, along)?;
        let plan = self.runs.iter().find(|plan| plan.id == chosen.id)?;
        let run = run_to(plan, zone, along).filter(|run| run.run_h.is_some())?;
        Some((plan, run))
    }

    /// The run to a zone from a ramp by its id: to the first of the stretches to try that can be reached from there; where there is none, to
    /// the zone as a whole, which is its nearest place.
    pub fn run(&self, ramp: &str, zone: &ZoneId, along: &[String]) -> Option<&'a Run> {
        run_to(self.runs.iter().find(|plan| plan.id == ramp)?, zone, along)
    }

    fn opens(&self, ramp: &RampState) -> bool {
        let closed = water_of(self.water, &ramp.zone).is_some_and(|w| w.closed);
        ramp.usable == Some(true) && ramp.lanes != Some(0) && !closed
    }
}

fn run_to<'r>(plan: &'r RampPlan, zone: &ZoneId, along: &[String]) -> Option<&'r Run> {
    let to = |stretch: Option<&String>| {
        let mut runs = plan.runs.iter().filter(|r| &r.zone == zone);
        runs.find(|r| r.stretch.as_ref() == stretch)
    };
    let reached = |stretch: &String| to(Some(stretch)).filter(|run| run.distance_m.is_some());
    along.iter().find_map(reached).or_else(|| to(None))
}

/// Straight way from a ramp to the nearest point of the zone's stretches; `None` where the file gives the
/// one or the other no position.
fn away_m(lake: &Lake, ramp: &RampState, zone: &ZoneId) -> Option<f64> {
    let described = lake.ramps.iter().find(|r| r.id == ramp.id)?;
    let position = described.position?;
    let stretches = lake.stretches.iter().filter(|s| &s.zone == zone);
    stretches
        .flat_map(|s| &s.line)
        .map(|point| distance_m(position, *point))
        .min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::{Ramp, Stretch, Structure};
    use crate::plan::cautions::morning_tests::Morning;
    use crate::plan::ramps;

    /// A morning with three ramps: one in the main body far from the arm with most water over it, one in
    /// the main body near the arm, one in the arm itself that is farther from its stretch.
    fn morning() -> Morning {
        let mut morning = Morning::calm();
        let level_m = morning.pool().elevation_m;
        let ramp = |id: &str, zone: &str, water_m: f64, position| Ramp {
            id: id.to_owned(),
            name: id.to_owned(),
            zone: ZoneId::new(zone),
            toe_elevation_m: level_m - water_m,
            position: Some(position),
            lanes: Vec::new(),
        };
        morning.lake.ramps = vec![
            ramp("far", "main", 20.0, (42.20, -119.60)),
            ramp("near", "main", 5.0, (42.26, -119.60)),
            ramp("head", "sorrel", 3.0, (42.36, -119.60)),
        ];
        morning.lake.stretches = vec![Stretch {
            id: "wall".to_owned(),
            name: "the wall".to_owned(),
            zone: ZoneId::new("sorrel"),
            structure: Structure::Bluff,
            line: vec![(42.30, -119.60), (42.29, -119.60)],
            outline: Vec::new(),
            bed_elevation_m: 230.0,
        }];
        morning
    }

    fn chosen(morning: &Morning) -> Option<(String, RampReason)> {
        chosen_with(morning, &[])
    }

    /// A ramp in use with its way into the arm, where it is known, at 9000 m an hour.
    fn plan(id: &str, distance_m: Option<f64>) -> RampPlan {
        let run_h = distance_m.map(|m| m / 9000.0);
        RampPlan {
            id: id.to_owned(),
            name: id.to_owned(),
            usable: Some(true),
            water_over_toe_m: Some(5.0),
            water_on_return_m: Some(5.0),
            lanes: None,
            lasts: None,
            runs: vec![Run {
                zone: ZoneId::new("sorrel"),
                stretch: None,
                distance_m,
                run_h,
                back_h: run_h,
                shallowest_m: None,
                past: Vec::new(),
                why_not: None,
            }],
        }
    }

    fn chosen_with(morning: &Morning, runs: &[RampPlan]) -> Option<(String, RampReason)> {
        let states = ramps(&morning.lake, &morning.conditions);
        let zone = ZoneId::new("sorrel");
        let launches = Launches {
            lake: &morning.lake,
            ramps: &states,
            runs,
            water: &morning.water,
        };
        launches.ramp_for(&zone, &[]).map(|c| (c.id, c.reason))
    }

    #[test]
    fn the_ramp_is_the_nearest_to_the_water_to_fish_and_not_the_deepest() {
        let mut morning = morning();
        let (id, reason) = chosen(&morning).unwrap();
        // 0.03 degrees of latitude are 3.34 km (111.2 km a degree on a sphere of 6371 km).
        let RampReason::Nearest { distance_m } = reason else {
            panic!("{reason:?}");
        };
        assert!(
            id == "near" && (distance_m - 3336.0).abs() < 5.0,
            "{id} {distance_m}"
        );
        // Out of use, it is not chosen however near.
        let level_m = morning.pool().elevation_m;
        morning.lake.ramps[1].toe_elevation_m = level_m;
        assert_eq!(chosen(&morning).unwrap().0, "head");
        // Nor is one that launches into a closed arm.
        morning.water.zones[1].closed = true;
        assert_eq!(chosen(&morning), Some(("far".to_owned(), RampReason::OnlyOne)));
    }

    #[test]
    fn the_shortest_run_by_water_goes_before_the_nearest_in_a_straight_line() {
        let morning = morning();
        let runs = [
            plan("far", Some(9000.0)),
            plan("near", None),
            plan("head", Some(8000.0)),
        ];
        let reason = RampReason::ShortestRun { distance_m: 8000.0 };
        assert_eq!(chosen_with(&morning, &runs), Some(("head".to_owned(), reason)));
        assert_eq!(chosen_with(&morning, &[plan("near", None)]).unwrap().0, "near");
    }

    #[test]
    fn the_run_of_the_order_is_that_of_the_ramp_to_launch_at() {
        let mut morning = morning();
        let runs = [
            plan("far", Some(9000.0)),
            plan("near", Some(4500.0)),
            plan("head", Some(1800.0)),
        ];
        let found = |morning: &Morning| {
            let launches = Launches {
                lake: &morning.lake,
                ramps: &ramps(&morning.lake, &morning.conditions),
                runs: &runs,
                water: &morning.water,
            };
            let zone = ZoneId::new("sorrel");
            let run = launches.run_for(&zone, &[]);
            let of = run.map(|(plan, run)| (plan.id.clone(), run.run_h));
            (launches.ramp_for(&zone, &[]).map(|c| c.id), of)
        };
        let both = |id: &str, run_h| (Some(id.to_owned()), Some((id.to_owned(), Some(run_h))));
        assert_eq!(found(&morning), both("head", 0.2)); // 1800 m at 9000 m an hour
        // The ramp in the arm that has closed has the shortest run, and no boat goes in there.
        morning.water.zones[1].closed = true;
        assert_eq!(found(&morning), both("near", 0.5));
    }

    #[test]
    fn the_run_goes_to_the_stretch_to_try_and_not_to_the_nearest() {
        let morning = morning();
        let to = |stretch: &str, distance_m: Option<f64>| Run {
            stretch: Some(stretch.to_owned()),
            ..plan("near", distance_m).runs.remove(0)
        };
        // The zone's nearest stretch is the cove; the wall is further, and from the second ramp nearer than from the first.
        let mut runs = [plan("near", Some(1000.0)), plan("head", Some(2000.0))];
        runs[0].runs.extend([
            to("cove", Some(1000.0)),
            to("wall", Some(6000.0)),
            to("bar", None),
        ]);
        runs[1].runs.extend([
            to("cove", Some(2000.0)),
            to("wall", Some(3000.0)),
            to("bar", None),
        ]);
        let launches = Launches {
            lake: &morning.lake,
            ramps: &ramps(&morning.lake, &morning.conditions),
            runs: &runs,
            water: &morning.water,
        };
        let run = |along: &[&str]| {
            let along: Vec<String> = along.iter().map(|s| (*s).to_owned()).collect();
            let (ramp, run) = launches.run_for(&ZoneId::new("sorrel"), &along).unwrap();
            (ramp.id.clone(), run.stretch.clone(), run.distance_m.unwrap())
        };
        assert_eq!(run(&[]), ("near".to_owned(), None, 1000.0));
        let wall = ("head".to_owned(), Some("wall".to_owned()), 3000.0);
        assert_eq!(run(&["wall", "cove"]), wall);
        assert_eq!(run(&["bar", "wall"]), wall, "no boat comes to the bar");
        assert_eq!(run(&["bar"]), ("near".to_owned(), None, 1000.0));
    }

    #[test]
    fn without_positions_a_ramp_in_the_zone_comes_first_then_the_most_water() {
        let mut morning = morning();
        morning.lake.ramps[0].position = None;
        assert_eq!(chosen(&morning), Some(("head".to_owned(), RampReason::SameZone)));
        morning.lake.ramps.pop();
        assert_eq!(chosen(&morning), Some(("far".to_owned(), RampReason::MostWater)));
        morning.lake.stretches.clear();
        morning.lake.ramps[0].position = morning.lake.ramps[1].position;
        assert_eq!(chosen(&morning), Some(("far".to_owned(), RampReason::MostWater)));
    }

    #[test]
    fn a_ramp_without_an_open_lane_is_not_chosen() {
        let mut morning = morning();
        let level_m = morning.pool().elevation_m;
        morning.lake.ramps[1].lanes = vec![(level_m + 1.0, 1)];
        assert_ne!(chosen(&morning).unwrap().0, "near");
        morning.lake.ramps.clear();
        assert_eq!(chosen(&morning), None);
    }
}
