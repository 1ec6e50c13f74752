//! Where to go first, where next and when: by expected encounters over the trip, the run taken off.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::RampPlan;
use super::choice::Launches;
use super::depth::SpeciesDepth;
use super::pace::RunPace;
use super::second::{SecondChoice, second};
use super::way::{NoWay, Ways};
use crate::conditions::TripWindow;
use crate::lake::{Lake, SpeciesId, ZoneId};
use crate::whereabouts::learn::entangled::SCOUTING_H;
use crate::whereabouts::{SpeciesCall, Verdict};

/// More running than this is too much for a scouting leg (project choice).
const SCOUTING_RUN_H: f64 = 0.5;
/// A scouting leg takes no more than this part of the hours (project choice).
const SCOUTING_FRAC: f64 = 0.25;
/// A place whose water is nowhere within the species' hard limits counts so much (project choice: they are working limits without a
/// source, and fish that are elsewhere are not caught there).
const OUTSIDE_LIMITS_FRAC: f64 = 0.5;

/// The order of places for one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesOrder {
    /// Species.
    pub species: SpeciesId,
    /// Why no order is given: in which part of the lake the species is is not known.
    pub not_known: Option<String>,
    /// Zones that can be fished, the most expected encounters over the trip first; those without water within the species' hard limits
    /// count half.
    pub places: Vec<OrderPlace>,
    /// Where to go when the first place stays quiet, and when.
    pub second: Option<SecondChoice>,
    /// A leg where the rules do not send the angler, where the log asks for one.
    pub scouting: Option<Scouting>,
}

/// One zone in the order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct OrderPlace {
    /// Zone.
    pub zone: ZoneId,
    /// Share of the species' fish there.
    pub share: f64,
    /// How easily they are caught there today, on the catch per hour; `None` where that is not known, and counts as 1.
    pub catchability: Option<f64>,
    /// Expected encounters per hour, as a part of those of the best zone.
    pub encounter_frac: f64,
    /// Ramp from which the run is shortest; `None` where no run is known.
    pub ramp: Option<String>,
    /// Stretch that the run goes to, the first to try that can be reached; `None` where it goes to the nearest place of the zone.
    #[serde(default)]
    pub run_to: Option<String>,
    /// Run out from there.
    pub run_h: Option<f64>,
    /// Run back.
    pub back_h: Option<f64>,
    /// Hours left to fish from when the boat may leave, the run out and back taken off; all of them where the run is not known.
    pub fishing_h: f64,
    /// Whether the species' band there has a layer within its hard limits; so it is taken to be where they are not known.
    pub within_limits: bool,
    /// Expected encounters over the trip, as a part of those of the first place; half of them without water within the hard limits.
    pub worth_frac: f64,
    /// Stretches that reach the depth to set, in the order to try them.
    pub stretches: Vec<String>,
}

/// A scouting leg.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Scouting {
    /// Zone.
    pub zone: ZoneId,
    /// How long.
    pub hours_h: f64,
    /// Running that it adds; `None` where the run is not known.
    pub more_run_h: Option<f64>,
    /// Whether it is worth its hours today; else it costs too much running, or the trip is too short.
    pub advised: bool,
}

/// The order for one species: `launches` decides from which ramp a zone is run to. `rungs` is how many presentations its ladder
/// has, `scout` the zone where the log asks for an hour of scouting.
///
/// Encounters per hour are `share * catchability`: the count model of the trips has the same product, with hours and rods. The
/// length of a zone does not count, since a share is of fish and an angler's hour covers the same water anywhere.
pub(super) fn species_order(
    (launches, ways): (&Launches<'_>, &Ways<'_>),
    call: &SpeciesCall,
    depth: &SpeciesDepth,
    (trip, pace): (&TripWindow, Option<&RunPace>),
    (rungs, scout): (usize, Option<&ZoneId>),
) -> SpeciesOrder {
    let nothing = SpeciesOrder {
        species: call.species.clone(),
        not_known: None,
        places: Vec::new(),
        second: None,
        scouting: None,
    };
    if let Verdict::NotKnown { why } = &call.verdict {
        return SpeciesOrder {
            not_known: Some(why.clone()),
            ..nothing
        };
    }
    let leave_at = pace.map_or(trip.from, |pace| pace.leave_at);
    let home_by = pace.map_or(trip.to, |pace| pace.home_by);
    // A boat that may leave only after it is to be back has no hours.
    let trip_h = hours_between(leave_at, home_by).max(0.0);
    let places = places(launches, call, depth, trip_h);
    let run = |from: &OrderPlace, to: &OrderPlace, at: DateTime<Utc>| {
        Some(pace?.hours_from(at, run_between_m(launches.lake, ways, from, to)?))
    };
    let second = second(&places, run, (leave_at, depth), rungs);
    let scouting = scout.and_then(|zone| scouting(&places, launches, zone, trip_h));
    SpeciesOrder {
        places,
        second,
        scouting,
        ..nothing
    }
}

