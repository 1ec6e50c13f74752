//! Rivers, releases, level.

use chrono::{DateTime, Duration, Utc};

use super::world::{World, air, at, flow, level, morning};
use crate::column::stored::{StoredForcing, StoredNote};
use crate::lake::{Cadence, InflowFlow, InflowId, PlannedRelease};
use crate::quantity::Quantity;
use crate::series::Consequence;

const FROM: &str = "2025-08-01T00:00:00Z";
const BEFORE: &str = "2022-01-01T08:00:00Z";

fn river_temp(t: DateTime<Utc>) -> f64 {
    2.0 + 0.6 * air(t - Duration::hours(6))
}

fn world() -> World {
    let mut world = World::hourly("2025-06-01T00:00:00Z");
    world.days("air-temp", at(BEFORE), at("2025-06-01T08:00:00Z"), &air);
    for id in ["sorrel-flow", "wicket-flow", "release"] {
        world.days(id, at(BEFORE), morning(), &flow);
        world.hours(id, at("2025-09-01T00:00:00Z"), morning(), &flow);
    }
    world.days("sorrel-temp", at(BEFORE), morning(), &river_temp);
    world.hours("sorrel-temp", at("2025-09-01T00:00:00Z"), morning(), &river_temp);
    world.days("pool", at(BEFORE), morning(), &level);
    world
}

fn hour(stored: &StoredForcing, text: &str) -> usize {
    (at(text) - stored.past.start).num_hours() as usize
}

#[test]
fn rivers_have_the_hours_of_their_gauge_and_before_it_its_days() {
    let stored = world().stored(FROM, 0);
    let sorrel = &stored.past.rivers[0];
    assert_eq!(
        (stored.past.rivers.len(), sorrel.len()),
        (2, stored.past.weather.len())
    );
    let k = hour(&stored, "2025-09-10T04:00:00Z");
    let (a, b) = (at("2025-09-10T04:00:00Z"), at("2025-09-10T05:00:00Z"));
    assert!((sorrel[k].discharge_m3s - 0.5 * (flow(a) + flow(b))).abs() < 1e-9);
    assert!((sorrel[k].temp_degc - 0.5 * (river_temp(a) + river_temp(b))).abs() < 1e-9);
    // The standard day of 10 August, UTC-8, has one flow; its temperature keeps its mean along a curve.
    let first = hour(&stored, "2025-08-10T08:00:00Z");
    let day = &sorrel[first..first + 24];
    let mean = |truth: fn(DateTime<Utc>) -> f64| {
        (0..24)
            .map(|h| truth(at("2025-08-10T08:00:00Z") + Duration::hours(h)))
            .sum::<f64>()
            / 24.0
    };
    assert!(
        day.iter()
            .all(|river| (river.discharge_m3s - mean(flow)).abs() < 1e-9)
    );
    let temp = day.iter().map(|river| river.temp_degc).sum::<f64>() / 24.0;
    assert!((temp - mean(river_temp)).abs() < 1e-9, "{temp}");
    assert!(day.iter().all(|river| river.oxygen_mg_l.is_none()));
}

#[test]
fn a_river_that_was_not_measured_is_modelled_and_one_that_was_fits_its_own_past() {
    let mut world = world();
    // Wicket was never measured, Sorrel not from 20 August to 10 September.
    let hole = at("2025-08-20T08:00:00Z")..at("2025-09-10T08:00:00Z");
    world
        .rows("sorrel-temp", Cadence::Daily)
        .retain(|row| !hole.contains(&row.time));
    world
        .rows("sorrel-temp", Cadence::Continuous)
        .retain(|row| !hole.contains(&row.time));
    let stored = world.stored(FROM, 0);
    let gaps: Vec<_> = stored
        .gaps
        .iter()
        .filter(|gap| gap.what.starts_with("river temperature"))
        .collect();
    assert_eq!(gaps.len(), 2, "{:?}", stored.gaps);
    let says = |gap: &crate::series::Gap, text: &str| matches!(&gap.consequence, Consequence::StandIn { stand_in } if stand_in.contains(text));
    assert!(
        says(gaps[0], "fitted on") && says(gaps[1], "published"),
        "{gaps:?}"
    );
    let sorrel = &stored.past.rivers[0];
    let (first, last) = (
        hour(&stored, "2025-08-21T08:00:00Z"),
        hour(&stored, "2025-09-09T08:00:00Z"),
    );
    for day in (first..last).step_by(24) {
        let found = sorrel[day..day + 24]
            .iter()
            .map(|river| river.temp_degc)
            .sum::<f64>()
            / 24.0;
        let start = stored.past.start + Duration::hours(day as i64);
        let true_degc = (0..24)
            .map(|h| river_temp(start + Duration::hours(h)))
            .sum::<f64>()
            / 24.0;
        // The river follows the air by a line; its equation, fitted on three years, holds that within a degree.
        assert!((found - true_degc).abs() < 1.0, "{start}: {found} {true_degc}");
    }
    assert!(
        stored.past.rivers[1]
            .iter()
            .all(|river| (0.0..35.0).contains(&river.temp_degc))
    );
}

