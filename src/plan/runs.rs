//! Ramps as a plan needs them: now, on return, how long they last, and the run to each zone and stretch.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::pace::RunPace;
use super::way::{NoWay, Spot, Way, Ways};
use super::{RampOutlook, RampState};
use crate::conditions::Conditions;
use crate::lake::{Lake, Stretch, ZoneId, ZoneKind};

/// Chance of enough water up to which a ramp is told to last: four in five (project choice).
const LASTS_PROB: f64 = 0.8;

/// One ramp and what is to be reached from it. By level only: gate, closure and surface are not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampPlan {
    /// Ramp id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Whether it floats the boat by level, now and on return; `None` where that is not known.
    pub usable: Option<bool>,
    /// Water over the toe now; negative when it is dry.
    pub water_over_toe_m: Option<f64>,
    /// Water over the toe at the end of the trip, as of `RampState`.
    pub water_on_return_m: Option<f64>,
    /// Lanes open by level.
    pub lanes: Option<u32>,
    /// Last day before the chance of enough water falls below four in five; `None` where it is below today, or not known.
    pub lasts: Option<RampLasts>,
    /// Run to each zone and stretch.
    pub runs: Vec<Run>,
}

/// How long a ramp lasts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampLasts {
    /// Last day with a chance of at least four in five.
    pub date: NaiveDate,
    /// That chance.
    pub usable_prob: f64,
    /// Whether the outlook ends with that day.
    pub to_horizon: bool,
}

/// The run from a ramp to a zone, or to a stretch of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Run {
    /// Zone.
    pub zone: ZoneId,
    /// Stretch; `None` of the zone as a whole: that of its stretches that is nearest by water, its mouth where it has none.
    pub stretch: Option<String>,
    /// Way along the thalwegs; `None` where there is none, or none that is known.
    pub distance_m: Option<f64>,
    /// Time of it when the boat leaves as the pace of the plan says.
    pub run_h: Option<f64>,
    /// Time of the run back, for one that ends when the boat is to be back.
    pub back_h: Option<f64>,
    /// Least water over the thalweg on the way.
    pub shallowest_m: Option<f64>,
    /// Rocks and stumps beside it that the boat does not clear, as far as the lake file gives their position.
    pub past: Vec<String>,
    /// Why there is no run.
    pub why_not: Option<NoWay>,
}

/// Every ramp of `ramps` with its runs at a pace; without one, which is without a boat, no run is known.
pub fn ramp_plans(
    lake: &Lake,
    conditions: &Conditions,
    ramps: &[RampState],
    pace: Option<&RunPace>,
) -> Vec<RampPlan> {
    let ways = Ways::new(lake, conditions);
    ramps
        .iter()
        .map(|ramp| RampPlan {
            id: ramp.id.clone(),
            name: ramp.name.clone(),
            usable: ramp.usable,
            water_over_toe_m: ramp.water_over_toe_m,
            water_on_return_m: ramp.water_on_return_m,
            lanes: ramp.lanes,
            lasts: ramp.outlook.as_ref().and_then(lasts),
            runs: runs(lake, &ways, ramp, pace),
        })
        .collect()
}

/// The last day of the first stretch of days with enough of a chance; none where the first day has less.
fn lasts(outlook: &RampOutlook) -> Option<RampLasts> {
    let enough = |day: &&super::RampDay| 1.0 - day.below_prob >= LASTS_PROB;
    let held = outlook.days.iter().take_while(enough).count();
    let last = outlook.days.get(held.checked_sub(1)?)?;
    Some(RampLasts {
        date: last.date,
        usable_prob: 1.0 - last.below_prob,
        to_horizon: held == outlook.days.len(),
    })
}

fn runs(lake: &Lake, ways: &Ways<'_>, ramp: &RampState, pace: Option<&RunPace>) -> Vec<Run> {
    let mut all = Vec::new();
    for zone in lake.zones.iter().filter(|z| z.kind != ZoneKind::River) {
        let stretches: Vec<Run> = lake
            .stretches
            .iter()
            .filter(|s| s.zone == zone.id)
            .map(|s| run(lake, ways, ramp, (&zone.id, Some(s)), pace))
            .collect();
        let nearest = stretches
            .iter()
            .filter(|r| r.distance_m.is_some())
            .min_by(|a, b| {
                a.distance_m
                    .unwrap_or(0.0)
                    .total_cmp(&b.distance_m.unwrap_or(0.0))
            });
        let whole = match (nearest, stretches.is_empty()) {
            (Some(run), _) => Run {
                stretch: None,
                ..run.clone()
            },
            // No stretch can be reached: the mouth may.
            (None, _) => run(lake, ways, ramp, (&zone.id, None), pace),
        };
        all.push(whole);
        all.extend(stretches);
    }
    all
}

