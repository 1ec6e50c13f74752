//! The plan of a morning as a value.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::choice::Launches;
use super::depth::{SpeciesDepth, species_depth};
use super::hours::{PlanHours, plan_hours};
use super::ladder::{SetDepths, SpeciesLadder, ladder, set_depths};
use super::order::{SpeciesOrder, species_order};
use super::pace::RunPace;
use super::runs::{RampPlan, ramp_plans};
use super::second::SecondChoice;
use super::way::Ways;
use super::{Caution, CautionLevel, Hazard, RampState};
use crate::column::Water;
use crate::conditions::{Conditions, trip_window};
use crate::lake::{HazardKind, Lake, ZoneId};
use crate::plan::level::judged_level;
use crate::species::Species;
use crate::whereabouts::{SpeciesCall, Verdict};

/// What to do, in an order, and what when it fails. The cautions come before it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Plan {
    /// Hazards whose caution says not to go out, or not to run: while they hold the rest of the plan does not.
    pub stop: Vec<Hazard>,
    /// How fast the runs are, and when the boat leaves; `None` without a boat.
    pub pace: Option<RunPace>,
    /// Ramps with the runs from them. By level only: gate, closure and surface are not known.
    pub ramps: Vec<RampPlan>,
    /// Saddles of the lake file that are dry or too shallow today: the ways over them are closed.
    pub closed_saddles: Vec<String>,
    /// Where to go first and next, by species.
    pub order: Vec<SpeciesOrder>,
    /// How deep, by species and zone.
    pub depth: Vec<SpeciesDepth>,
    /// What to run, by species.
    pub ladder: Vec<SpeciesLadder>,
    /// Cable out for the depths of the first places.
    pub set_depth: SetDepths,
    /// Light, wind, chop and air by hour.
    pub hours: PlanHours,
}

impl Plan {
    /// Hands every time in the plan to `with`.
    pub fn for_each_time(&mut self, mut with: impl FnMut(&mut DateTime<Utc>)) {
        for order in &mut self.order {
            match &mut order.second {
                Some(SecondChoice::Zone { at, .. } | SecondChoice::SameZone { at, .. }) => with(at),
                None => {}
            }
        }
        let lights = self.depth.iter_mut().filter_map(|d| d.first_light.as_mut());
        for light in lights {
            with(&mut light.from);
            with(&mut light.to);
        }
        if let Some(pace) = &mut self.pace {
            with(&mut pace.leave_at);
            with(&mut pace.home_by);
            let light = [&mut pace.light_from, &mut pace.light_to];
            light.into_iter().flatten().for_each(&mut with);
        }
        let hours = &mut self.hours;
        with(&mut hours.from);
        with(&mut hours.to);
        let events = [
            &mut hours.first_light,
            &mut hours.sunrise,
            &mut hours.sun_over_hills,
            &mut hours.sunset,
        ];
        events.into_iter().flatten().for_each(&mut with);
        hours.hours.iter_mut().for_each(|h| with(&mut h.time));
    }
}

/// What a plan is made from.
pub struct PlanParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Conditions.
    pub conditions: &'a Conditions,
    /// Water.
    pub water: &'a Water,
    /// Cautions, which have been computed before.
    pub cautions: &'a [Caution],
    /// Ramps.
    pub ramps: &'a [RampState],
    /// Species with their calls, in the order of the lake file.
    pub calls: &'a [(Species, SpeciesCall)],
    /// Zone where the trip log asks for an hour of scouting.
    pub scout: Option<&'a ZoneId>,
}

/// Whether a severe caution on the hazard says to stay ashore, or not to run.
pub fn says_stay_ashore(hazard: Hazard) -> bool {
    matches!(
        hazard,
        Hazard::Wind | Hazard::Waves | Hazard::Ice | Hazard::Thunder | Hazard::Fog
    )
}

/// The plan of these parts.
pub fn make_plan(parts: &PlanParts<'_>) -> Plan {
    let (lake, conditions) = (parts.lake, parts.conditions);
    let trip = trip_window(lake, conditions.as_of);
    let pace = lake
        .boat
        .map(|boat| RunPace::new(boat, &trip, conditions.light.as_ref(), parts.cautions));
    let ramps = ramp_plans(lake, conditions, parts.ramps, pace.as_ref());
    let depth: Vec<SpeciesDepth> = parts
        .calls
        .iter()
        .map(|(species, _)| species_depth(lake, species, conditions, parts.water))
        .collect();
    let known = |call: &SpeciesCall| !matches!(call.verdict, Verdict::NotKnown { .. });
    let ladders: Vec<SpeciesLadder> = parts
        .calls
        .iter()
        .filter(|(_, call)| known(call))
        .map(|(_, call)| ladder(lake, &call.species))
        .collect();
    let ways = Ways::new(lake, conditions);
    let launches = Launches {
        lake,
        ramps: parts.ramps,
        runs: &ramps,
        water: parts.water,
    };
    let order: Vec<SpeciesOrder> = parts
        .calls
        .iter()
        .zip(&depth)
        .map(|((_, call), depth)| {
            let own = ladders.iter().find(|l| l.species == call.species);
            let rungs = own.map_or(0, |l| l.rungs.len());
            let timing = (&trip, pace.as_ref());
            species_order((&launches, &ways), call, depth, timing, (rungs, parts.scout))
        })
        .collect();
    let hours = plan_hours(lake, conditions, parts.water);
    let set_depth = set_depths(lake.boat, &ladders, &depths_to_set(&order, &depth), &hours);
    Plan {
        stop: stop(parts.cautions),
        pace,
        ramps,
        closed_saddles: closed_saddles(lake, conditions),
        order,
        depth,
        ladder: ladders,
        set_depth,
        hours,
    }
}