#[test]
fn an_inflow_follows_another_gauge_by_its_factor_and_one_that_nobody_knows_is_dry_and_told() {
    let mut world = world();
    world.lake.inflows[1].flow = InflowFlow::FromGauge {
        gauge: InflowId::new("sorrel"),
        factor: 0.15,
    };
    world.ensemble(2);
    let stored = world.stored(FROM, 2);
    let pairs = |rivers: &[Vec<crate::column::forcing::RiverFlow>]| -> f64 {
        let both = rivers[0].iter().zip(&rivers[1]);
        both.map(|(s, w)| (0.15 * s.discharge_m3s - w.discharge_m3s).abs())
            .fold(0.0, f64::max)
    };
    // Rounding.
    assert!(
        pairs(&stored.past.rivers) < 1e-9,
        "{}",
        pairs(&stored.past.rivers)
    );
    assert!(
        pairs(&stored.ahead[1].rivers) < 1e-6,
        "{}",
        pairs(&stored.ahead[1].rivers)
    );
    let mut unknown = world;
    unknown.lake.inflows[1].flow = InflowFlow::Series;
    for id in ["wicket-flow", "pool"] {
        unknown.set.observations.retain(|key, _| key.id.as_str() != id);
    }
    let stored = unknown.stored(FROM, 1);
    assert!(
        stored.past.rivers[1]
            .iter()
            .all(|river| river.discharge_m3s == 0.0)
    );
    assert!(
        stored.ahead[0].rivers[1]
            .iter()
            .all(|river| river.discharge_m3s == 0.0)
    );
    assert!(
        stored.gaps.iter().any(|gap| gap.what == "wicket"),
        "{:?}",
        stored.gaps
    );
    assert!(stored.past.level_m.is_empty());
    assert!(
        stored.gaps.iter().any(|gap| gap.what == "pool_elevation"),
        "{:?}",
        stored.gaps
    );
}

#[test]
fn the_release_goes_to_the_lowest_outlet_and_ahead_it_stands_or_goes_by_the_plan() {
    let mut world = world();
    world.ensemble(3);
    let stored = world.stored(FROM, 3);
    let outlet = StoredNote::ReleaseInSum {
        outlet: "outlet-works".to_owned(),
    };
    assert!(stored.notes.contains(&outlet), "{:?}", stored.notes);
    let (works, spillway) = (&stored.past.release_m3s[0], &stored.past.release_m3s[1]);
    let k = hour(&stored, "2025-09-10T04:00:00Z");
    let wanted = 0.5 * (flow(at("2025-09-10T04:00:00Z")) + flow(at("2025-09-10T05:00:00Z")));
    assert!((works[k] - wanted).abs() < 1e-9 && spillway.iter().all(|q| *q == 0.0));
    let day = |text: &str| text.parse().unwrap();
    world.lake.planned_release.push(PlannedRelease {
        from: day("2025-09-28"),
        until: day("2025-10-02"),
        flow_m3s: 55.0,
        source: "invented".to_owned(),
    });
    let planned = world.stored(FROM, 3);
    let k = (at("2025-09-30T20:00:00Z") - planned.ahead[0].start).num_hours() as usize;
    for member in &planned.ahead {
        // The plan is off by 5 % of it, at three deviations.
        assert!(
            (member.release_m3s[0][k] - 55.0).abs() < 8.3,
            "{}",
            member.release_m3s[0][k]
        );
    }
    let newest = *stored.past.release_m3s[0].last().unwrap();
    assert!((stored.ahead[0].release_m3s[0][0] - newest).abs() < 0.5);
}

#[test]
fn the_level_runs_straight_between_the_days_and_a_missing_month_is_bridged() {
    let mut world = world();
    let hole = at("2025-08-05T08:00:00Z")..at("2025-08-28T08:00:00Z");
    world
        .rows("pool", Cadence::Daily)
        .retain(|row| !hole.contains(&row.time));
    let stored = world.stored(FROM, 0);
    assert_eq!(stored.past.level_m.len(), stored.past.weather.len());
    for (k, found) in stored.past.level_m.iter().enumerate() {
        let end = stored.past.start + Duration::hours(k as i64 + 1);
        // A line over 24 days of a curve of 3 m a year: 3 (2 pi / 365)^2 24^2 / 8 = 0.06 m; the last hours hold the last noon.
        assert!((found - level(end)).abs() < 0.07, "{end}: {found} {}", level(end));
    }
    let unknown = stored.notes.iter().any(|note| {
        matches!(
            note,
            StoredNote::Unbelieved {
                what: Quantity::PoolElevation,
                ..
            }
        )
    });
    assert!(!unknown);
}

#[test]
fn a_hole_in_a_gauge_is_straight_in_the_logarithm_for_days_and_other_years_for_weeks() {
    let mut world = world();
    let cut = |world: &mut World, from: &str, to: &str| {
        let hole = at(from)..at(to);
        for cadence in [Cadence::Daily, Cadence::Continuous] {
            world
                .rows("sorrel-flow", cadence)
                .retain(|row| !hole.contains(&row.time));
        }
    };
    cut(&mut world, "2025-08-03T08:00:00Z", "2025-08-08T08:00:00Z");
    cut(&mut world, "2025-08-12T08:00:00Z", "2025-09-05T08:00:00Z");
    let stored = world.stored(FROM, 0);
    let sorrel = &stored.past.rivers[0];
    let mean = |day: &str| {
        let start = at(&format!("{day}T08:00:00Z"));
        (0..24).map(|h| flow(start + Duration::hours(h))).sum::<f64>() / 24.0
    };
    let (before, after) = (mean("2025-08-02"), mean("2025-08-08"));
    let middle = sorrel[hour(&stored, "2025-08-05T20:00:00Z")].discharge_m3s;
    // By hand: the middle of the hole is the geometric mean of its edges.
    assert!((middle - (before * after).sqrt()).abs() < 1e-6, "{middle}");
    let k = hour(&stored, "2025-08-24T20:00:00Z");
    // Of 2022 to 2024 the same days are alike but for a wave of 1 m3/s.
    assert!(
        (sorrel[k].discharge_m3s - mean("2025-08-24")).abs() < 1.5,
        "{}",
        sorrel[k].discharge_m3s
    );
    let told = stored.gaps.iter().filter(|gap| gap.what == "sorrel").count();
    assert_eq!(told, 2, "{:?}", stored.gaps);
}
