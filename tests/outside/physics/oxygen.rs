//! Oxygen: saturation, exchange, demand.

use plungeline::physics::atmosphere::standard_pressure_pa;
use plungeline::physics::oxygen::*;

use crate::published::row;

/// Standard atmosphere, Pa; mm of mercury, Pa (both exact by convention, NIST SP 811).
const ATM_PA: f64 = 101_325.0;
const MMHG_PA: f64 = 133.322_387_415;

fn fresh(temp_degc: f64, pressure_pa: f64) -> f64 {
    oxygen_saturation_mg_l(OxygenState {
        temp_degc,
        solids_g_kg: 0.0,
        pressure_pa,
    })
}

#[test]
fn saturation_at_one_atmosphere_is_that_of_the_tables() {
    for temp_degc in [0, 5, 10, 15, 20, 25, 30, 35] {
        row(&format!("P1-DO-{temp_degc}")).assert(&[fresh(f64::from(temp_degc), ATM_PA)]);
    }
}

#[test]
fn saturation_falls_with_pressure_by_more_than_the_ratio() {
    row("P1-DO-P07").assert(&[fresh(20.0, 0.7 * ATM_PA)]);
    row("P1-DO-FP").assert(&[fresh(20.0, 0.7 * ATM_PA) / (0.7 * fresh(20.0, ATM_PA))]);
    row("P1-DO-700-10").assert(&[fresh(10.0, 700.0 * MMHG_PA)]);
    row("P1-DO-650-15").assert(&[fresh(15.0, 650.0 * MMHG_PA)]);
    row("P1-DO-600-20").assert(&[fresh(20.0, 600.0 * MMHG_PA)]);
    row("P1-PZ-1500").assert(&[standard_pressure_pa(1500.0) / 1000.0]);
    row("P1-DO-Z").assert(&[fresh(10.0, standard_pressure_pa(1500.0))]);
}

#[test]
fn oxygen_goes_through_the_surface_as_published() {
    row("P8-SC20").assert(&[oxygen_schmidt_number(20.0)]);
    row("P8-SC20B").assert(&[oxygen_schmidt_number_2014(20.0)]);
    row("P8-K").assert(&[oxygen_transfer_m_s(5.0, 20.0) * 86_400.0]);
}

#[test]
fn demand_follows_temperature_and_thickness() {
    row("P8-TH").assert(&[rate_factor(1.08, 12.0)]);
    row("P8-VHOD").assert(&[volumetric_demand_mg_l_day(0.5, 15.0)]);
}

#[test]
fn a_closed_bottom_layer_loses_oxygen_exponentially_and_never_below_none() {
    let layer = BottomLayer {
        demand_g_m2_day: 0.5,
        thickness_m: 15.0,
        exchange_m_per_day: 0.05,
        above_mg_l: 9.0,
        start_mg_l: 9.5,
    };
    row("P8-2L").assert(&[layer.oxygen_mg_l(60.0 * 86_400.0)]);
    // Its steady state is -1, which no water has.
    assert_eq!(layer.oxygen_mg_l(3000.0 * 86_400.0), 0.0);
    // Without exchange a straight line: 9.5 - 0.5/15 x 60 = 7.5 mg/L.
    let closed = BottomLayer {
        exchange_m_per_day: 0.0,
        ..layer
    };
    assert!((closed.oxygen_mg_l(60.0 * 86_400.0) - 7.5).abs() < 1e-12);
}
