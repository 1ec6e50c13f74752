//! A column of layers against solutions of the diffusion equation and of convective deepening.

use plungeline::column::layered::{
    Column, Convection, Diffusion, Grid, LayerFlows, MixingEfficiency, SurfaceStress, Transport, Water,
    WindMixing, conductance_m3,
};
use plungeline::lake::Hypsography;
use plungeline::physics::mixing::buoyancy_flux_m2_s3;
use plungeline::physics::water::HEAT_CAPACITY_J_M3_K;

use crate::published::{Row, row};

const DAY_S: f64 = 86_400.0;
const AREA_M2: f64 = 1e6;

/// A basin of upright sides, `deep_m`, in layers of `thick_m`, full to the brim less a hundredth of a layer.
fn prism(deep_m: f64, thick_m: f64) -> Grid {
    let table = Hypsography::from_areas(vec![0.0, deep_m + 10.0], vec![AREA_M2, AREA_M2]);
    let count = (deep_m / thick_m).round() as usize;
    let faces = (0..=count).map(|i| i as f64 * thick_m).collect();
    Grid::new(table, faces).unwrap()
}

fn water(temp_degc: f64) -> Water {
    Water {
        temp_degc,
        oxygen_mg_l: 9.0,
        river_frac: 0.0,
    }
}

/// A column full to `deep_m` with temperatures by depth.
fn column(grid: &Grid, deep_m: f64, temp_degc: impl Fn(f64) -> f64) -> Column<1> {
    Column::filled(grid, [deep_m], |elevation_m, _| {
        water(temp_degc(deep_m - elevation_m))
    })
    .unwrap()
}

/// Runs diffusion with one diffusivity, `each` before every step.
fn diffuse(
    grid: &Grid,
    column: &mut Column<1>,
    diffusivity_m2_s: f64,
    [step_s, whole_s]: [f64; 2],
    mut each: impl FnMut(&mut Column<1>),
) {
    let everywhere = vec![[diffusivity_m2_s]; grid.layers() + 1];
    let mut conductances = vec![[0.0]; grid.layers() + 1];
    let mut solver = Diffusion::new(grid.layers());
    for _ in 0..(whole_s / step_s).round() as usize {
        each(column);
        conductance_m3(grid, column, &everywhere, step_s, &mut conductances);
        solver.step(
            &column.volume_m3.clone(),
            &conductances,
            &mut [&mut column.temp_degc],
        );
    }
}

/// Temperature at a depth, linear between the middles of layers.
fn at_depth(grid: &Grid, column: &Column<1>, deep_m: f64, depth_m: f64) -> f64 {
    let pairs: Vec<(f64, f64)> = (0..=column.top[0])
        .rev()
        .map(|i| (deep_m - column.middle_m(grid, i, 0), column.temp_degc[i][0]))
        .collect();
    let k = pairs.iter().position(|p| p.0 >= depth_m).unwrap().max(1);
    let ((z0, t0), (z1, t1)) = (pairs[k - 1], pairs[k]);
    t0 + (t1 - t0) * (depth_m - z0) / (z1 - z0)
}

fn assert_row(row: Row, found: f64) {
    row.assert(&[found]);
}

#[test]
fn a_gaussian_spreads_as_it_must() {
    let (deep_m, grid) = (60.0, prism(60.0, 0.1));
    let start = |z: f64| (-(z - 30.0f64).powi(2) / 2.0).exp();
    let mut column = column(&grid, deep_m, start);
    let peak = |c: &Column<1>| c.temp_degc.iter().map(|t| t[0]).fold(0.0, f64::max);
    let before = peak(&column);
    diffuse(&grid, &mut column, 1e-5, [600.0, 10.0 * DAY_S], |_| ());
    assert_row(row("P4-GAUSS"), peak(&column) / before);
}

