//! The numbers of a plan that hold in any scene, each with where it comes from; `scenes.rs` has the words and what makes each scene.

use std::path::Path;

use chrono::{DateTime, Duration, Utc};
use plungeline::lake::{Lake, read_lake};
use plungeline::plan::{Caution, CautionLevel, Hazard, SecondChoice};
use plungeline::reports::Brief;

const M_PER_FT: f64 = 0.3048; // exact, 1959
const M_S_PER_KT: f64 = 1852.0 / 3600.0; // the nautical mile is 1852 m exactly

fn lake() -> Lake {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let toml = std::fs::read_to_string(&file).expect("the demonstration lake");
    read_lake(&toml, &file, &plungeline::sources::service_rules()).expect("no faults")
}

fn caution(brief: &Brief, hazard: Hazard) -> &Caution {
    let found = brief.cautions.iter().find(|c| c.hazard == hazard);
    found.unwrap_or_else(|| panic!("no caution on {hazard:?}"))
}

fn figure(brief: &Brief, hazard: Hazard, key: &str) -> f64 {
    let figures = &caution(brief, hazard).figures;
    let found = figures.iter().find(|(k, _)| k.as_str() == key);
    *found
        .unwrap_or_else(|| panic!("{hazard:?}: {key} in {figures:?}"))
        .1
}

/// Water over every ramp is level less toe of the lake file, `level_ft` being the truth of docs/demonstration-lake.md or what the scene sets; the
/// gauge reads to 0.1 ft.
pub(super) fn assert_ramps(brief: &Brief, level_ft: f64) {
    let lake = lake();
    for ramp in &brief.plan.ramps {
        let of_file = lake
            .ramps
            .iter()
            .find(|r| r.id == ramp.id)
            .expect("a ramp of the lake file");
        let water_ft = ramp.water_over_toe_m.expect("a level") / M_PER_FT;
        let wanted_ft = level_ft - of_file.toe_elevation_m / M_PER_FT;
        assert!(
            (water_ft - wanted_ft).abs() < 0.11,
            "{}: {water_ft} {wanted_ft}",
            ramp.id
        );
        // 3 ft of water to launch, by the boat of the lake file.
        assert_eq!(ramp.usable, Some(water_ft >= 3.0), "{}: {water_ft}", ramp.id);
    }
}

/// Every set depth lies in its band, within the limits where it says so, and at first light by up to ten feet shallower (common practice, no
/// source), never below.
pub(super) fn assert_depths(brief: &Brief) {
    let mut known = 0;
    for zone in brief.plan.depth.iter().flat_map(|d| &d.zones) {
        let Some(set_m) = zone.set_m else { continue };
        known += 1;
        let (top_m, bottom_m) = zone.band_top_m.zip(zone.band_bottom_m).expect("a band");
        // Nothing is set above 1.5 m, where the ball would be in the wash of the boat.
        assert!(top_m <= set_m.max(1.5) && set_m <= bottom_m.max(1.5), "{zone:?}");
        if !zone.outside_limits
            && let Some(limits) = &zone.within_limits
        {
            assert!(
                limits.iter().any(|r| r.top_m <= set_m && set_m <= r.bottom_m),
                "{zone:?}"
            );
        }
        let rise_m = set_m - zone.first_light_m.expect("a depth for first light");
        assert!((0.0..=10.0 * M_PER_FT).contains(&rise_m), "{zone:?}");
    }
    assert!(known >= 4, "two species in two zones at least: {known}");
}

/// The second place is tried after the first has had half an hour a rung of the ladder (common practice, no source) from civil dawn on, or from the
/// arrival where that is later. `dawn` is that of astral 3.2 (Python) for the middle of the lake, which agrees to half a minute.
pub(super) fn assert_second(brief: &Brief, dawn: DateTime<Utc>, rungs: i64) {
    for order in &brief.plan.order {
        let (at, first) = match order.second.as_ref().expect("a second place") {
            SecondChoice::Zone { at, zone, .. } => {
                assert_ne!(*zone, order.places[0].zone);
                (*at, &order.places[0])
            }
            SecondChoice::SameZone { at, .. } => (*at, &order.places[0]),
        };
        let run = Duration::seconds((3600.0 * first.run_h.unwrap_or(0.0)) as i64);
        let leave_at = brief
            .plan
            .pace
            .as_ref()
            .map_or(brief.plan.hours.from, |pace| pace.leave_at);
        let begun = dawn.max(leave_at + run);
        let off_s = (at - begun - Duration::minutes(30 * rungs)).num_seconds().abs();
        assert!(off_s <= 30, "{}: {at}, {off_s} s off", order.species);
    }
}

