//! Where to go first, where next and when: by expected encounters over the trip, the run taken off.

use chrono::{DateTime, Duration, Utc};
use serde::{Deserialize, Serialize};

use super::depth::SpeciesDepth;
use super::runs::{RampPlan, Run};
use super::way::Ways;
use crate::conditions::TripWindow;
use crate::lake::{Lake, SpeciesId, ZoneId};
use crate::whereabouts::learn::entangled::SCOUTING_H;
use crate::whereabouts::{SpeciesCall, Verdict};

/// Share above which the second zone is the second choice (fish.md 5, project choice).
const SECOND_SHARE_FRAC: f64 = 0.3;
/// Time for one rung of the ladder without a touch (common practice, no source).
const RUNG_H: f64 = 0.5;
/// The first place has no more than this part of the hours before the second is tried (project choice).
const FIRST_PLACE_FRAC: f64 = 0.5;
/// More running than this is too much for a scouting leg (project choice).
const SCOUTING_RUN_H: f64 = 0.5;
/// A scouting leg takes no more than this part of the hours (project choice).
const SCOUTING_FRAC: f64 = 0.25;

/// The order of places for one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesOrder {
    /// Species.
    pub species: SpeciesId,
    /// Why no order is given: in which part of the lake the species is is not known.
    pub not_known: Option<String>,
    /// Zones that can be fished, the most expected encounters over the trip first.
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
    /// Run from there, one way.
    pub run_h: Option<f64>,
    /// Hours left to fish when the run out and back is taken off; the whole trip where the run is not known.
    pub fishing_h: f64,
    /// Expected encounters over the trip, as a part of those of the first place.
    pub worth_frac: f64,
    /// Stretches that reach the depth to set, in the order to try them.
    pub stretches: Vec<String>,
}

/// The second choice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum SecondChoice {
    /// Another zone.
    Zone {
        /// Zone.
        zone: ZoneId,
        /// When to go to it.
        at: DateTime<Utc>,
        /// Run to it from the first place; `None` where that is not known.
        run_h: Option<f64>,
    },
    /// The same zone, another stretch or shallower along steep walls: no other zone has enough of the fish.
    SameZone {
        /// Next stretch that reaches the depth.
        stretch: Option<String>,
        /// When to go to it.
        at: DateTime<Utc>,
    },
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

/// The order for one species. `rungs` is how many presentations its ladder has, `scout` the zone where the log asks for an
/// hour of scouting.
///
/// Encounters per hour are `share * catchability`: the count model of the trips has the same product, with hours and rods. The
/// length of a zone does not count, since a share is of fish and an angler's hour covers the same water anywhere.
pub(super) fn species_order(
    (lake, ways): (&Lake, &Ways<'_>),
    call: &SpeciesCall,
    ramps: &[RampPlan],
    depth: &SpeciesDepth,
    trip: &TripWindow,
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
    let trip_h = (trip.to - trip.from).num_seconds() as f64 / 3600.0;
    let places = places(lake, call, ramps, depth, trip_h);
    let dawn = depth.first_light.map(|light| light.from);
    let run = |from: &OrderPlace, to: &OrderPlace| run_between_h(lake, ways, from, to);
    let second = second(&places, run, (trip, dawn), rungs);
    let scouting = scout.and_then(|zone| scouting(&places, ramps, zone, trip_h));
    SpeciesOrder {
        places,
        second,
        scouting,
        ..nothing
    }
}

fn places(
    lake: &Lake,
    call: &SpeciesCall,
    ramps: &[RampPlan],
    depth: &SpeciesDepth,
    trip_h: f64,
) -> Vec<OrderPlace> {
    let mut places: Vec<OrderPlace> = lake
        .zones
        .iter()
        .filter_map(|zone| Some((zone, call.zones.get(&zone.id).filter(|s| s.fishable)?)))
        .map(|(zone, share)| {
            let run = shortest(ramps, &zone.id);
            let run_h = run.and_then(|(_, run)| run.run_h);
            let caught = call.catchability.iter().find(|c| c.zone == zone.id);
            OrderPlace {
                zone: zone.id.clone(),
                share: share.share,
                catchability: caught.map(|c| c.factor),
                encounter_frac: 0.0,
                ramp: run.map(|(ramp, _)| ramp.id.clone()),
                run_h,
                fishing_h: (trip_h - 2.0 * run_h.unwrap_or(0.0)).max(0.0),
                worth_frac: 0.0,
                stretches: stretches(&zone.id, depth),
            }
        })
        .collect();
    let rate = |p: &OrderPlace| p.share * p.catchability.unwrap_or(1.0);
    let best_rate = places.iter().map(rate).fold(0.0, f64::max);
    let best_worth = places.iter().map(|p| rate(p) * p.fishing_h).fold(0.0, f64::max);
    for place in &mut places {
        let (own, fishing_h) = (rate(place), place.fishing_h);
        place.encounter_frac = if best_rate > 0.0 { own / best_rate } else { 0.0 };
        place.worth_frac = if best_worth > 0.0 {
            own * fishing_h / best_worth
        } else {
            0.0
        };
    }
    places.sort_by(|a, b| b.worth_frac.total_cmp(&a.worth_frac));
    places
}

fn stretches(zone: &ZoneId, depth: &SpeciesDepth) -> Vec<String> {
    let own = depth.zones.iter().find(|z| &z.zone == zone);
    own.map_or_else(Vec::new, |z| {
        z.structures.iter().map(|s| s.stretch.clone()).collect()
    })
}

/// The run of a ramp to a zone as a whole.
fn run_to<'r>(ramp: &'r RampPlan, zone: &ZoneId) -> Option<&'r Run> {
    ramp.runs.iter().find(|r| &r.zone == zone && r.stretch.is_none())
}