#[test]
fn a_step_smooths_as_the_error_function() {
    let (deep_m, grid) = (80.0, prism(80.0, 0.1));
    let mut column = column(&grid, deep_m, |z| if z < 40.0 { 20.0 } else { 8.0 });
    diffuse(&grid, &mut column, 1e-5, [3600.0, 10.0 * DAY_S], |_| ());
    assert_row(row("P4-STEP"), at_depth(&grid, &column, deep_m, 45.0));
}

#[test]
fn a_steady_flux_warms_a_deep_column_as_the_half_space() {
    let (deep_m, grid) = (60.0, prism(60.0, 0.05));
    let mut column = column(&grid, deep_m, |_| 0.0);
    let (step_s, flux_w_m2) = (600.0, 100.0);
    diffuse(&grid, &mut column, 1e-5, [step_s, 10.0 * DAY_S], |column| {
        let top = column.top[0];
        let heat_j = flux_w_m2 * AREA_M2 * step_s;
        column.temp_degc[top][0] += heat_j / (HEAT_CAPACITY_J_M3_K * column.volume_m3[top][0]);
    });
    // The surface itself, half a layer above the middle of the first, by the slope of the first two.
    let top = column.top[0];
    let surface = 1.5 * column.temp_degc[top][0] - 0.5 * column.temp_degc[top - 1][0];
    assert_row(row("P4-FLUX0"), surface);
    assert_row(row("P4-FLUX2"), at_depth(&grid, &column, deep_m, 2.0));
}

#[test]
fn the_gravest_mode_of_a_closed_column_decays_as_it_must() {
    let (deep_m, grid) = (20.0, prism(20.0, 0.5));
    let mut column = column(&grid, deep_m, |z| 10.0 + (std::f64::consts::PI * z / 20.0).cos());
    let mode = |c: &Column<1>| c.temp_degc[c.top[0]][0] - 10.0;
    let before = mode(&column);
    diffuse(&grid, &mut column, 1e-5, [3600.0, 30.0 * DAY_S], |_| ());
    assert_row(row("P4-COS"), mode(&column) / before);
}

#[test]
fn upwelling_against_diffusion_comes_to_the_steady_profile() {
    // Water rises at 1e-6 m/s through 30 m between held ends; 0.1 m layers keep the donor cells' own diffusion
    // (w dz/2, 5e-8 m2/s) at half a per cent of K.
    let (deep_m, thick_m, grid) = (30.0, 0.1, prism(30.0, 0.1));
    let mut column = column(&grid, deep_m, |z| 1.0 - z / 30.0);
    // The ends are held once a step, so a step must not diffuse further than a layer: K dt < dz^2.
    let (mut transport, mut flows) = (Transport::new(grid.layers()), LayerFlows::new(grid.layers()));
    let step_s = 600.0;
    let rise_m3 = 1e-6 * AREA_M2 * step_s;
    diffuse(&grid, &mut column, 1e-5, [step_s, 600.0 * DAY_S], |column| {
        let (top, bottom) = (column.top[0], 0);
        flows.clear();
        flows.add(bottom, 0, rise_m3, water(0.0));
        flows.add(top, 0, -rise_m3, water(0.0));
        assert!(transport.step(&grid, column, &mut flows, [true]).is_ok());
        column.temp_degc[top][0] = 1.0;
        column.temp_degc[bottom][0] = 0.0;
    });
    // The ends are held at the middles of their layers.
    let (span_m, depth_m) = (30.0 - thick_m, 10.0 - 0.5 * thick_m);
    let found = at_depth(&grid, &column, deep_m, 10.0);
    // The row's own formula, with that span: it differs from the row by 0.3 %.
    let wanted = |span: f64, depth: f64| {
        ((-depth * 0.1f64).exp() - (-span * 0.1f64).exp()) / (1.0 - (-span * 0.1f64).exp())
    };
    assert!((wanted(30.0, 10.0) - 0.33476).abs() < 1e-5);
    assert_row(
        row("P4-ADV"),
        found * wanted(30.0, 10.0) / wanted(span_m, depth_m),
    );
}

