//! Each rule of the species files: its shape, its sign, and when it is silent.

use chrono::NaiveDate;

use super::drivers::Drivers;
use super::rules::{Driver, Evaluated, evaluate};
use crate::species::{RuleZone, Species, builtin};
use crate::units::M_PER_FT;

fn rainbow() -> Species {
    builtin("rainbow-trout").unwrap()
}

fn kings() -> Species {
    builtin("landlocked-chinook").unwrap()
}

fn evaluated(species: &Species, rule: &str, date: &str, drivers: Drivers) -> Evaluated {
    let date: NaiveDate = date.parse().unwrap();
    evaluate(
        species.rule(rule).unwrap(),
        species,
        RuleZone::Arm,
        &drivers,
        date,
    )
}

fn response(species: &Species, rule: &str, date: &str, drivers: Drivers) -> f64 {
    match evaluated(species, rule, date, drivers) {
        Evaluated::Known(response) => response,
        Evaluated::Unknown(missing) => panic!("{rule} lacks {missing:?}"),
    }
}

/// Means of a rule, rainbow and kings.
fn means(rule: &str) -> (f64, f64) {
    (
        rainbow().rule(rule).unwrap().mean,
        kings().rule(rule).unwrap().mean,
    )
}

/// A river of 8 degC at the peak of a pulse of four times baseflow.
fn pulse() -> Drivers {
    Drivers {
        river_degc: Some(8.0),
        flow_ratio: Some(4.0),
        pulse_peak_ratio: Some(4.0),
        days_since_peak: Some(0.0),
        ..Drivers::default()
    }
}

#[test]
fn r0_speaks_always_and_against_arms_and_rivers() {
    assert_eq!(response(&rainbow(), "R0", "2026-07-01", Drivers::default()), 1.0);
    for rule in ["R0", "R0-river"] {
        let (rainbow, kings) = means(rule);
        assert!(kings < rainbow && rainbow < 0.0, "{rule}");
    }
}

#[test]
fn r1_is_the_logarithm_of_the_volumes_and_favours_the_larger() {
    let with = |zone, main| Drivers {
        zone_volume_m3: Some(zone),
        main_volume_m3: Some(main),
        ..Drivers::default()
    };
    let of = |zone, main| response(&rainbow(), "R1", "2026-07-01", with(zone, main));
    assert!((of(1.0, 4.0) + 4f64.ln()).abs() < 1e-12);
    assert_eq!((of(0.0, 4.0), of(1e6, 1.0)), (-4.0, 4.0), "bounded");
    assert!(of(2.0, 4.0) > of(1.0, 4.0) && means("R1").0 > 0.0 && means("R1").1 > 0.0);
}

#[test]
fn r2_is_the_difference_of_the_best_water_and_favours_the_better() {
    let with = |zone| Drivers {
        zone_suitability: Some(zone),
        main_suitability: Some(0.5),
        ..Drivers::default()
    };
    let of = |zone| response(&kings(), "R2", "2026-07-01", with(zone));
    assert_eq!((of(0.9), of(0.5), of(0.1)), (0.4, 0.0, -0.4));
    assert!(means("R2").0 > 0.0 && means("R2").1 > 0.0);
}

#[test]
fn r3_draws_fish_up_to_a_cold_river_only_from_a_warm_lake() {
    let with = |lake, river| Drivers {
        lake_best_degc: Some(lake),
        river_degc: Some(river),
        ..Drivers::default()
    };
    let of = |lake, river| response(&rainbow(), "R3", "2026-08-01", with(lake, river));
    assert_eq!((of(20.0, 15.0), of(20.0, 18.0), of(18.0, 5.0)), (1.0, 0.0, 0.0));
    assert!((of(19.0, 15.5) - 0.25).abs() < 1e-12, "half of each ramp");
    assert!(means("R3").0 > means("R3").1 && means("R3").1 > 0.0);
}

