//! Shares: they sum to one, closed arms have none, and neither order nor names matter.

use chrono::NaiveDate;
use plungeline::column::RiverWater;
use plungeline::lake::*;
use plungeline::species::builtin;
use plungeline::whereabouts::*;
use proptest::prelude::*;

use super::morning::*;

fn any_arm() -> impl Strategy<Value = Arm> {
    (
        4.0..27.0f64,
        1.0..50.0f64,
        1e4..1e7f64,
        0.0..25.0f64,
        0.5..12.0f64,
        prop::option::of(0.0..20.0f64),
        any::<bool>(),
    )
        .prop_map(
            |(surface_degc, depth_m, area_m2, river_degc, ratio, days_since_peak, closed)| Arm {
                surface_degc,
                depth_m,
                area_m2,
                river_degc,
                ratio,
                days_since_peak,
                closed,
            },
        )
}

fn any_day() -> impl Strategy<Value = String> {
    (1u32..=365).prop_map(|day| NaiveDate::from_yo_opt(2026, day).unwrap().to_string())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn shares_sum_to_one_and_a_closed_arm_has_exactly_none(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let mut m = morning(&day, main_degc, &[("north", a), ("south", b)]);
        m.options.draws = 200;
        for call in [m.rainbow(), m.kings()] {
            let total: f64 = call.zones.values().map(|z| z.share).sum();
            prop_assert!((total - 1.0).abs() < 1e-9, "{total}");
            let first: f64 = call.zones.values().map(|z| z.first_prob).sum();
            prop_assert!((first - 1.0).abs() < 1e-9, "{first}");
            for z in call.zones.values() {
                prop_assert!(0.0 <= z.low && z.low <= z.high && z.high <= 1.0, "{z:?}");
                prop_assert!(z.eta.abs() <= 4.0 + 1e-12, "{z:?}");
                prop_assert!(z.fishable || z.first_prob == 0.0, "{z:?}");
            }
            for (name, arm) in [("north", a), ("south", b)] {
                let z = &call.zones[&ZoneId::new(name)];
                prop_assert_eq!(z.closed, arm.closed);
                if arm.closed {
                    prop_assert_eq!((z.share, z.low, z.high, z.fishable), (0.0, 0.0, 0.0, false));
                    prop_assert!(call.reasons.iter().all(|r| r.zone.as_str() != name));
                } else {
                    prop_assert!(z.share > 0.0);
                }
            }
        }
    }

    #[test]
    fn the_reasons_of_a_zone_add_up_to_its_log_odds(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let mut m = morning(&day, main_degc, &[("north", a), ("south", b)]);
        m.options.draws = 1;
        for call in [m.rainbow(), m.kings()] {
            for (id, z) in &call.zones {
                let sum: f64 = call.reasons.iter().filter(|r| &r.zone == id).map(|r| r.contribution).sum();
                prop_assert!((sum - z.eta).abs() < 1e-9, "{id}: {sum} {}", z.eta);
                let clamp = call.reasons.iter().any(|r| &r.zone == id && r.rule == "clamp");
                prop_assert_eq!(clamp, z.clamped);
            }
        }
    }

    #[test]
    fn more_of_a_pulse_in_season_never_lowers_the_rainbows_share_of_the_arm(
        a in any_arm(), b in any_arm(), less in 1.0..8.0f64, more in 0.0..4.0f64, days in 0.0..15.0f64
    ) {
        let of = |ratio: f64| {
            let north = Arm { ratio, days_since_peak: Some(days), closed: false, ..a };
            share(&morning("2026-03-12", 9.0, &[("north", north), ("south", b)]).rainbow(), "north")
        };
        prop_assert!(of(less + more) >= of(less) - 1e-12);
    }

    #[test]
    fn the_order_of_arms_in_the_file_changes_no_share(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        for species in ["rainbow-trout", "landlocked-chinook"] {
            let species = builtin(species).unwrap();
            let one = morning(&day, main_degc, &[("north", a), ("south", b)]).call(&species);
            let two = morning(&day, main_degc, &[("south", b), ("north", a)]).call(&species);
            for (zone, share) in by_zone(&one) {
                prop_assert!((share - by_zone(&two)[&zone]).abs() < 1e-12, "{zone}");
            }
            prop_assert_eq!(one.likeliest_fishable, two.likeliest_fishable);
        }
    }

    #[test]
    fn exchanging_two_arms_exchanges_their_shares(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let one = morning(&day, main_degc, &[("north", a), ("south", b)]).rainbow();
        let two = morning(&day, main_degc, &[("north", b), ("south", a)]).rainbow();
        prop_assert!((share(&one, "north") - share(&two, "south")).abs() < 1e-12);
        prop_assert!((share(&one, "south-river") - share(&two, "north-river")).abs() < 1e-12);
    }
}

