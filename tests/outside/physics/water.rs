//! Density, heat and viscosity of water.

use plungeline::physics::water::*;

use crate::published::row;

#[test]
fn salt_makes_water_heavier_as_in_the_equation_of_state() {
    row("P1-RHO-S").assert(&[salt_water_density_kg_m3(10.0, 0.2) - salt_water_density_kg_m3(10.0, 0.0)]);
    row("P1-SC").assert(&[solids_from_conductance_g_kg(1000.0)]);
    assert_eq!(salt_water_density_kg_m3(10.0, 0.0), water_density_kg_m3(10.0));
}

#[test]
fn pressure_lowers_the_temperature_of_greatest_density() {
    row("P1-TMD-50").assert(&[max_density_temp_degc(50.0)]);
    row("P1-TMD").assert(&[max_density_temp_degc(0.0)]);
}

#[test]
fn the_expansivity_is_the_slope_of_the_density() {
    row("P1-ALPHA-15").assert(&[water_expansivity_per_k(15.0)]);
    row("P1-ALPHA-10").assert(&[water_expansivity_per_k(10.0)]);
    // Against a difference quotient: the second route.
    for temp_degc in [0.5, 3.0, 3.98, 12.0, 28.0] {
        let slope = (water_density_kg_m3(temp_degc + 1e-4) - water_density_kg_m3(temp_degc - 1e-4)) / 2e-4;
        let wanted = -slope / water_density_kg_m3(temp_degc);
        // The difference quotient itself is good to about 1e-9.
        assert!(
            (water_expansivity_per_k(temp_degc) - wanted).abs() < 3e-9,
            "{temp_degc}"
        );
    }
}

#[test]
fn heat_and_viscosity_agree_with_iapws() {
    for (id, temp_degc) in [
        ("P1-CP-0", 0.0),
        ("P1-CP-10", 10.0),
        ("P1-CP-20", 20.0),
        ("P1-CP-30", 30.0),
    ] {
        row(id).assert(&[water_specific_heat_j_kg_k(temp_degc)]);
    }
    for (id, temp_degc) in [
        ("P1-MU-0", 0.0),
        ("P1-MU-10", 10.0),
        ("P1-MU-20", 20.0),
        ("P1-MU-30", 30.0),
    ] {
        row(id).assert(&[1000.0 * water_viscosity_pa_s(temp_degc)]);
    }
    for (id, temp_degc) in [("P1-LV-10", 10.0), ("P1-LV-20", 20.0)] {
        row(id).assert(&[vaporisation_heat_j_kg(temp_degc) / 1000.0]);
    }
    row("P1-LF").assert(&[FUSION_HEAT_J_KG / 1000.0]);
}

#[test]
fn the_one_heat_capacity_of_all_budgets_is_near_the_true_one() {
    for temp_degc in [0.0, 5.0, 10.0, 20.0, 30.0] {
        let truth = water_density_kg_m3(temp_degc) * water_specific_heat_j_kg_k(temp_degc);
        // 0.9 % is what its doc says.
        assert!((HEAT_CAPACITY_J_M3_K / truth - 1.0).abs() < 0.009, "{temp_degc}");
    }
}