#[test]
fn r4_needs_season_pulse_and_a_river_neither_too_cold_nor_too_warm() {
    let of = |date: &str, drivers: Drivers| response(&rainbow(), "R4", date, drivers);
    assert_eq!(of("2026-03-10", pulse()), 1.0);
    assert_eq!(of("2026-07-10", pulse()), 0.0, "out of season");
    assert_eq!(
        of("2026-06-07", pulse()),
        0.5,
        "half way down the edge of the season"
    );
    assert_eq!(
        of(
            "2026-03-10",
            Drivers {
                pulse_peak_ratio: Some(1.4),
                ..pulse()
            }
        ),
        0.0
    );
    assert_eq!(
        of(
            "2026-03-10",
            Drivers {
                days_since_peak: None,
                ..pulse()
            }
        ),
        0.0,
        "high flow without a pulse"
    );
    let at = |river| {
        of(
            "2026-03-10",
            Drivers {
                river_degc: Some(river),
                ..pulse()
            },
        )
    };
    assert_eq!(
        [at(2.0), at(4.5), at(8.0), at(12.5), at(15.0)],
        [0.0, 0.5, 1.0, 0.5, 0.0]
    );
    assert_eq!(
        means("R4"),
        (1.0, 0.0),
        "rainbows move, for kings nothing is known"
    );
}

#[test]
fn r5a_is_the_autumn_run_of_kings_until_the_river_is_too_warm() {
    let of = |date: &str, river| {
        response(
            &kings(),
            "R5a",
            date,
            Drivers {
                river_degc: Some(river),
                ..pulse()
            },
        )
    };
    assert_eq!(
        (
            of("2026-10-09", 10.0),
            of("2026-10-09", 14.5),
            of("2026-10-09", 16.0)
        ),
        (1.0, 0.5, 0.0)
    );
    assert_eq!(of("2026-03-10", 10.0), 0.0);
    assert_eq!(means("R5a"), (0.0, 1.1));
}

#[test]
fn r5b_adds_a_pulse_to_the_autumn_run() {
    let of = |drivers| response(&kings(), "R5b", "2026-10-09", drivers);
    assert_eq!(of(pulse()), 1.0);
    assert!(
        (of(Drivers {
            days_since_peak: Some(5.0),
            ..pulse()
        }) - (-1f64).exp())
        .abs()
            < 1e-12
    );
    assert_eq!(
        of(Drivers {
            pulse_peak_ratio: Some(1.0),
            ..pulse()
        }),
        0.0
    );
    assert_eq!(means("R5b"), (0.0, 0.4));
}

#[test]
fn r6_takes_the_pulses_that_the_run_leaves() {
    for (species, within, outside) in [
        (rainbow(), "2026-03-10", "2026-09-10"),
        (kings(), "2026-10-09", "2026-03-10"),
    ] {
        assert_eq!(response(&species, "R6", within, pulse()), 0.0);
        assert_eq!(response(&species, "R6", outside, pulse()), 1.0);
    }
    assert!(means("R6").0 > 0.0 && means("R6").1 > 0.0);
}

#[test]
fn r7_is_a_ramp_from_25_to_75_ntu_against_the_turbid_arm() {
    let of = |ntu| {
        let drivers = Drivers {
            turbidity_ntu: Some(ntu),
            ..Drivers::default()
        };
        response(&rainbow(), "R7", "2026-03-10", drivers)
    };
    assert_eq!(
        [of(5.0), of(25.0), of(50.0), of(75.0), of(900.0)],
        [0.0, 0.0, 0.5, 1.0, 1.0]
    );
    assert_eq!(means("R7"), (-0.6, -0.3));
}

#[test]
fn r8_is_the_forage_here_less_that_of_the_main_body() {
    let of = |difference| {
        let drivers = Drivers {
            forage_less_main: Some(difference),
            ..Drivers::default()
        };
        response(&kings(), "R8", "2026-07-01", drivers)
    };
    assert_eq!([of(-0.4), of(0.0), of(1.0)], [-0.4, 0.0, 1.0]);
    assert_eq!(means("R8"), (0.9, 0.9));
}

#[test]
fn r9_is_the_pull_of_releases_here_less_those_into_the_main_body() {
    let of = |pull| {
        let drivers = Drivers {
            stocking_pull: Some(pull),
            ..Drivers::default()
        };
        response(&rainbow(), "R9", "2026-07-01", drivers)
    };
    assert_eq!([of(-1.0), of(0.0), of(1.4)], [-1.0, 0.0, 1.4]);
    assert_eq!(means("R9"), (1.8, 1.0));
}

