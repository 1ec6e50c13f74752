//! Indices of stratification.

use plungeline::physics::stratification::*;
use plungeline::physics::water::water_density_kg_m3;

use crate::published::row;

/// Depths of a 30 m column, a metre apart.
fn metres() -> Vec<f64> {
    (0..=30).map(f64::from).collect()
}

/// The profile of the rows: `8 + 12/(1 + exp((z - 11)/1.5))`.
fn sigmoid_degc(depth_m: f64) -> f64 {
    8.0 + 12.0 / (1.0 + ((depth_m - 11.0) / 1.5).exp())
}

fn profile() -> (Vec<f64>, Vec<f64>) {
    let depth = metres();
    let temp = depth.iter().map(|z| sigmoid_degc(*z)).collect();
    (depth, temp)
}

/// Layers of a basin to `deep_m`, `count` of them, by its area and temperature at the middle of each.
fn layers(
    deep_m: f64,
    count: usize,
    area_m2: impl Fn(f64) -> f64,
    temp_degc: impl Fn(f64) -> f64,
) -> Vec<WaterLayer> {
    let thick_m = deep_m / count as f64;
    (0..count)
        .map(|i| {
            let depth_m = (i as f64 + 0.5) * thick_m;
            WaterLayer {
                depth_m,
                volume_m3: area_m2(depth_m) * thick_m,
                density_kg_m3: water_density_kg_m3(temp_degc(depth_m)),
            }
        })
        .collect()
}

fn two_layers(depth_m: f64) -> f64 {
    if depth_m < 10.0 { 20.0 } else { 8.0 }
}

/// Piecewise linear through points with depths increasing; the last value beyond them.
fn through(points: &[(f64, f64)], depth_m: f64) -> f64 {
    for pair in points.windows(2) {
        if depth_m <= pair[1].0 {
            let share = (depth_m - pair[0].0) / (pair[1].0 - pair[0].0);
            return pair[0].1 + share * (pair[1].1 - pair[0].1);
        }
    }
    points[points.len() - 1].1
}

#[test]
fn schmidt_stability_is_that_of_prism_cone_and_sigmoid() {
    let surface = 2e7;
    let of = |layers: &[WaterLayer]| schmidt_stability_j_m2(layers, surface).unwrap();
    row("P5-ST-PRISM").assert(&[of(&layers(30.0, 3000, |_| surface, two_layers))]);
    // A cone of 30 m: the area falls with the square of the height over the tip.
    let cone = |z: f64| surface * (1.0 - z / 30.0).powi(2);
    row("P5-ST-CONE").assert(&[of(&layers(30.0, 3000, cone, two_layers))]);
    row("P5-ST-SIG").assert(&[of(&layers(30.0, 3000, cone, sigmoid_degc))]);
    let centre = centre_of_volume_m(&layers(30.0, 3000, cone, two_layers)).unwrap();
    // A quarter of the height of a cone (geometry).
    assert!((centre - 7.5).abs() < 1e-3, "{centre}");
}

#[test]
fn stability_is_reckoned_to_the_bed_and_not_to_the_last_sensor() {
    let area = [
        (0.0, 1000.0),
        (2.3, 900.0),
        (2.5, 864.0),
        (4.2, 820.0),
        (5.8, 200.0),
        (7.0, 10.0),
    ];
    let temp = [28.0, 27.0, 26.4, 26.0, 25.4, 24.0, 23.3];
    let points: Vec<(f64, f64)> = temp.iter().enumerate().map(|(z, t)| (z as f64, *t)).collect();
    for (id, deep_m) in [("P5-ST-RLA7", 7.0), ("P5-ST-RLA6", 6.0)] {
        let layers = layers(deep_m, 7000, |z| through(&area, z), |z| through(&points, z));
        row(id).assert(&[schmidt_stability_j_m2(&layers, 1000.0).unwrap()]);
    }
}

