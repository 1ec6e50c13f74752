//! A towed weight against the check rows, and against an integration by scipy (`tests/outside/cable/oracle.py` has it in
//! `oracle.json`; `.ci/run` runs that again).

use plungeline::physics::cable::*;
use plungeline::units::{KG_PER_LB, M_PER_FT, M_S_PER_MPH};
use serde_json::Value;

use crate::published::row;

/// Water of the check rows (20 degC, Kell 1975 in their sources).
const WATER_KG_M3: f64 = 998.2;
/// Lead of the check rows.
const LEAD_KG_M3: f64 = 11_340.0;
/// Wire of the check rows: 0.76 mm.
const WIRE_M: f64 = 0.76e-3;

fn ball(pounds: f64) -> Ball {
    Ball {
        mass_kg: pounds * KG_PER_LB,
        density_kg_m3: LEAD_KG_M3,
        drag_coefficient: SPHERE_DRAG_COEFFICIENT,
    }
}

fn load(pounds: f64, speed_m_s: f64) -> TowedLoad {
    let ball = ball(pounds);
    TowedLoad {
        weight_n: ball.weight_n(WATER_KG_M3),
        drag_n: ball.drag_n(speed_m_s, WATER_KG_M3),
    }
}

fn across_n_per_m(speed_m_s: f64) -> f64 {
    cable_load_n_per_m(WIRE_DRAG_COEFFICIENT, WIRE_M, speed_m_s, WATER_KG_M3)
}

/// The wire of the check row, 7900 kg/m3 with a skin drag of 0.02.
fn heavy(speed_m_s: f64) -> HeavyCable {
    let area_m2 = 0.25 * std::f64::consts::PI * WIRE_M * WIRE_M;
    HeavyCable {
        across_n_per_m: across_n_per_m(speed_m_s),
        along_n_per_m: 0.5 * WATER_KG_M3 * 0.02 * std::f64::consts::PI * WIRE_M * speed_m_s * speed_m_s,
        weight_n_per_m: (7900.0 - WATER_KG_M3) * plungeline::physics::waves::GRAVITY_M_S2 * area_m2,
    }
}

#[test]
fn a_ball_of_ten_pounds_hangs_as_the_check_rows_have_it() {
    let speed_m_s = 2.5 * M_S_PER_MPH;
    let load = load(10.0, speed_m_s);
    row("P10-BALL").assert(&[load.angle_deg()]);
    let place = light_cable_place(load, across_n_per_m(speed_m_s), 30.0);
    row("P10-TOP").assert(&[place.boat_angle_deg]);
    row("P10-DEP").assert(&[place.depth_m]);
    row("P10-BACK").assert(&[place.setback_m]);
    let full = heavy_cable_place(load, heavy(speed_m_s), 30.0);
    row("P10-FULL").assert(&[full.depth_m]);
    // The same row names the angle at the boat, 24.54 degrees to two places.
    assert!((full.boat_angle_deg - 24.54).abs() < 0.005, "{full:?}");
}

#[test]
fn one_look_at_the_cable_gives_the_depth() {
    row("P10-STR").assert(&[straight_depth_m(60.0 * M_PER_FT, 20.0) / M_PER_FT]);
    row("P10-RAT").assert(&[depth_over_cable_frac(5.0, 30.0)]);
    row("P10-RAT2").assert(&[depth_over_cable_frac(5.0, 15.0)]);
    // The ratio is that of the whole equation, to what two angles of it are written with.
    let speed_m_s = 2.5 * M_S_PER_MPH;
    let load = load(10.0, speed_m_s);
    let place = light_cable_place(load, across_n_per_m(speed_m_s), 30.0);
    let ratio = depth_over_cable_frac(load.angle_deg(), place.boat_angle_deg);
    assert!((30.0 * ratio - place.depth_m).abs() < 1e-9);
}

#[test]
fn a_weighted_line_hangs_at_its_critical_angle() {
    let r = cable_load_n_per_m(WIRE_DRAG_COEFFICIENT, 0.9e-3, 1.5 * M_S_PER_MPH, WATER_KG_M3);
    let angle_deg = critical_angle_deg(0.10, r);
    row("P10-CRIT").assert(&[angle_deg]);
    // The row's own remark: 30 m of it reach 17.39 m, to the hundredth.
    assert!((30.0 * angle_deg.to_radians().sin() - 17.39).abs() < 0.01);
}