#[test]
fn r10_and_r11_see_a_level_from_one_to_five_feet_a_week_in_opposite_ways() {
    let of = |rule: &str, rise_ft: f64| {
        let drivers = Drivers {
            level_change_7d_m: Some(rise_ft * M_PER_FT),
            ..Drivers::default()
        };
        response(&rainbow(), rule, "2026-07-01", drivers)
    };
    assert_eq!(
        [of("R10", -1.0), of("R10", -5.0), of("R10", 5.0)],
        [0.0, 1.0, 0.0]
    );
    assert_eq!([of("R11", 1.0), of("R11", 5.0), of("R11", -5.0)], [0.0, 1.0, 0.0]);
    assert!((of("R10", -3.0) - 0.5).abs() < 1e-12 && (of("R11", 3.0) - 0.5).abs() < 1e-12);
    assert!(means("R10").0 < 0.0 && means("R10").1 < 0.0 && means("R11").0 > 0.0 && means("R11").1 > 0.0);
}

#[test]
fn r12_speaks_when_the_lake_is_mixed_for_rainbows_and_against_kings() {
    let of = |difference| {
        let drivers = Drivers {
            surface_less_bottom_degc: Some(difference),
            ..Drivers::default()
        };
        response(&rainbow(), "R12", "2026-12-01", drivers)
    };
    assert_eq!(
        [of(-0.5), of(1.0), of(2.5), of(4.0), of(15.0)],
        [1.0, 1.0, 0.5, 0.0, 0.0]
    );
    assert_eq!(means("R12"), (0.2, -0.3));
}

#[test]
fn a_missing_driver_is_named_unless_the_rule_is_silent_anyway() {
    let nothing = Drivers::default();
    let missing = |species: &Species, rule: &str, date: &str, drivers: Drivers| match evaluated(
        species, rule, date, drivers,
    ) {
        Evaluated::Unknown(missing) => missing,
        Evaluated::Known(response) => panic!("{rule} is {response}"),
    };
    assert_eq!(
        missing(&rainbow(), "R1", "2026-03-10", nothing),
        [Driver::Areas, Driver::Areas]
    );
    assert_eq!(
        missing(&rainbow(), "R2", "2026-03-10", nothing),
        [Driver::ZoneWater, Driver::MainWater]
    );
    assert_eq!(
        missing(&rainbow(), "R3", "2026-03-10", nothing),
        [Driver::MainWater, Driver::RiverTemp]
    );
    assert_eq!(
        missing(&rainbow(), "R4", "2026-03-10", nothing),
        [Driver::FlowRatio, Driver::RiverTemp]
    );
    assert_eq!(
        missing(&kings(), "R5a", "2026-10-09", nothing),
        [Driver::RiverTemp]
    );
    assert_eq!(
        missing(&rainbow(), "R10", "2026-03-10", nothing),
        [Driver::LevelChange]
    );
    assert_eq!(
        missing(&rainbow(), "R12", "2026-03-10", nothing),
        [Driver::MainWater]
    );
    assert_eq!(
        missing(&rainbow(), "R7", "2026-03-10", nothing),
        [Driver::Turbidity]
    );
    assert_eq!(missing(&kings(), "R8", "2026-03-10", nothing), [Driver::Forage]);
    let cool = Drivers {
        lake_best_degc: Some(15.0),
        ..nothing
    };
    assert_eq!(
        response(&rainbow(), "R3", "2026-08-01", cool),
        0.0,
        "no refuge from a cool lake, whatever the river"
    );
    let low = Drivers {
        flow_ratio: Some(1.0),
        ..nothing
    };
    assert_eq!(
        response(&rainbow(), "R4", "2026-03-10", low),
        0.0,
        "no pulse, whatever its temperature"
    );
    assert_eq!(
        response(&rainbow(), "R4", "2026-08-01", nothing),
        0.0,
        "out of season, whatever the river"
    );
}

#[test]
fn a_pulse_counts_by_its_peak_and_fades_by_days_not_by_the_fall_of_the_river() {
    let after = |flow_ratio: f64| Drivers {
        flow_ratio: Some(flow_ratio),
        days_since_peak: Some(2.0),
        ..pulse()
    };
    let of = |drivers| response(&rainbow(), "R4", "2026-03-10", drivers);
    // Full at four times baseflow; two of the five days of fading: exp(-0.4) = 0.670320.
    for flow_ratio in [4.0, 2.0, 1.1] {
        assert!((of(after(flow_ratio)) - 0.670_320).abs() < 1e-6, "{flow_ratio}");
    }
}
