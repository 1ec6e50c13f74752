//! Suitability curves, usable water and the depth band against the rows F-HSI, F-HAB and F-35-60.
//!
//! Not checked here, for the program does not have them: the bioenergetic functions (F-TL, F-K77).

use plungeline::column::{ProfileBasis, ZoneWater};
use plungeline::lake::ZoneId;
use plungeline::math::interpolate::{linear, trapezoid};
use plungeline::math::roots::bisect;
use plungeline::species::{Curve, NamedCurve, Species, builtin};
use plungeline::units::M_PER_FT;
use plungeline::whereabouts::depth::depth_band;
use plungeline::whereabouts::habitat::ZoneHabitat;
use plungeline::whereabouts::hard_band::{Limits, Profile, volume_m3, within_limits};

use crate::published::row;

/// Table P1 of the check rows (synthetic); areas in ha, so volumes are in ha m.
const P1_DEPTH_M: [f64; 9] = [0.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0, 40.0];
const P1_TEMP_DEGC: [f64; 9] = [25.0, 25.0, 23.0, 20.0, 16.5, 13.0, 10.5, 9.0, 8.5];
const P1_OXYGEN_MG_L: [f64; 9] = [8.0, 8.0, 7.5, 7.0, 6.5, 6.0, 5.0, 4.0, 2.0];
const P1_AREA_DEPTH_M: [f64; 5] = [0.0, 10.0, 20.0, 30.0, 40.0];
const P1_AREA_HA: [f64; 5] = [1000.0, 700.0, 400.0, 200.0, 50.0];
/// Table P2 of the check rows (synthetic).
const P2_DEPTH_M: [f64; 5] = [0.0, 6.096, 10.668, 18.288, 40.0];
const P2_TEMP_DEGC: [f64; 5] = [24.5, 24.5, 15.0, 11.0, 8.0];

fn p1_area_ha() -> Vec<f64> {
    P1_DEPTH_M
        .iter()
        .map(|z| linear(&P1_AREA_DEPTH_M, &P1_AREA_HA, *z).unwrap())
        .collect()
}

fn p1_within(limits: Limits) -> (f64, f64, f64) {
    let profile = Profile {
        depth_m: &P1_DEPTH_M,
        temp_degc: &P1_TEMP_DEGC,
        oxygen_mg_l: Some(&P1_OXYGEN_MG_L),
    };
    let ranges = within_limits(profile, limits);
    assert_eq!(ranges.len(), 1, "{ranges:?}");
    let volume = volume_m3(&P1_DEPTH_M, &p1_area_ha(), &ranges);
    (ranges[0].top_m, ranges[0].bottom_m, volume)
}

#[test]
fn rainbow_suitability_follows_the_published_curves() {
    let rainbow = builtin("rainbow-trout").unwrap();
    for (id, temp_degc) in [
        ("F-HSI-RBT-T4", 4.0),
        ("F-HSI-RBT-T10.6", 10.6),
        ("F-HSI-RBT-T20", 20.0),
        ("F-HSI-RBT-T22.5", 22.5),
    ] {
        row(id).assert(&[rainbow.suitability(temp_degc, None).unwrap()]);
    }
    // At 15 degC temperature alone gives 1, and the cold curve holds; just above it the warm one.
    row("F-HSI-RBT-DOc").assert(&[rainbow.suitability(15.0, Some(4.3)).unwrap()]);
    row("F-HSI-RBT-DOw").assert(&[rainbow.suitability(15.1, Some(6.5)).unwrap()]);
}

#[test]
fn chinook_suitability_follows_the_published_curves_where_they_are_chosen() {
    let kings = builtin("landlocked-chinook").unwrap();
    let adult = kings.clone().with_temperature_curve("river-adult").unwrap();
    for (id, temp_degc) in [
        ("F-HSI-CHK-A6", 6.0),
        ("F-HSI-CHK-A15", 15.0),
        ("F-HSI-CHK-A18", 18.0),
        ("F-HSI-CHK-A21", 21.0),
    ] {
        row(id).assert(&[adult.suitability(temp_degc, None).unwrap()]);
    }
    let juvenile = kings.with_temperature_curve("juvenile").unwrap();
    row("F-HSI-CHK-J21").assert(&[juvenile.suitability(21.0, None).unwrap()]);
    assert_eq!(juvenile.with_temperature_curve("no such curve"), None);
}

#[test]
fn any_curve_of_points_is_read_off_the_same_way() {
    // Points of the curve of the check row of Chinook spawning, which no rule uses.
    let spawning = Curve::new(vec![
        (0.0, 0.0),
        (4.5, 1.0),
        (13.0, 1.0),
        (16.0, 0.0),
        (20.0, 0.0),
    ])
    .unwrap();
    row("F-HSI-CHK-SP").assert(&[spawning.at(14.2)]);
    let smallmouth = builtin("smallmouth-bass").unwrap();
    row("F-HSI-SMB").assert(&[smallmouth.suitability(18.0, None).unwrap()]);
}