#[test]
fn identical_arms_have_equal_shares_and_share_the_first_place() {
    let call = morning("2026-03-12", 9.0, &[("north", ARM), ("south", ARM)]).rainbow();
    let (north, south) = (
        &call.zones[&ZoneId::new("north")],
        &call.zones[&ZoneId::new("south")],
    );
    assert!((north.share - south.share).abs() < 1e-12);
    assert_eq!(north.first_prob, south.first_prob);
    assert!(north.first_prob > 0.0);
}

#[test]
fn a_seed_gives_the_same_call_again_and_another_seed_nearly_the_same() {
    let m = morning("2026-03-12", 9.0, &[("north", ARM)]);
    assert_eq!(m.rainbow(), m.rainbow());
    let mut other = m.clone();
    other.options.seed = 8;
    let difference = (share(&m.rainbow(), "north") - share(&other.rainbow(), "north")).abs();
    // The standard error of a mean of 2000 shares with a spread of 0.2 is 0.0045: five of them.
    assert!(difference > 0.0 && difference < 0.0225, "{difference}");
}

#[test]
fn a_lake_without_arms_is_main_body_against_its_river() {
    let mut m = morning("2026-03-12", 9.0, &[]);
    m.lake.zones.push(zone("creek", ZoneKind::River, Some("main")));
    m.lake.inflows.push(Inflow {
        enters: ZoneId::new("main"),
        ..inflow("creek")
    });
    m.water.rivers.push(RiverWater {
        inflow: InflowId::new("creek"),
        temp_degc: vec![8.0; 10],
        measured: true,
    });
    m.conditions.inflows.push(flow("creek", ARM, m.conditions.as_of));
    let call = m.rainbow();
    assert_eq!(call.zones.len(), 2);
    assert_eq!(
        call.verdict,
        Verdict::Likeliest {
            zone: ZoneId::new("main"),
            first_prob: 1.0
        }
    );
    assert!(
        share(&call, "creek") > 0.05 && share(&call, "creek") < 0.5,
        "{}",
        share(&call, "creek")
    );
    assert!(
        call.gaps.iter().all(|g| !g.what.contains("river_temp")),
        "{:?}",
        call.gaps
    );
}

#[test]
fn a_river_has_the_inflow_that_it_names_whatever_the_order_of_the_file() {
    let mut m = morning("2026-03-12", 9.0, &[]);
    // Rivers in one order, inflows in the other.
    for name in ["cold", "warm"] {
        let mut river = zone(&format!("{name}-river"), ZoneKind::River, Some("main"));
        river.inflow = Some(InflowId::new(name));
        m.lake.zones.push(river);
    }
    for (name, temp_degc) in [("warm", 14.0), ("cold", 4.0)] {
        m.lake.inflows.push(Inflow {
            enters: ZoneId::new("main"),
            ..inflow(name)
        });
        m.water.rivers.push(RiverWater {
            inflow: InflowId::new(name),
            temp_degc: vec![temp_degc; 10],
            measured: true,
        });
    }
    let rainbow = builtin("rainbow-trout").unwrap();
    let drivers = drivers::zone_drivers(&m.lake, &rainbow, &m.conditions, &m.water, &[], m.options.date);
    let found: Vec<(String, Option<f64>)> = drivers
        .iter()
        .map(|d| (d.zone.to_string(), d.median.river_degc))
        .collect();
    assert_eq!(
        found,
        [
            ("cold-river".to_owned(), Some(4.0)),
            ("warm-river".to_owned(), Some(14.0))
        ]
    );
}