fn places(launches: &Launches<'_>, call: &SpeciesCall, depth: &SpeciesDepth, trip_h: f64) -> Vec<OrderPlace> {
    let mut places: Vec<OrderPlace> = launches
        .lake
        .zones
        .iter()
        .filter_map(|zone| Some((zone, call.zones.get(&zone.id).filter(|s| s.fishable)?)))
        .map(|(zone, share)| {
            let named = stretches(&zone.id, depth);
            let run = launches.run_for(&zone.id, &named);
            let run_h = run.and_then(|(_, run)| run.run_h);
            let back_h = run.and_then(|(_, run)| run.back_h);
            let own = depth.zones.iter().find(|z| z.zone == zone.id);
            let caught = call.catchability.iter().find(|c| c.zone == zone.id);
            OrderPlace {
                zone: zone.id.clone(),
                share: share.share,
                catchability: caught.map(|c| c.factor),
                encounter_frac: 0.0,
                ramp: run.map(|(ramp, _)| ramp.id.clone()),
                run_to: run.and_then(|(_, run)| run.stretch.clone()),
                run_h,
                back_h,
                fishing_h: (trip_h - run_h.unwrap_or(0.0) - back_h.unwrap_or(0.0)).max(0.0),
                within_limits: own.is_none_or(|z| z.has_layer_within),
                worth_frac: 0.0,
                stretches: match run {
                    Some((ramp, _)) => named.into_iter().filter(|s| can_be_reached(ramp, s)).collect(),
                    None => named,
                },
            }
        })
        .collect();
    let rate = |p: &OrderPlace| p.share * p.catchability.unwrap_or(1.0);
    let best_rate = places.iter().map(rate).fold(0.0, f64::max);
    let limits_frac = |p: &OrderPlace| if p.within_limits { 1.0 } else { OUTSIDE_LIMITS_FRAC };
    let worth = |p: &OrderPlace| rate(p) * p.fishing_h * limits_frac(p);
    let best_worth = places.iter().map(worth).fold(0.0, f64::max);
    for place in &mut places {
        let (own, own_worth) = (rate(place), worth(place));
        place.encounter_frac = if best_rate > 0.0 { own / best_rate } else { 0.0 };
        place.worth_frac = if best_worth > 0.0 {
            own_worth / best_worth
        } else {
            0.0
        };
    }
    places.sort_by(|a, b| b.worth_frac.total_cmp(&a.worth_frac));
    places
}

/// Whether water leads from a ramp to a stretch, as far as is known.
fn can_be_reached(ramp: &RampPlan, stretch: &str) -> bool {
    let mut runs = ramp.runs.iter();
    let run = runs.find(|r| r.stretch.as_deref() == Some(stretch));
    !run.is_some_and(|r| matches!(r.why_not, Some(NoWay::TooShallow { .. } | NoWay::Saddle { .. })))
}

fn stretches(zone: &ZoneId, depth: &SpeciesDepth) -> Vec<String> {
    let own = depth.zones.iter().find(|z| &z.zone == zone);
    own.map_or_else(Vec::new, |z| {
        z.structures.iter().map(|s| s.stretch.clone()).collect()
    })
}

/// How much longer the run to `to` is than to the first place, from the first place's ramp.
fn more_run_h(first: &OrderPlace, launches: &Launches<'_>, to: &OrderPlace) -> Option<f64> {
    let run = launches.run(first.ramp.as_ref()?, &to.zone, &to.stretches)?;
    Some(run.run_h? - first.run_h?)
}

/// Way from one place to another: between the middles of the stretches to try first, or from mouth to mouth.
fn run_between_m(lake: &Lake, ways: &Ways<'_>, from: &OrderPlace, to: &OrderPlace) -> Option<f64> {
    let boat = lake.boat?;
    let spot = |place: &OrderPlace| {
        let first = place.stretches.first();
        let stretch = first.and_then(|id| lake.stretches.iter().find(|s| &s.id == id));
        match stretch.and_then(|s| s.line.get(s.line.len() / 2)) {
            Some(point) => ways.spot(&place.zone, Some(*point)),
            None => ways.mouth(&place.zone),
        }
    };
    let way = ways.between(&spot(from).ok()?, &spot(to).ok()?, boat.running_depth_m);
    Some(way.ok()?.distance_m)
}