/// Depth of a 10 lb ball of lead on stranded wire of 0.03 in (lake file) with so much cable out: the closed form of the cable equation
/// with constant tension, `(T / R) (asinh tan th_1 - asinh tan th_0)`, on its own constants (fresh water of 12 degC by the tables
/// 999.5 kg/m3, lead 11340 kg/m3, drag coefficients of Hoerner and the towed-cable tests, 0.47 and 1.5).
fn ball_depth_m(cable_out_m: f64, speed_m_s: f64) -> f64 {
    let (water, lead, mass_kg) = (999.5, 11_340.0, 10.0 * 0.453_592_37);
    let diameter_m = (6.0 * mass_kg / (std::f64::consts::PI * lead)).cbrt();
    let pressure = 0.5 * water * speed_m_s * speed_m_s;
    let weight_n = mass_kg * 9.806_65 * (1.0 - water / lead);
    let drag_n = pressure * 0.47 * std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
    let across_n_per_m = pressure * 1.5 * 0.03 * 0.0254;
    let tension_n = (weight_n * weight_n + drag_n * drag_n).sqrt();
    let t0 = drag_n / weight_n;
    let t1 = t0 + across_n_per_m * cable_out_m / tension_n;
    tension_n / across_n_per_m * (t1.asinh() - t0.asinh())
}

/// Every figure of cable takes the ball to its depth by the closed form, within 1 cm for the rounding of the constants, and is the longer the
/// faster the boat goes.
pub(super) fn assert_cable(brief: &Brief) {
    let rows = &brief.plan.set_depth.rows;
    assert!(rows.len() >= 6, "{rows:?}");
    for row in rows {
        let out_m = row.cable_out_m.expect("120 m of cable reach");
        assert!(out_m >= row.depth_m, "{row:?}");
        let depth_m = ball_depth_m(out_m, row.speed_m_s);
        assert!((depth_m - row.depth_m).abs() < 0.01, "{depth_m} m for {row:?}");
    }
    for pair in rows.windows(2).filter(|pair| pair[0].depth_m == pair[1].depth_m) {
        assert!(
            pair[0].speed_m_s < pair[1].speed_m_s && pair[0].cable_out_m < pair[1].cable_out_m,
            "{pair:?}"
        );
    }
}

/// The level's fall of a week, ft, by docs/demonstration-lake.md, and that 2 ft of it make a caution (project choice, config/cautions.toml).
pub(super) fn assert_fall(brief: &Brief, fall_ft: f64) {
    let found_ft = -figure(brief, Hazard::ChangingLevel, "pool_change_7d_m") / M_PER_FT;
    assert!((found_ft - fall_ft).abs() < 0.16 && found_ft >= 2.0, "{found_ft}");
}

/// The coldest water of the way is that of the river `truth_degc` (docs/demonstration-lake.md), which readings of the day before and an error of
/// 1.5 degC stand for; strong below 60 degF, severe below 50 degF (National Weather Service).
pub(super) fn assert_cold(brief: &Brief, truth_degc: f64) {
    let found_degc = figure(brief, Hazard::ColdWater, "water_temp_degc");
    assert!((found_degc - truth_degc).abs() < 1.5, "{found_degc} {truth_degc}");
    let degf = 32.0 + 1.8 * found_degc;
    let wanted = if degf < 50.0 {
        CautionLevel::Severe
    } else {
        CautionLevel::Strong
    };
    assert!(
        degf < 60.0 && caution(brief, Hazard::ColdWater).level == wanted,
        "{degf}"
    );
}

/// Wind and gust of the caution in knots.
pub(super) fn wind_kt(brief: &Brief) -> [f64; 2] {
    ["wind_speed_m_s", "wind_gust_m_s"].map(|key| figure(brief, Hazard::Wind, key) / M_S_PER_KT)
}

/// Height of the waves of the caution, m, no less than that of the Shore Protection Manual (1984, eq. 3-33a) over a kilometre, no more than twice that
/// over the 5.5 miles of the thalweg from dam to head of the main body: H = 5.112e-4 U_A F^0.5, U_A = 0.71 U^1.23.
pub(super) fn assert_waves(brief: &Brief, wind_m_s: f64) {
    let found_m = figure(brief, Hazard::Waves, "wave_height_m");
    let height_m = |fetch_m: f64| 5.112e-4 * 0.71 * wind_m_s.powf(1.23) * fetch_m.sqrt();
    let (least_m, most_m) = (height_m(1000.0), 2.0 * height_m(5.5 * 1609.344));
    assert!(
        (least_m..most_m).contains(&found_m),
        "{least_m} {found_m} {most_m}"
    );
    // No wave is steeper than 1 in 7 (Miche 1944, from memory); its length is g T^2 / 2 pi.
    let period_s = figure(brief, Hazard::Waves, "wave_period_s");
    let length_m = 9.81 * period_s * period_s / std::f64::consts::TAU;
    assert!(found_m / length_m < 1.0 / 7.0, "{found_m} {length_m}");
}