fn stop(cautions: &[Caution]) -> Vec<Hazard> {
    let mut hazards = Vec::new();
    for caution in cautions {
        let stops = caution.level == CautionLevel::Severe && says_stay_ashore(caution.hazard);
        if stops && !hazards.contains(&caution.hazard) {
            hazards.push(caution.hazard);
        }
    }
    hazards
}

/// Saddles with less water over them than the boat needs to run.
fn closed_saddles(lake: &Lake, conditions: &Conditions) -> Vec<String> {
    let (Some(level), Some(boat)) = (judged_level(lake, conditions), lake.boat) else {
        return Vec::new();
    };
    let closed = lake.hazards.iter().filter(|h| {
        h.kind == HazardKind::Saddle && level.lowest_m - h.top_elevation_m < boat.running_depth_m
    });
    closed.map(|h| h.name.clone()).collect()
}

/// Depths by day and at first light in the first place of each species, and by day in the second.
fn depths_to_set(order: &[SpeciesOrder], depth: &[SpeciesDepth]) -> Vec<f64> {
    order
        .iter()
        .zip(depth)
        .flat_map(|(order, depth)| {
            let of = |zone: &ZoneId| depth.zones.iter().find(|z| &z.zone == zone);
            let first = order.places.first().and_then(|place| of(&place.zone));
            let second = match &order.second {
                Some(SecondChoice::Zone { zone, .. }) => of(zone),
                _ => None,
            };
            [
                first.and_then(|z| z.first_light_m),
                first.and_then(|z| z.set_m),
                second.and_then(|z| z.set_m),
            ]
        })
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::{Hazard as Shoal, SpeciesId};
    use crate::plan::cautions::morning_tests::Morning;
    use crate::plan::ramps;
    use crate::species;
    use crate::whereabouts::{CallOptions, call_species};

    fn plan(morning: &Morning, species: &[&str]) -> Plan {
        let options = CallOptions {
            draws: 200,
            seed: 1,
            date: morning.as_of.date_naive(),
        };
        let calls: Vec<(Species, SpeciesCall)> = species
            .iter()
            .map(|id| {
                let species = species::builtin(id).unwrap();
                let call = call_species(
                    &morning.lake,
                    &species,
                    &morning.conditions,
                    &morning.water,
                    &options,
                );
                (species, call)
            })
            .collect();
        make_plan(&PlanParts {
            lake: &morning.lake,
            conditions: &morning.conditions,
            water: &morning.water,
            cautions: &morning.cautions(),
            ramps: &ramps(&morning.lake, &morning.conditions),
            calls: &calls,
            scout: None,
        })
    }

    #[test]
    fn a_wind_day_is_a_day_ashore_and_a_calm_one_is_not() {
        let mut morning = Morning::calm();
        assert_eq!(plan(&morning, &[]).stop, []);
        // 14 m/s is 27 kt, above the 18 kt of config/cautions.toml.
        morning.set_wind(14.0, Some(18.0), Some(0.0));
        let found = plan(&morning, &["rainbow-trout"]);
        assert_eq!(found.stop, [Hazard::Wind]);
        assert!(!found.order.is_empty(), "the rest is for when it no longer blows");
        // Cold water is severe and no reason to stay ashore by itself.
        let mut cold = Morning::calm();
        cold.set_surface(5.0);
        assert_eq!(plan(&cold, &[]).stop, []);
    }

    #[test]
    fn of_a_species_of_which_nobody_knows_where_it_is_no_start_is_advised() {
        let morning = Morning::calm();
        let found = plan(&morning, &["smallmouth-bass", "rainbow-trout"]);
        assert!(found.order[0].not_known.is_some());
        assert!(found.order[0].places.is_empty() && found.order[0].second.is_none());
        assert!(!found.order[1].places.is_empty());
        let with_ladder: Vec<&SpeciesId> = found.ladder.iter().map(|l| &l.species).collect();
        assert_eq!(with_ladder, [&SpeciesId::new("rainbow-trout")]);
    }

    #[test]
    fn a_saddle_closes_when_the_boat_no_longer_clears_it() {
        let mut morning = Morning::calm();
        morning.lake.hazards.push(Shoal {
            id: "saddle".to_owned(),
            name: "the saddle".to_owned(),
            zone: ZoneId::new("main"),
            kind: HazardKind::Saddle,
            top_elevation_m: 240.0,
            position: None,
        });
        // The boat of the test draws 0.9 m.
        for (level_m, closed) in [(240.91, 0), (240.89, 1), (238.0, 1)] {
            morning.set_level(level_m);
            assert_eq!(plan(&morning, &[]).closed_saddles.len(), closed, "{level_m}");
        }
        morning.conditions.pool = None;
        assert!(plan(&morning, &[]).closed_saddles.is_empty());
    }

    #[test]
    fn with_no_feed_at_all_a_plan_gives_no_number() {
        let morning = Morning::without_feeds();
        let found = plan(&morning, &["landlocked-chinook"]);
        assert_eq!(found.ramps[0].usable, None);
        assert_eq!(found.ramps[0].water_on_return_m, None);
        assert!(
            found.ramps[0]
                .runs
                .iter()
                .all(|r| r.run_h.is_none() && r.why_not.is_some())
        );
        assert!(found.depth[0].zones.is_empty() && found.depth[0].first_light.is_none());
        assert!(found.set_depth.rows.is_empty());
        assert!(!found.hours.wind_known && found.hours.sunrise.is_none());
    }
}