fn hours_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    (to - from).num_seconds() as f64 / 3600.0
}

fn scouting(places: &[OrderPlace], launches: &Launches<'_>, zone: &ZoneId, trip_h: f64) -> Option<Scouting> {
    let first = places.first().filter(|p| &p.zone != zone)?;
    // A zone that cannot be fished today is not scouted.
    let scouted = places.iter().find(|p| &p.zone == zone)?;
    let more_run_h = more_run_h(first, launches, scouted).map(|more| more.max(0.0));
    let cheap = more_run_h.is_some_and(|h| 2.0 * h <= SCOUTING_RUN_H) && SCOUTING_H <= SCOUTING_FRAC * trip_h;
    Some(Scouting {
        zone: zone.clone(),
        hours_h: SCOUTING_H,
        more_run_h,
        advised: cheap,
    })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::plan::Run;
    use crate::plan::cautions::morning_tests::Morning;

    pub(in crate::plan) fn place(zone: &str, share: f64, run_h: Option<f64>) -> OrderPlace {
        OrderPlace {
            zone: ZoneId::new(zone),
            share,
            catchability: Some(1.0),
            encounter_frac: 1.0,
            ramp: Some("dam-road".to_owned()),
            run_to: None,
            run_h,
            back_h: run_h,
            fishing_h: 6.0 - 2.0 * run_h.unwrap_or(0.0),
            within_limits: true,
            worth_frac: 1.0,
            stretches: vec!["wall".to_owned(), "narrows".to_owned()],
        }
    }

    fn ramp(runs: &[(&str, f64)]) -> RampPlan {
        let run = |(zone, run_h): &(&str, f64)| Run {
            zone: ZoneId::new(*zone),
            stretch: None,
            distance_m: Some(run_h * 36_000.0),
            run_h: Some(*run_h),
            back_h: Some(*run_h),
            shallowest_m: Some(20.0),
            past: Vec::new(),
            why_not: None,
        };
        RampPlan {
            id: "dam-road".to_owned(),
            name: "Dam Road".to_owned(),
            usable: Some(true),
            water_over_toe_m: Some(5.0),
            water_on_return_m: Some(5.0),
            lanes: None,
            lasts: None,
            runs: runs.iter().map(run).collect(),
        }
    }

    #[test]
    fn a_stretch_that_no_water_leads_to_is_not_named_and_one_without_a_position_is() {
        let mut plan = ramp(&[("main", 0.25); 4]);
        let why = [
            None,
            Some(NoWay::NoPosition),
            Some(NoWay::TooShallow {
                zone: ZoneId::new("main"),
                at_m: 100.0,
                water_m: -1.0,
            }),
            Some(NoWay::Saddle {
                name: "neck".to_owned(),
                water_m: -1.0,
            }),
        ];
        for ((run, why_not), id) in plan.runs.iter_mut().zip(why).zip(["a", "b", "c", "d"]) {
            run.stretch = Some(id.to_owned());
            run.why_not = why_not;
        }
        let reached = ["a", "b", "c", "d", "e"].map(|id| can_be_reached(&plan, id));
        assert_eq!(reached, [true, true, false, false, true]);
    }

    #[test]
    fn a_scouting_leg_is_advised_where_it_costs_little_running() {
        let places = [place("main", 0.7, Some(0.25)), place("sorrel", 0.2, Some(0.5))];
        let near = [ramp(&[("main", 0.25), ("sorrel", 0.5)])];
        let far = [ramp(&[("main", 0.25), ("sorrel", 0.6)])];
        let zone = ZoneId::new("sorrel");
        let morning = Morning::calm();
        let leg_to = |runs: &[RampPlan], zone: &ZoneId, trip_h| {
            let launches = Launches {
                lake: &morning.lake,
                ramps: &[],
                runs,
                water: &morning.water,
            };
            scouting(&places, &launches, zone, trip_h)
        };
        let leg = |runs: &[RampPlan], trip_h| leg_to(runs, &zone, trip_h);
        assert!(leg(&near, 6.0).unwrap().advised);
        assert!(
            !leg(&far, 6.0).unwrap().advised,
            "more than half an hour there and back"
        );
        assert!(!leg(&near, 3.9).unwrap().advised, "an hour of less than four");
        assert!(
            !leg(&[], 6.0).unwrap().advised,
            "a run that is not known is not taken for none"
        );
        assert_eq!(leg_to(&near, &ZoneId::new("main"), 6.0), None);
        assert_eq!(leg_to(&near, &ZoneId::new("wicket"), 6.0), None);
    }
}