#[test]
fn both_forms_agree_with_an_independent_integration() {
    let cases: Value = serde_json::from_str(include_str!("cable/oracle.json")).expect("stored JSON");
    let cases = cases.as_array().expect("cases");
    // 54 of smooth wire, 24 of rougher cable and a lure.
    assert_eq!(cases.len(), 78);
    for case in cases {
        let number = |key: &str| case[key].as_f64().expect("a number");
        let (speed_m_s, out_m) = (number("mph") * M_S_PER_MPH, number("out_m"));
        let found = if case["heavy"] == true {
            heavy_cable_place(load(number("pounds"), speed_m_s), heavy(speed_m_s), out_m)
        } else {
            let optional = |key: &str, otherwise: f64| case[key].as_f64().unwrap_or(otherwise);
            let rough = optional("cn", WIRE_DRAG_COEFFICIENT);
            let bare = load(number("pounds"), speed_m_s);
            let towed = TowedLoad {
                drag_n: bare.drag_n + plate_drag_n(optional("plate_m2", 0.0), speed_m_s, WATER_KG_M3),
                ..bare
            };
            let across = cable_load_n_per_m(rough, WIRE_M, speed_m_s, WATER_KG_M3);
            light_cable_place(towed, across, out_m)
        };
        // scipy ran with a relative tolerance of 1e-12 a step; 400 steps of Runge-Kutta are good to about 1e-9.
        for (i, value) in [found.depth_m, found.setback_m, found.boat_angle_deg]
            .iter()
            .enumerate()
        {
            let wanted = case["place"][i].as_f64().expect("a number");
            assert!((value - wanted).abs() < 1e-7, "{case}: {found:?}");
        }
    }
}

#[test]
fn cable_weight_and_skin_change_the_depth_by_little() {
    // physics.md 10 of the check rows: 0.1 % in the check case.
    let speed_m_s = 2.5 * M_S_PER_MPH;
    let load = load(10.0, speed_m_s);
    let light_m = light_cable_place(load, across_n_per_m(speed_m_s), 30.0).depth_m;
    let heavy_m = heavy_cable_place(load, heavy(speed_m_s), 30.0).depth_m;
    assert!((heavy_m / light_m - 1.0).abs() < 0.0015, "{light_m} {heavy_m}");
}

#[test]
fn a_rough_cable_a_hum_and_a_lure_lift_the_ball() {
    // Published coefficients: 1.2 smooth, 1.5 stranded, up to 2 strumming; a lure as a plate of 6 by 1.5 in. From smooth and bare
    // to humming with a lure 30 m of cable lose 17 % of their depth, and all of it upward.
    let speed_m_s = 3.5 * M_S_PER_MPH;
    let depth_m = |rough: f64, plate_m2: f64| {
        let bare = load(10.0, speed_m_s);
        let towed = TowedLoad {
            drag_n: bare.drag_n + plate_drag_n(plate_m2, speed_m_s, WATER_KG_M3),
            ..bare
        };
        light_cable_place(
            towed,
            cable_load_n_per_m(rough, WIRE_M, speed_m_s, WATER_KG_M3),
            30.0,
        )
        .depth_m
    };
    // scipy's depths of 30 m of cable (the same integration as in oracle.py), good to 1e-9.
    for (rough, plate_m2, wanted_m) in [
        (WIRE_DRAG_COEFFICIENT, 0.0, 26.545_487_015),
        (STRANDED_DRAG_COEFFICIENT, 0.0, 25.447_092_919),
        (STRUMMING_DRAG_COEFFICIENT, 0.0, 23.688_697_468),
        (STRUMMING_DRAG_COEFFICIENT, 0.005_806, 21.904_358_414),
    ] {
        let found_m = depth_m(rough, plate_m2);
        assert!((found_m - wanted_m).abs() < 1e-7, "{rough} {plate_m2}: {found_m}");
    }
}