fn run(
    lake: &Lake,
    ways: &Ways<'_>,
    ramp: &RampState,
    (zone, stretch): (&ZoneId, Option<&Stretch>),
    pace: Option<&RunPace>,
) -> Run {
    let found = way(lake, ways, ramp, zone, stretch);
    let way = found.as_ref().ok();
    let timed = way.zip(pace);
    Run {
        zone: zone.clone(),
        stretch: stretch.map(|s| s.id.clone()),
        distance_m: way.map(|w| w.distance_m),
        run_h: timed.map(|(w, pace)| pace.out_h(w.distance_m)),
        back_h: timed.map(|(w, pace)| pace.hours_until(pace.home_by, w.distance_m)),
        shallowest_m: way.map(|w| w.shallowest_m),
        past: way.map(|w| w.past.clone()).unwrap_or_default(),
        why_not: found.err(),
    }
}

/// The shortest of the ways to the points of a stretch's line; without one to the mouth of an arm, and in the ramp's own
/// zone, or to the main body, none but to the thalweg.
fn way(
    lake: &Lake,
    ways: &Ways<'_>,
    ramp: &RampState,
    zone: &ZoneId,
    stretch: Option<&Stretch>,
) -> Result<Way, NoWay> {
    let boat = lake.boat.ok_or(NoWay::NoBoat)?;
    if ramp.usable == Some(false) || ramp.lanes == Some(0) {
        return Err(NoWay::RampOut);
    }
    let described = lake.ramps.iter().find(|r| r.id == ramp.id);
    let from = ways.spot(&ramp.zone, described.and_then(|r| r.position))?;
    let targets: Vec<Spot> = match stretch {
        Some(stretch) => {
            let spots = stretch.line.iter().map(|point| ways.spot(zone, Some(*point)));
            spots.collect::<Result<_, _>>()?
        }
        None if zone == &ramp.zone => {
            vec![ways.spot(zone, described.and_then(|r| r.position))?]
        }
        None if zone == &lake.main_body().id => {
            let arm = lake.zone(&ramp.zone).and_then(|z| z.thalweg.first());
            vec![ways.spot(zone, arm.and_then(|p| p.position))?]
        }
        None => vec![ways.mouth(zone)?],
    };
    let mut shortest: Result<Way, NoWay> = Err(NoWay::NoPosition);
    for target in &targets {
        let found = ways.between(&from, target, boat.running_depth_m);
        shortest = match (shortest, found) {
            (Ok(best), Ok(way)) if way.distance_m < best.distance_m => Ok(way),
            (Ok(best), _) => Ok(best),
            (Err(_), found) => found,
        };
    }
    shortest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{RampChance, RampDay};

    fn outlook(below: &[f64]) -> RampOutlook {
        let first = NaiveDate::from_ymd_opt(2025, 7, 24).unwrap();
        let days = (0..).zip(below).map(|(i, &below_prob)| RampDay {
            date: first + chrono::Days::new(i),
            below_prob,
            chance: RampChance::Usable,
        });
        RampOutlook {
            days: days.collect(),
            turn: None,
        }
    }

    #[test]
    fn a_ramp_lasts_to_the_last_day_of_four_in_five_and_not_to_a_later_one_that_comes_back() {
        let found = lasts(&outlook(&[0.0, 0.1, 0.2, 0.3, 0.1])).unwrap();
        assert_eq!(found.date, NaiveDate::from_ymd_opt(2025, 7, 26).unwrap());
        assert!((found.usable_prob - 0.8).abs() < 1e-12 && !found.to_horizon);
        assert!(lasts(&outlook(&[0.0, 0.2])).unwrap().to_horizon);
        assert_eq!(lasts(&outlook(&[0.21, 0.0])), None);
        assert_eq!(lasts(&outlook(&[])), None);
    }
}
