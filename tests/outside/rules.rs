//! Response functions, log-odds and shares against the rows F-RULE, F-SOFT and F-OR.

use chrono::NaiveDate;
use plungeline::lake::ZoneId;
use plungeline::math::softmax::softmax;
use plungeline::species::{CatchResponse, Response, RuleZone, builtin};
use plungeline::units::M_PER_FT;
use plungeline::whereabouts::Belief;
use plungeline::whereabouts::drivers::{Drivers, ZoneDrivers};
use plungeline::whereabouts::reasons::{Central, central};
use plungeline::whereabouts::response::{Release, cold_refuge, log_reaction_distance, pulse, stocking};
use plungeline::whereabouts::rules::terms;

use crate::published::row;

#[test]
fn the_pulse_of_the_rainbow_file_is_the_published_one() {
    let rainbow = builtin("rainbow-trout").unwrap();
    let Response::SpringPulse { pulse: shape, .. } = &rainbow.rule("R4").unwrap().response else {
        panic!()
    };
    row("F-RULE-pulse").assert(&[pulse(3.0, 2.0, *shape)]);
}

#[test]
fn the_refuge_of_the_rainbow_file_is_the_published_one() {
    let rainbow = builtin("rainbow-trout").unwrap();
    let Response::ColdRefuge {
        colder_by_degc,
        lake_degc,
    } = rainbow.rule("R3").unwrap().response
    else {
        panic!()
    };
    row("F-RULE-refuge").assert(&[cold_refuge(19.2, 15.5, colder_by_degc, lake_degc)]);
}

#[test]
fn stocking_and_turbidity_follow_their_scales() {
    let release = Release {
        count: 5000.0,
        distance_m: 3000.0,
        age_days: 10.0,
    };
    let rainbow = builtin("rainbow-trout").unwrap();
    let Response::Stocking(scale) = rainbow.rule("R9").unwrap().response else {
        panic!()
    };
    row("F-RULE-stock").assert(&[stocking(&[release], scale)]);
    let CatchResponse::ReactionDistance(distance) = &rainbow.catchability[0].response else {
        panic!()
    };
    let turbidities_ntu = [5.0, 15.0, 22.0, 30.0, 40.0, 80.0];
    row("F-RULE-turb").assert(&turbidities_ntu.map(|ntu| log_reaction_distance(ntu, distance)));
}

/// The scenario of the rows F-RULE-eta, -share and -sd: rainbow, 10 March; arm N two days past a pulse, arm S without one.
fn scenario_a() -> Vec<Central> {
    let rainbow = builtin("rainbow-trout").unwrap();
    let date = NaiveDate::from_ymd_opt(2026, 3, 10).unwrap();
    let common = Drivers {
        main_suitability: Some(0.85),
        main_volume_m3: Some(1.0),
        lake_best_degc: Some(9.0),
        level_change_7d_m: Some(2.0 * M_PER_FT),
        surface_less_bottom_degc: Some(1.5),
        turbidity_ntu: Some(20.0),
        forage_less_main: Some(0.0),
        stocking_pull: Some(0.0),
        ..Drivers::default()
    };
    let north = Drivers {
        zone_suitability: Some(0.90),
        zone_volume_m3: Some(0.25),
        river_degc: Some(8.0),
        flow_ratio: Some(3.0),
        pulse_peak_ratio: Some(3.0),
        days_since_peak: Some(2.0),
        ..common
    };
    let south = Drivers {
        zone_suitability: Some(0.85),
        zone_volume_m3: Some(0.15),
        river_degc: Some(7.0),
        flow_ratio: Some(1.1),
        ..common
    };
    let zone = |name: &str, drivers: Drivers| ZoneDrivers {
        zone: ZoneId::new(name),
        kind: RuleZone::Arm,
        closed: false,
        by_member: vec![drivers],
        median: drivers,
        has_river: true,
    };
    let zones = [zone("north", north), zone("south", south)];
    let by_zone: Vec<_> = zones.iter().map(|z| terms(&rainbow, z, date)).collect();
    assert!(
        by_zone.iter().flatten().all(|t| t.missing.is_empty()),
        "every driver of the scenario is given"
    );
    let rules = Belief::rules(&rainbow);
    central((&rainbow, &rules), &zones, &by_zone, None, date)
}

#[test]
fn the_log_odds_and_shares_of_the_worked_scenario_are_met() {
    let [north, south] = scenario_a().try_into().unwrap();
    row("F-RULE-eta").assert(&[north.eta, south.eta]);
    row("F-RULE-sd").assert(&[north.eta_sd]);
    row("F-RULE-share").assert(&softmax(&[0.0, north.eta, south.eta]));
    let contribution = |rule: &str| {
        north
            .reasons
            .iter()
            .find(|r| r.rule == rule)
            .map(|r| r.contribution)
    };
    // Contributions of arm N behind the row F-RULE-eta (four decimals; R1 is 0.5 ln 0.25).
    for (rule, wanted) in [
        ("R0", -0.5),
        ("R1", 0.5 * 0.25f64.ln()),
        ("R2", 0.125),
        ("R4", 0.4737),
        ("R11", 0.05),
        ("R12", 0.1667),
    ] {
        assert!(
            (contribution(rule).unwrap() - wanted).abs() < 5e-5,
            "{rule}: {:?}",
            contribution(rule)
        );
    }
    assert_eq!(north.reasons.len(), 6, "nothing else speaks: {:?}", north.reasons);
}

#[test]
fn shares_are_the_softmax_of_log_odds() {
    row("F-SOFT").assert(&softmax(&[0.0, 0.6, -0.4]));
}

#[test]
fn the_one_published_size_of_a_refuge_is_that_of_the_kings_rule() {
    // 30.2 and 14.5 percent in tributaries, warm and cool year (Goniea, Peery & Bennett 2003): the row's log-odds
    // added to a share of 14.5 % by the program's own softmax make the share of the warm year.
    let published = row("F-OR").numbers()[0];
    let cool = [0.855f64.ln(), 0.145f64.ln()];
    let warm = softmax(&[cool[0], cool[1] + published]);
    assert!((warm[1] - 0.302).abs() < 1e-6, "{warm:?}");
    let rule = builtin("landlocked-chinook").unwrap().rule("R3").unwrap().clone();
    assert!(
        (rule.mean - published).abs() < 0.05,
        "0.9 is the published 0.94, rounded to one place"
    );
}
