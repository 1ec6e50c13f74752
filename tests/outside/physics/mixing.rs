//! Diffusion, convection, withdrawal, ice, the work of mixing.

use plungeline::physics::mixing::*;
use plungeline::physics::water::water_density_kg_m3;
use proptest::prelude::*;

use crate::published::row;

#[test]
fn wind_against_heat_mixes_to_the_published_length() {
    let flux = buoyancy_flux_m2_s3(150.0, 15.0);
    row("P4-MO").assert(&[monin_obukhov_m(0.006, flux).unwrap()]);
    assert_eq!(monin_obukhov_m(0.006, buoyancy_flux_m2_s3(-150.0, 15.0)), None);
    // Under 3.98 degC warming makes water heavier.
    assert!(buoyancy_flux_m2_s3(150.0, 2.0) < 0.0);
}

#[test]
fn the_background_the_outlet_and_the_ice_are_as_published() {
    row("P4-KZ").assert(&[background_diffusivity_m2_s(20.0, 1e-4)]);
    assert_eq!(background_diffusivity_m2_s(1e-9, 1.0), MOLECULAR_M2_S);
    row("P3-WSTR").assert(&[sheltering_frac(5.0)]);
    row("P4-WD").assert(&[withdrawal_height_m(30.0, 1.0, std::f64::consts::PI)]);
    row("P4-STEFAN").assert(&[ice_thickness_m(0.0, 86_400.0)]);
}

#[test]
fn three_layers_upside_down_end_as_one() {
    let mut temp = [10.0, 12.0, 11.0];
    convective_adjustment(&[3.0, 2.0, 1.0], &mut temp);
    for found in temp {
        row("P4-ADJ").assert(&[found]);
    }
}

#[test]
fn winter_water_lies_colder_over_warmer() {
    let mut temp = [1.0, 2.0, 3.9];
    convective_adjustment(&[1.0; 3], &mut temp);
    assert_eq!(temp, [1.0, 2.0, 3.9]);
}

#[test]
fn mixing_a_warm_layer_into_cold_water_takes_the_published_work() {
    // A prism of a square metre: 10 m of 20 degC over 20 m of 8 degC, elevations from the bed.
    let layers = [
        MixedLayer {
            volume_m3: 10.0,
            elevation_m: 25.0,
            temp_degc: 20.0,
        },
        MixedLayer {
            volume_m3: 20.0,
            elevation_m: 10.0,
            temp_degc: 8.0,
        },
    ];
    row("P4-PE").assert(&[mixing_work_j(&layers).unwrap()]);
    assert_eq!(mixing_work_j(&[]), None);
}

/// The slow, obvious way: mix the first unstable pair whole, with all that equals them, until none is left.
fn adjusted_slowly(volume: &[f64], temp: &mut [f64]) {
    let mut group: Vec<usize> = (0..temp.len()).collect();
    loop {
        let unstable = (1..temp.len()).find(|i| {
            group[*i] != group[*i - 1] && water_density_kg_m3(temp[*i - 1]) > water_density_kg_m3(temp[*i])
        });
        let Some(i) = unstable else { return };
        let (a, b) = (group[i - 1], group[i]);
        let members: Vec<usize> = (0..temp.len())
            .filter(|k| group[*k] == a || group[*k] == b)
            .collect();
        let whole: f64 = members.iter().map(|k| volume[*k]).sum();
        let heat: f64 = members.iter().map(|k| volume[*k] * temp[*k]).sum();
        for k in members {
            group[k] = a;
            temp[k] = heat / whole;
        }
    }
}

proptest! {
    #[test]
    fn adjustment_is_stable_keeps_heat_and_agrees_with_the_slow_way(
        layers in proptest::collection::vec((0.1..5.0f64, 0.0..30.0f64), 1..30)
    ) {
        let (volume, temp): (Vec<f64>, Vec<f64>) = layers.into_iter().unzip();
        let heat = |temp: &[f64]| volume.iter().zip(temp).map(|(v, t)| v * t).sum::<f64>();
        let mut found = temp.clone();
        convective_adjustment(&volume, &mut found);
        // Sums of thirty terms: a few units of the fourteenth figure.
        prop_assert!((heat(&found) - heat(&temp)).abs() <= 1e-12 * heat(&temp).max(1.0));
        for pair in found.windows(2) {
            prop_assert!(water_density_kg_m3(pair[0]) <= water_density_kg_m3(pair[1]));
        }
        // Over 3.98 degC only, where density falls with temperature alone, the order of mixing does not matter.
        if temp.iter().all(|t| *t > 4.5) {
            let mut slowly = temp.clone();
            adjusted_slowly(&volume, &mut slowly);
            for (a, b) in found.iter().zip(&slowly) {
                prop_assert!((a - b).abs() < 1e-9, "{found:?} {slowly:?}");
            }
        }
    }
}