#[test]
fn cooling_deepens_the_mixed_layer_as_its_heat_demands() {
    // dT/dz of N2 = 1e-4 at 15 degC, with the row's own B: N2 / (g alpha), alpha 1.509e-4 (P1-ALPHA-15).
    let gradient = 1e-4 / (9.80665 * 1.509e-4);
    let (deep_m, grid) = (60.0, prism(60.0, 0.25));
    let mut column = column(&grid, deep_m, |z| 15.0 - gradient * z);
    let (step_s, loss_w_m2) = (3600.0, 200.0);
    let mut convection = Convection::new(grid.layers());
    let mut lowest = 0;
    for _ in 0..(5.0 * DAY_S / step_s) as usize {
        let top = column.top[0];
        let heat_j = loss_w_m2 * AREA_M2 * step_s;
        column.temp_degc[top][0] -= heat_j / (HEAT_CAPACITY_J_M3_K * column.volume_m3[top][0]);
        lowest = convection.step(&mut column)[0];
    }
    assert_row(row("P4-CONV"), deep_m - grid.face_elevation_m()[lowest]);
}

/// Gradient of temperature of N2 = 1e-4 at 15 degC: `N2 / (g alpha)`, alpha 1.509e-4 (P1-ALPHA-15).
const GRADIENT_DEGC_M: f64 = 1e-4 / (9.80665 * 1.509e-4);

/// Heats the surface layer (cools it, below 0) and mixes, step by step; depth of the surface's water at the end, m.
fn mixed_depth_m(
    thick_m: f64,
    (heat_w_m2, friction_m_s): (f64, f64),
    efficiency: MixingEfficiency,
    (gradient, whole_s): (f64, f64),
    step_s: f64,
) -> f64 {
    let (deep_m, grid) = (60.0, prism(60.0, thick_m));
    let mut column = column(&grid, deep_m, |z| 15.0 - gradient * z);
    let mut convection = Convection::new(grid.layers());
    let mut wind = WindMixing::<1>::default();
    let mut lowest = column.top[0];
    for _ in 0..(whole_s / step_s).round() as usize {
        let top = column.top[0];
        let heat_j = heat_w_m2 * AREA_M2 * step_s;
        column.temp_degc[top][0] += heat_j / (HEAT_CAPACITY_J_M3_K * column.volume_m3[top][0]);
        let pool = convection.step(&mut column)[0];
        let stress = SurfaceStress {
            friction_m_s,
            buoyancy_loss_m2_s3: buoyancy_flux_m2_s3(-heat_w_m2, column.temp_degc[top][0]).max(0.0),
            shear_lasts_s: f64::INFINITY,
        };
        lowest = wind.step(&grid, &mut column, 0, (efficiency, stress), (pool, step_s));
    }
    deep_m - grid.face_elevation_m()[lowest]
}

#[test]
fn convection_that_entrains_deepens_as_its_efficiency_says() {
    let only = MixingEfficiency {
        convection_frac: 0.2,
        stirring_frac: 0.0,
        shear_frac: 0.0,
    };
    let found = mixed_depth_m(0.25, (-200.0, 0.0), only, (GRADIENT_DEGC_M, 5.0 * DAY_S), 3600.0);
    assert_row(row("P4-CONVA"), found);
}

#[test]
fn wind_deepens_a_stratified_tank_as_in_the_laboratory() {
    let efficiency = MixingEfficiency::default();
    let found = mixed_depth_m(
        0.25,
        (0.0, 0.01),
        efficiency,
        (GRADIENT_DEGC_M, 30.0 * 3600.0),
        1800.0,
    );
    assert_row(row("P4-KP"), found);
    // Half the step changes little: what is left of the energy of a step is lost, and that must not matter.
    let finer = mixed_depth_m(
        0.25,
        (0.0, 0.01),
        efficiency,
        (GRADIENT_DEGC_M, 30.0 * 3600.0),
        900.0,
    );
    let finest = mixed_depth_m(
        0.25,
        (0.0, 0.01),
        efficiency,
        (GRADIENT_DEGC_M, 30.0 * 3600.0),
        450.0,
    );
    assert!(
        (found - finer).abs() <= 0.03 * found && (finer - finest).abs() <= 0.02 * found,
        "{found} {finer} {finest}"
    );
}