#[test]
fn usable_water_has_exact_edges_and_volumes() {
    let limits = Limits {
        temp_min_degc: None,
        temp_max_degc: 21.0,
        oxygen_min_mg_l: Some(5.0),
    };
    let (top_m, bottom_m, volume) = p1_within(limits);
    row("F-HAB-top").assert(&[top_m]);
    row("F-HAB-bot").assert(&[bottom_m]);
    row("F-HAB-vol").assert(&[volume]);
    row("F-HAB-frac").assert(&[volume / trapezoid(&P1_DEPTH_M, &p1_area_ha())]);
    row("F-HAB-vol3").assert(&[p1_within(Limits {
        oxygen_min_mg_l: Some(3.0),
        ..limits
    })
    .2]);
}

#[test]
fn the_kings_preferred_band_has_exact_edges_and_volume() {
    let limits = Limits {
        temp_min_degc: Some(11.0),
        temp_max_degc: 15.0,
        oxygen_min_mg_l: Some(5.0),
    };
    let (top_m, bottom_m, volume) = p1_within(limits);
    row("F-HAB-kb").assert(&[top_m, bottom_m]);
    row("F-HAB-kv").assert(&[volume]);
}

/// The species of the rows F-HAB-soft: adult Chinook by temperature, oxygen by `clamp((DO - 3) / 3, 0, 1)`.
fn soft_species() -> Species {
    let mut species = builtin("landlocked-chinook")
        .unwrap()
        .with_temperature_curve("river-adult")
        .unwrap();
    let curve = Curve::new(vec![(3.0, 0.0), (6.0, 1.0)]).unwrap();
    let oxygen = species.oxygen.as_mut().unwrap();
    for named in [&mut oxygen.cold, &mut oxygen.warm] {
        *named = NamedCurve {
            curve: curve.clone(),
            ..named.clone()
        };
    }
    species
}

#[test]
fn soft_habitat_has_the_volume_and_the_depths_of_a_fine_quadrature() {
    let water = ZoneWater {
        zone: ZoneId::new("main"),
        depth_m: P1_DEPTH_M.to_vec(),
        area_m2: Some(p1_area_ha()),
        temp_degc: vec![P1_TEMP_DEGC.to_vec()],
        oxygen_mg_l: Some(vec![P1_OXYGEN_MG_L.to_vec()]),
        parts: Vec::new(),
        max_depth_m: Some(40.0),
        volume_m3: None,
        basis: ProfileBasis::SeasonOnly,
        closed: false,
    };
    let habitat = ZoneHabitat::new(&water, &soft_species()).unwrap();
    let volume = habitat.members[0].soft_volume_m3.unwrap();
    row("F-HAB-soft").assert(&[volume]);
    let area = habitat.area_m2.as_ref().unwrap();
    let moment: Vec<f64> = (0..area.len())
        .map(|i| habitat.depth_m[i] * area[i] * habitat.suitability[0][i])
        .collect();
    row("F-HAB-softz").assert(&[trapezoid(&habitat.depth_m, &moment) / volume]);
    let band = depth_band(&habitat, 1.0, 0.0).unwrap();
    row("F-HAB-softq").assert(&[band.top_m, band.middle_m, band.bottom_m]);
}

#[test]
fn kings_in_the_dead_of_summer_stand_where_common_practice_puts_them() {
    for (id, depth_ft) in [
        ("F-35-60-20", 20.0),
        ("F-35-60-30", 30.0),
        ("F-35-60-45", 45.0),
        ("F-35-60-60", 60.0),
        ("F-35-60-100", 100.0),
    ] {
        row(id).assert(&[linear(&P2_DEPTH_M, &P2_TEMP_DEGC, depth_ft * M_PER_FT).unwrap()]);
    }
    let isotherms_ft = |warm_degc, cold_degc| {
        let profile = Profile {
            depth_m: &P2_DEPTH_M,
            temp_degc: &P2_TEMP_DEGC,
            oxygen_mg_l: None,
        };
        let limits = Limits {
            temp_min_degc: Some(cold_degc),
            temp_max_degc: warm_degc,
            oxygen_min_mg_l: None,
        };
        let ranges = within_limits(profile, limits);
        [ranges[0].top_m / M_PER_FT, ranges[0].bottom_m / M_PER_FT]
    };
    row("F-35-60-band").assert(&isotherms_ft(15.0, 11.0));
    row("F-35-60-fws").assert(&isotherms_ft(12.0, 8.0));
}

#[test]
fn a_smooth_profile_through_both_edges_of_the_band_is_found_by_roots() {
    let (upper_m, lower_m) = (35.0 * M_PER_FT, 60.0 * M_PER_FT);
    let temp_degc =
        |z_m: f64, middle_m: f64, width_m: f64| 9.0 + 16.0 / (1.0 + ((z_m - middle_m) / width_m).exp());
    // 1e-9 m is far below the row's 1e-4 m.
    let middle_m = |width_m: f64| {
        bisect(
            |middle_m| temp_degc(upper_m, middle_m, width_m) - 15.0,
            0.0,
            40.0,
            1e-9,
        )
        .unwrap()
    };
    let misses_degc = |width_m: f64| temp_degc(lower_m, middle_m(width_m), width_m) - 11.0;
    let width_m = bisect(misses_degc, 1.0, 15.0, 1e-9).unwrap();
    row("F-35-60-log").assert(&[width_m, middle_m(width_m)]);
}
