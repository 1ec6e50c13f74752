//! Each rule moves its zone the way its mean says, in whole mornings: one case a rule, and no rule without one.

use plungeline::conditions::{Change, TurbidityCondition};
use plungeline::lake::{InflowId, SpeciesId, Stocking, ZoneId};
use plungeline::species::{Species, builtin, builtin_ids};
use plungeline::units::M_PER_FT;
use plungeline::whereabouts::drivers::Drivers;
use plungeline::whereabouts::rules::{Evaluated, evaluate};
use rstest::rstest;

use super::morning::*;

const CASES: [&str; 15] = [
    "R0", "R0-river", "R1", "R2", "R3", "R4", "R5a", "R5b", "R6", "R7", "R8", "R9", "R10", "R11", "R12",
];

const PULSE: Arm = Arm {
    ratio: 4.0,
    days_since_peak: Some(0.0),
    ..ARM
};

/// Makes no water of a zone colder than this.
fn warm_to_the_bottom(m: &mut Morning, zone: &str, temp_degc: f64) {
    let water = m
        .water
        .zones
        .iter_mut()
        .find(|z| z.zone.as_str() == zone)
        .unwrap();
    for t in water.temp_degc.iter_mut().flatten() {
        *t = t.max(temp_degc);
    }
}

/// Two mornings, the second with more of what the rule responds to.
fn less_and_more(rule: &str, species: &str) -> (Morning, Morning) {
    let one = |date: &str, main_degc: f64, arm: Arm| morning(date, main_degc, &[("north", arm)]);
    let level = |change_ft: f64| {
        let mut m = one("2026-07-01", 16.0, ARM);
        m.conditions.pool.as_mut().unwrap().change_7d = Some(Change {
            change_m: change_ft * M_PER_FT,
            sd_m: 0.01,
        });
        m
    };
    let within = if species == "rainbow-trout" {
        "2026-08-20"
    } else {
        "2026-03-12"
    };
    match rule {
        "R1" => (
            one("2026-07-01", 12.0, Arm { area_m2: 1e6, ..ARM }),
            one("2026-07-01", 12.0, ARM),
        ),
        "R2" => {
            let mut warm = one("2026-07-01", 14.0, ARM);
            warm_to_the_bottom(&mut warm, "north", 23.0);
            (warm, one("2026-07-01", 14.0, ARM))
        }
        "R3" => {
            let hot = |river_degc| {
                let mut m = one(
                    "2026-08-01",
                    24.0,
                    Arm {
                        river_degc,
                        surface_degc: 24.0,
                        ..ARM
                    },
                );
                warm_to_the_bottom(&mut m, "main", 21.0);
                m
            };
            (hot(21.0), hot(14.0))
        }
        "R4" => (one("2026-03-12", 9.0, ARM), one("2026-03-12", 9.0, PULSE)),
        "R5a" => (
            one(
                "2026-10-09",
                14.0,
                Arm {
                    river_degc: 17.0,
                    ..ARM
                },
            ),
            one("2026-10-09", 14.0, ARM),
        ),
        "R5b" => (one("2026-10-09", 14.0, ARM), one("2026-10-09", 14.0, PULSE)),
        "R6" => (one(within, 9.0, ARM), one(within, 9.0, PULSE)),
        "R7" => {
            let turbid = |turbidity_ntu| {
                let mut m = one("2026-03-12", 9.0, ARM);
                m.conditions.turbidities[0].turbidity_ntu = turbidity_ntu;
                m
            };
            (turbid(10.0), turbid(60.0))
        }
        "R9" => {
            let before = one("2026-03-12", 9.0, ARM);
            let mut after = before.clone();
            after.lake.stocking.push(Stocking {
                species: SpeciesId::new(species),
                date: "2026-03-09".parse().unwrap(),
                zone: ZoneId::new("north"),
                position: None,
                count: 6000,
            });
            (before, after)
        }
        "R10" => (level(0.0), level(-4.0)),
        "R11" => (level(0.0), level(4.0)),
        "R12" => (one("2026-12-01", 20.0, ARM), one("2026-12-01", 8.0, ARM)),
        _ => (one("2026-07-01", 16.0, ARM), one("2026-07-01", 16.0, ARM)),
    }
}

fn contribution(m: &Morning, species: &Species, rule: &str) -> f64 {
    let zone = if rule == "R0-river" {
        "north-river"
    } else {
        "north"
    };
    let call = m.call(species);
    let of = call
        .reasons
        .iter()
        .filter(|r| r.rule == rule && r.zone.as_str() == zone);
    of.map(|r| r.contribution).sum()
}