/// The ramp in use with the shortest known run to a zone.
fn shortest<'r>(ramps: &'r [RampPlan], zone: &ZoneId) -> Option<(&'r RampPlan, &'r Run)> {
    let in_use = ramps
        .iter()
        .filter(|r| r.usable == Some(true) && r.lanes != Some(0));
    in_use
        .filter_map(|ramp| Some((ramp, run_to(ramp, zone).filter(|r| r.run_h.is_some())?)))
        .min_by(|a, b| a.1.run_h.unwrap_or(0.0).total_cmp(&b.1.run_h.unwrap_or(0.0)))
}

/// How much longer the run to `zone` is than to the first place, from the first place's ramp.
fn more_run_h(first: &OrderPlace, ramps: &[RampPlan], zone: &ZoneId) -> Option<f64> {
    let ramp = ramps.iter().find(|r| Some(&r.id) == first.ramp.as_ref())?;
    Some(run_to(ramp, zone)?.run_h? - first.run_h?)
}

/// Run from one place to another: between the middles of the stretches to try first, or from mouth to mouth.
fn run_between_h(lake: &Lake, ways: &Ways<'_>, from: &OrderPlace, to: &OrderPlace) -> Option<f64> {
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
    Some(way.ok()?.distance_m / boat.run_speed_m_s / 3600.0)
}

/// The second zone where it has more than 0.3 of the fish and can be reached, else the first one's next stretch; each after one
/// pass of the ladder from first light on, or after half of the hours where that is sooner.
fn second(
    places: &[OrderPlace],
    run_h: impl Fn(&OrderPlace, &OrderPlace) -> Option<f64>,
    (trip, dawn): (&TripWindow, Option<DateTime<Utc>>),
    rungs: usize,
) -> Option<SecondChoice> {
    let first = places.first()?;
    let tried_h = (RUNG_H * rungs.max(1) as f64).min(FIRST_PLACE_FRAC * first.fishing_h);
    let seconds = |hours_h: f64| Duration::seconds((hours_h * 3600.0) as i64);
    let there = trip.from + seconds(first.run_h.unwrap_or(0.0));
    // What is tried in the dark says little.
    let at = dawn.map_or(there, |dawn| there.max(dawn)) + seconds(tried_h);
    let other = places
        .iter()
        .skip(1)
        .find(|p| p.share > SECOND_SHARE_FRAC && p.fishing_h > 0.0);
    Some(match other {
        Some(other) => SecondChoice::Zone {
            zone: other.zone.clone(),
            at,
            run_h: run_h(first, other),
        },
        None => SecondChoice::SameZone {
            stretch: first.stretches.get(1).cloned(),
            at,
        },
    })
}