#[test]
fn thermocline_metalimnion_and_mixed_layer_are_where_the_rows_have_them() {
    let (depth, temp) = profile();
    row("P5-TD").assert(&[thermocline_depth_m(&depth, &temp).unwrap()]);
    row("P5-TD").assert(&[seasonal_thermocline_depth_m(&depth, &temp).unwrap()]);
    let (top, bottom) = metalimnion_m(&depth, &temp).unwrap();
    row("P5-MT").assert(&[top]);
    row("P5-MB").assert(&[bottom]);
    row("P5-ML").assert(&[mixed_depth_m(&depth, &temp, MIXED_LAYER_KG_M3).unwrap()]);
    // By a degree a metre the ends are others. A tenth of a metre, as fine as the row's root.
    let fine: Vec<f64> = (0..=300).map(|k| f64::from(k) * 0.1).collect();
    let colder: Vec<f64> = fine.iter().map(|z| -sigmoid_degc(*z)).collect();
    let (top, bottom) = layer_of_change_m(&fine, &colder, 1.0).unwrap();
    row("P5-T1-TOP").assert(&[top]);
    row("P5-T1-BOT").assert(&[bottom]);
    let finest: Vec<f64> = (0..=3000).map(|k| f64::from(k) * 0.01).collect();
    let temp: Vec<f64> = finest.iter().map(|z| sigmoid_degc(*z)).collect();
    let most = buoyancy_frequency(&finest, &temp)
        .into_iter()
        .map(|(_, n2)| n2)
        .fold(0.0, f64::max);
    row("P5-N2").assert(&[most]);
}

#[test]
fn a_warm_skin_of_the_day_is_not_the_thermocline_of_the_season() {
    let (depth, mut temp) = profile();
    // 3 degC more in the first metre: steeper than anything below.
    temp[0] += 3.0;
    let steepest = thermocline_depth_m(&depth, &temp).unwrap();
    let season = seasonal_thermocline_depth_m(&depth, &temp).unwrap();
    assert!((season - 10.34).abs() < 0.1, "{season}");
    assert!((steepest - 10.34).abs() < 0.1 || steepest < 1.0, "{steepest}");
}

#[test]
fn a_mixed_column_has_no_thermocline() {
    let depth = metres();
    let temp = vec![8.0; depth.len()];
    assert_eq!(thermocline_depth_m(&depth, &temp), None);
    assert_eq!(metalimnion_m(&depth, &temp), None);
    assert_eq!(mixed_depth_m(&depth, &temp, MIXED_LAYER_KG_M3), None);
    assert_eq!(schmidt_stability_j_m2(&[], 1.0), None);
}

#[test]
fn wind_is_held_against_stratification_as_published() {
    let friction = water_friction_m_s(5.0, 1.3e-3, 1.2 / 998.2);
    row("P5-USTAR").assert(&[friction]);
    let two = TwoLayers {
        upper_kg_m3: water_density_kg_m3(20.0),
        lower_kg_m3: water_density_kg_m3(8.0),
        upper_m: 10.0,
        lower_m: 20.0,
        length_m: 5000.0,
    };
    row("P5-W5").assert(&[two.wedderburn(friction)]);
    row("P5-W12").assert(&[two.wedderburn(water_friction_m_s(12.0, 1.3e-3, 1.2 / 998.2))]);
    row("P5-SEICHE").assert(&[two.seiche_period_s() / 3600.0]);
    // Setup and Wedderburn number are one thing: h / (2 W).
    assert!((two.setup_m(friction) - 10.0 / (2.0 * two.wedderburn(friction))).abs() < 1e-9);
    let lake = LakeNumber {
        stability_j_m2: 358.52,
        centre_m: 7.5,
        metalimnion_m: (8.0, 14.0),
        hypolimnion_kg_m3: 999.851,
        surface_area_m2: 2e7,
    };
    row("P5-LN").assert(&[lake.value(friction)]);
}

#[test]
fn a_tenth_of_a_kilogram_is_more_degrees_in_colder_water() {
    for bottom in [4, 6, 8, 10, 12, 15] {
        row(&format!("P5-DT-{bottom}"))
            .assert(&[warmer_by_degc(f64::from(bottom), TURNED_OVER_KG_M3).unwrap()]);
    }
}
