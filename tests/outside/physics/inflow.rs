//! Rivers: plunge, entrainment, mixing, settling.

use plungeline::physics::inflow::*;
use plungeline::physics::water::water_density_kg_m3;

use crate::published::row;

/// Water of 8 degC in a lake of 18 degC.
fn pull() -> f64 {
    reduced_gravity_m_s2(water_density_kg_m3(8.0), water_density_kg_m3(18.0))
}

fn valley() -> TriangularChannel {
    TriangularChannel {
        half_angle_tan: 85f64.to_radians().tan(),
        slope: 0.004,
        drag_coefficient: 0.015,
    }
}

#[test]
fn a_cold_river_plunges_at_the_published_depths() {
    row("P6-GP").assert(&[pull()]);
    row("P6-HP05").assert(&[plunge_depth_m(0.5, pull(), 0.5).unwrap()]);
    // 1.3 (q^2/g')^(1/3) is F = 1.3^-1.5.
    row("P6-HP13").assert(&[plunge_depth_m(0.5, pull(), 1.3f64.powf(-1.5)).unwrap()]);
    row("P6-HPTRI").assert(&[valley().plunge_depth_m(50.0, pull(), 0.5).unwrap()]);
    // At the depth of the plunge the Froude number is the one asked for.
    let depth = plunge_depth_m(0.5, pull(), 0.5).unwrap();
    assert!((densimetric_froude(0.5 / depth, pull(), depth) - 0.5).abs() < 1e-12);
}

#[test]
fn a_warm_river_does_not_plunge() {
    assert_eq!(plunge_depth_m(0.5, -pull(), 0.5), None);
    assert_eq!(plunge_depth_m(0.5, 0.0, 0.5), None);
    assert_eq!(valley().plunge_depth_m(50.0, -pull(), 0.5), None);
    assert_eq!(valley().underflow(50.0, -pull()), None);
    let (warm, surface, bottom) = (
        water_density_kg_m3(20.0),
        water_density_kg_m3(18.0),
        water_density_kg_m3(8.0),
    );
    assert_eq!(inflow_path(warm, surface, bottom), InflowPath::Overflow);
    assert_eq!(
        inflow_path(water_density_kg_m3(12.0), surface, bottom),
        InflowPath::Interflow
    );
    assert_eq!(
        inflow_path(water_density_kg_m3(5.0), surface, bottom),
        InflowPath::Underflow
    );
    assert_eq!(inflow_path(surface + 0.01, surface, bottom), InflowPath::Weak);
}

#[test]
fn an_underflow_is_thinned_and_a_warm_river_spreads_as_published() {
    row("P6-UF").assert(&[underflow_front_m_s(0.5, 0.0123125)]);
    row("P6-OVER").assert(&[overflow_thickness_m(0.5, 7.2538e-3)]);
    let flow = valley().underflow(50.0, pull()).unwrap();
    row("P6-ENT").assert(&[flow.dilution(5000.0)]);
    // What the row says beside: Ri 3.861, E 7.613e-4, h0 6.544 m, h 11.112 m; to its last figure.
    assert!(
        (flow.richardson - 3.861).abs() < 5e-4 && (flow.entrainment - 7.613e-4).abs() < 5e-8,
        "{flow:?}"
    );
    assert!(
        (flow.start_depth_m - 6.544).abs() < 1e-3 && (flow.depth_m(5000.0) - 11.112).abs() < 1e-3,
        "{flow:?}"
    );
}

#[test]
fn waters_run_together_travel_and_sink_as_published() {
    row("P6-MIX").assert(&[mixed_temp_degc(&[(10.0, 8.0), (5.0, 18.0)]).unwrap()]);
    assert_eq!(mixed_temp_degc(&[(0.0, 8.0)]), None);
    row("P6-TT").assert(&[travel_time_s(5000.0 * 100.0 * 8.0, 50.0).unwrap() / 86_400.0]);
    let grain = Grain {
        diameter_m: 10e-6,
        density_kg_m3: 2650.0,
        water_kg_m3: water_density_kg_m3(15.0),
        viscosity_m2_s: 1.1386e-6,
    };
    row("P6-WS10").assert(&[grain.stokes_m_s() * 86_400.0]);
    // Ferguson & Church 2004 gives 6.79 m/d (the row's source column); to its last figure.
    assert!((grain.natural_m_s() * 86_400.0 - 6.79).abs() < 0.01);
    row("P6-RHOSS").assert(&[sediment_density_excess(15.0, 2650.0)]);
}