fn scouting(places: &[OrderPlace], ramps: &[RampPlan], zone: &ZoneId, trip_h: f64) -> Option<Scouting> {
    let first = places.first().filter(|p| &p.zone != zone)?;
    // A zone that cannot be fished today is not scouted.
    places.iter().find(|p| &p.zone == zone)?;
    let more_run_h = more_run_h(first, ramps, zone).map(|more| more.max(0.0));
    let cheap = more_run_h.is_some_and(|h| 2.0 * h <= SCOUTING_RUN_H) && SCOUTING_H <= SCOUTING_FRAC * trip_h;
    Some(Scouting {
        zone: zone.clone(),
        hours_h: SCOUTING_H,
        more_run_h,
        advised: cheap,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;

    fn place(zone: &str, share: f64, run_h: Option<f64>) -> OrderPlace {
        OrderPlace {
            zone: ZoneId::new(zone),
            share,
            catchability: Some(1.0),
            encounter_frac: 1.0,
            ramp: Some("dam-road".to_owned()),
            run_h,
            fishing_h: 6.0 - 2.0 * run_h.unwrap_or(0.0),
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
            shallowest_m: Some(20.0),
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

    fn trip() -> TripWindow {
        let morning = Morning::calm();
        TripWindow {
            day: morning.as_of.date_naive(),
            from: morning.as_of,
            to: morning.as_of + Duration::hours(6),
        }
    }

    fn hours_after(at: DateTime<Utc>) -> f64 {
        (at - trip().from).num_seconds() as f64 / 3600.0
    }

    #[test]
    fn the_second_zone_is_tried_after_the_ladder_and_at_the_latest_after_half_of_the_hours() {
        let places = [place("main", 0.5, Some(0.25)), place("sorrel", 0.4, Some(0.75))];
        let at = |rungs, dawn_h: i64| {
            let dawn = Some(trip().from + Duration::hours(dawn_h));
            match second(&places, |_, _| Some(0.5), (&trip(), dawn), rungs) {
                Some(SecondChoice::Zone { zone, at, run_h }) => {
                    assert_eq!((zone.as_str(), run_h), ("sorrel", Some(0.5)));
                    hours_after(at)
                }
                other => panic!("{other:?}"),
            }
        };
        // Four rungs of half an hour after a run of a quarter; then half of the 5.5 h that are left of 6.
        assert_eq!((at(4, 0), at(40, 0)), (2.25, 3.0));
        assert_eq!(
            at(4, 1),
            3.0,
            "from first light on, an hour after the trip begins"
        );
    }

    #[test]
    fn without_another_zone_of_three_in_ten_the_next_stretch_is_the_second_choice() {
        let places = [place("main", 0.7, None), place("sorrel", 0.3, None)];
        let none = |_: &OrderPlace, _: &OrderPlace| None;
        let found = second(&places, none, (&trip(), None), 2).unwrap();
        let SecondChoice::SameZone { stretch, at } = found else {
            panic!("{found:?}");
        };
        assert_eq!((stretch.as_deref(), hours_after(at)), (Some("narrows"), 1.0));
        assert_eq!(second(&[], none, (&trip(), None), 2), None);
    }

    #[test]
    fn a_scouting_leg_is_advised_where_it_costs_little_running() {
        let places = [place("main", 0.7, Some(0.25)), place("sorrel", 0.2, Some(0.5))];
        let near = [ramp(&[("main", 0.25), ("sorrel", 0.5)])];
        let far = [ramp(&[("main", 0.25), ("sorrel", 0.6)])];
        let zone = ZoneId::new("sorrel");
        let leg = |ramps: &[RampPlan], trip_h| scouting(&places, ramps, &zone, trip_h);
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
        assert_eq!(scouting(&places, &near, &ZoneId::new("main"), 6.0), None);
        assert_eq!(scouting(&places, &near, &ZoneId::new("wicket"), 6.0), None);
    }

    #[test]
    fn of_two_ramps_the_one_in_use_with_the_shorter_run_counts() {
        let mut ramps = [ramp(&[("main", 0.5)]), ramp(&[("main", 0.2)])];
        ramps[1].id = "near".to_owned();
        let chosen = |ramps: &[RampPlan]| shortest(ramps, &ZoneId::new("main")).map(|(r, _)| r.id.clone());
        assert_eq!(chosen(&ramps).as_deref(), Some("near"));
        ramps[1].usable = None;
        assert_eq!(chosen(&ramps).as_deref(), Some("dam-road"));
        ramps[0].lanes = Some(0);
        assert_eq!(chosen(&ramps), None);
    }
}