#[rstest]
fn a_rule_speaks_for_its_zone_as_the_sign_of_its_mean_says(
    #[values(
        "R0", "R0-river", "R1", "R2", "R3", "R4", "R5a", "R5b", "R6", "R7", "R9", "R10", "R11", "R12"
    )]
    rule: &str,
    #[values("rainbow-trout", "landlocked-chinook")] id: &str,
) {
    let species = builtin(id).unwrap();
    let mean = species.rule(rule).unwrap().mean;
    let (less, more) = less_and_more(rule, id);
    let (before, after) = (
        contribution(&less, &species, rule),
        contribution(&more, &species, rule),
    );
    // A constant has no "more": there the contribution itself has the sign.
    let moved = if rule.starts_with("R0") {
        after
    } else {
        after - before
    };
    if mean == 0.0 {
        assert_eq!(moved, 0.0, "{rule} has no mean effect on {id}");
    } else {
        assert!(
            moved * mean > 0.0,
            "{rule} for {id}: {before} to {after}, mean {mean}"
        );
    }
}

#[rstest]
fn forage_in_the_arm_speaks_for_it(#[values("rainbow-trout", "landlocked-chinook")] id: &str) {
    // No driver in a morning yet: the trip log's bait marks are to bring it. So the rule itself.
    let species = builtin(id).unwrap();
    let row = species.rule("R8").unwrap();
    let drivers = Drivers {
        forage_less_main: Some(0.5),
        ..Drivers::default()
    };
    let kind = plungeline::species::RuleZone::Arm;
    let evaluated = evaluate(row, &species, kind, &drivers, "2026-07-01".parse().unwrap());
    assert_eq!(evaluated, Evaluated::Known(0.5));
    assert!(row.mean > 0.0);
}

#[test]
fn every_rule_of_every_species_has_its_case_and_its_source() {
    for id in builtin_ids() {
        for rule in &builtin(id).unwrap().rules {
            assert!(
                CASES.contains(&rule.id.as_str()),
                "{id}: no sign is tested for {}",
                rule.id
            );
            assert!(
                !rule.source.trim().is_empty() && !rule.evidence.trim().is_empty(),
                "{id} {}",
                rule.id
            );
        }
    }
}

#[test]
fn a_release_into_the_main_body_speaks_against_both_arms_and_fades() {
    let rainbow = builtin("rainbow-trout").unwrap();
    let stocked = |days: i64| {
        let mut m = morning("2026-03-12", 9.0, &[("north", ARM), ("south", ARM)]);
        m.lake.stocking.push(Stocking {
            species: SpeciesId::new("rainbow-trout"),
            date: m.options.date - chrono::Duration::days(days),
            zone: ZoneId::new("main"),
            position: None,
            count: 5000,
        });
        let call = m.call(&rainbow);
        ["north", "south"].map(|zone| {
            let of = call
                .reasons
                .iter()
                .filter(|r| r.rule == "R9" && r.zone.as_str() == zone);
            of.map(|r| r.contribution).sum::<f64>()
        })
    };
    // -1.8 on the day, and a fortnight later by e: -1.8 / 2.718282 = -0.662183.
    assert_eq!(stocked(0), [-1.8, -1.8]);
    assert!(stocked(14).iter().all(|c| (c + 0.662_183).abs() < 1e-6));
    assert_eq!(stocked(-3), [0.0, 0.0], "not yet");
}

#[test]
fn the_river_of_an_arm_says_how_turbid_it_is_and_a_series_of_its_own_says_it_better() {
    let mut m = morning("2026-03-12", 9.0, &[("north", ARM)]);
    let at = |zone: Option<&str>, turbidity_ntu| TurbidityCondition {
        zone: zone.map(ZoneId::new),
        inflow: zone.is_none().then(|| InflowId::new("north")),
        turbidity_ntu,
        observed_at: m.conditions.as_of,
    };
    let (river, arm) = (at(None, 75.0), at(Some("north"), 25.0));
    m.conditions.turbidities = vec![river.clone()];
    let rainbow = builtin("rainbow-trout").unwrap();
    assert_eq!(contribution(&m, &rainbow, "R7"), -0.6);
    m.conditions.turbidities = vec![river, arm];
    assert_eq!(contribution(&m, &rainbow, "R7"), 0.0);
}