#[test]
fn turbulence_over_shoals_is_lost_to_the_base() {
    // A wedge, area in proportion to the height z over its bed, 20 m deep; 20 degC over 19 from z0 = 15 m. Energy is for each
    // square metre, e = dt rho 0.5 C_N u*^3 (Kraus & Turner 1967), and lowering the base by dz lifts the heavier water of its
    // own area to the centre of the layer: integral of g drho (zc - z) dz from z to z0 = e, with drho V kept. By midpoints:
    let (surface, start) = (20.0f64, 15.0f64);
    let volume = |z: f64| 0.5 * (surface.powi(2) - z.powi(2));
    let centre = |z: f64| (surface.powi(3) - z.powi(3)) / 3.0 / volume(z);
    // Density at 20 degC of the row P1-RHO-20, and of 19 degC 998.408 kg/m3 (IAPWS-95, from memory).
    let (excess_kg_m3, density_kg_m3) = (0.201, 998.207);
    let mut left_j_m2 = 3600.0 * density_kg_m3 * 0.5 * 0.02f64.powi(3);
    let (mut z, dz) = (start, 1e-3);
    while left_j_m2 > 0.0 {
        let middle = z - 0.5 * dz;
        let now_kg_m3 = excess_kg_m3 * volume(start) / volume(middle);
        left_j_m2 -= 9.80665 * now_kg_m3 * (centre(middle) - middle) * dz;
        z -= dz;
    }
    let table = Hypsography::from_areas(
        (0..=300).map(|i| f64::from(i) * 0.1).collect(),
        (0..=300).map(|i| f64::from(i) * 1e4).collect(),
    );
    let faces = (0..=200).map(|i| f64::from(i) * 0.1).collect();
    let grid = Grid::new(table, faces).unwrap();
    let mut column = Column::<1>::filled(&grid, [19.999], |middle_m, _| {
        water(if middle_m > start { 20.0 } else { 19.0 })
    })
    .unwrap();
    let only = MixingEfficiency {
        convection_frac: 0.0,
        stirring_frac: 1.0,
        shear_frac: 0.0,
    };
    let stress = SurfaceStress {
        friction_m_s: 0.02,
        buoyancy_loss_m2_s3: 0.0,
        shear_lasts_s: f64::INFINITY,
    };
    let pool = Convection::new(grid.layers()).step(&mut column)[0];
    let mut wind = WindMixing::<1>::default();
    let lowest = wind.step(&grid, &mut column, 0, (only, stress), (pool, 3600.0));
    let found = grid.face_elevation_m()[lowest];
    // Within a layer of 0.1 m and the curve of density; with the surface's area for the base's it would go 1.3 m deeper.
    assert!((found - z).abs() < 0.15, "{found} {z}");
}

#[test]
fn wind_against_heat_mixes_as_deep_as_its_energy_goes() {
    // In a steady state the heat that comes in is mixed over h: 0.5 B h = 0.5 C_N u*^3 (Kraus & Turner 1967), so
    // h = C_N u*^3 / B; 0.5 x 0.006^3 / 5.31e-8 (B of the row P4-MO) = 2.03 m. Layers of 0.1 m; alpha rises a little as
    // the layer warms.
    let only = MixingEfficiency {
        convection_frac: 0.0,
        stirring_frac: 0.5,
        shear_frac: 0.0,
    };
    let found = mixed_depth_m(0.1, (150.0, 0.006), only, (0.0, 3.0 * 3600.0), 600.0);
    assert!((found - 2.03).abs() < 0.2, "{found}");
}