#[test]
fn on_one_morning_the_call_is_an_arm_and_on_another_the_main_body() {
    let pulse = Arm {
        ratio: 6.0,
        days_since_peak: Some(2.0),
        depth_m: 40.0,
        area_m2: 8e6,
        ..ARM
    };
    let spring = morning("2026-03-12", 9.0, &[("north", pulse), ("south", ARM)]).rainbow();
    assert_eq!(
        spring.likeliest_fishable,
        ZoneId::new("north"),
        "{:#?}",
        spring.zones
    );
    let warm = Arm {
        surface_degc: 26.0,
        depth_m: 6.0,
        river_degc: 22.0,
        ..ARM
    };
    let summer = morning("2025-07-24", 25.0, &[("north", warm), ("south", warm)]).kings();
    assert!(
        matches!(&summer.verdict, Verdict::Likeliest { zone, .. } if zone.as_str() == "main"),
        "{:?}",
        summer.verdict
    );
}

#[test]
fn arms_that_differ_little_are_either_place() {
    let pulse = Arm {
        ratio: 6.0,
        days_since_peak: Some(2.0),
        depth_m: 40.0,
        area_m2: 8e6,
        ..ARM
    };
    let call = morning("2026-03-12", 9.0, &[("north", pulse), ("south", pulse)]).rainbow();
    let Verdict::EitherPlace { zones, first_prob } = &call.verdict else {
        panic!("{:?}", call.verdict)
    };
    assert_eq!(zones.len(), 2);
    assert_eq!(*first_prob, call.zones[&zones[0]].first_prob);
    assert!(*first_prob < 0.6);
}

#[test]
fn kings_in_autumn_are_a_mixture_of_a_part_that_runs_and_one_that_does_not() {
    let arm = Arm {
        river_degc: 10.0,
        ..ARM
    };
    let m = morning("2025-10-09", 17.0, &[("north", arm)]);
    let call = m.kings();
    let z = &call.zones[&ZoneId::new("north")];
    let (mature, immature) = (z.mature_share.unwrap(), z.immature_share.unwrap());
    assert!(
        mature > z.share && z.share > immature,
        "{mature} {} {immature}",
        z.share
    );
    assert!(
        call.reasons
            .iter()
            .any(|r| r.rule == "maturity" && r.contribution < 0.0)
    );
    let with = |mature_frac| {
        let mut m = m.clone();
        m.lake.species = vec![LakeSpecies {
            id: SpeciesId::new("landlocked-chinook"),
            mature_frac: Some(mature_frac),
        }];
        share(&m.kings(), "north")
    };
    assert!((with(1.0) - mature).abs() < 1e-12 && (with(0.0) - immature).abs() < 1e-12);
    assert!(with(0.2) < with(0.8));
    let spring = morning("2026-04-20", 12.0, &[("north", arm)]).kings();
    assert_eq!(
        spring.zones[&ZoneId::new("north")].mature_share,
        None,
        "the parts do not differ out of season"
    );
}

#[test]
fn the_bound_on_log_odds_is_shown_when_it_bites() {
    let mut m = morning(
        "2025-07-24",
        17.0,
        &[(
            "north",
            Arm {
                depth_m: 2.0,
                area_m2: 1e3,
                river_degc: 25.0,
                ..ARM
            },
        )],
    );
    m.water.zones[1]
        .temp_degc
        .iter_mut()
        .for_each(|member| member.fill(26.5));
    let call = m.rainbow();
    let z = &call.zones[&ZoneId::new("north")];
    assert!(z.clamped && z.eta == -4.0, "{z:?}");
    let clamp = call
        .reasons
        .iter()
        .find(|r| r.rule == "clamp" && r.zone.as_str() == "north")
        .unwrap();
    assert!(clamp.contribution > 0.0 && clamp.drivers["eta_before"] < -4.0);
}

#[test]
fn the_bound_of_one_arm_is_no_reason_in_another() {
    let tiny = Arm {
        depth_m: 2.0,
        area_m2: 1e3,
        ..ARM
    };
    let mut m = morning("2025-10-09", 17.0, &[("north", ARM), ("south", tiny)]);
    m.water.zones[2]
        .temp_degc
        .iter_mut()
        .for_each(|member| member.fill(26.5));
    let call = m.kings();
    let clamped_in = |zone: &str| {
        call.reasons
            .iter()
            .any(|r| r.rule == "clamp" && r.zone.as_str() == zone)
    };
    assert!(clamped_in("south") && !clamped_in("north"), "{:?}", call.reasons);
}
