//! Ice, oxygen, the warmth of the bed and internal waves of a column against closed solutions.

use plungeline::column::forcing::Weather;
use plungeline::column::layered::{
    BedHeat, Column, ColumnParameters, Grid, ModelFactors, OxygenDemand, Water, add_waves, aerate,
    densities_kg_m3, stability_per_s2, step_ice, take_up,
};
use plungeline::lake::Hypsography;

use crate::published::row;

const DAY_S: f64 = 86_400.0;
const HOUR_S: f64 = 3600.0;

/// A basin of upright sides in layers of 10 m, full.
fn basin(layers: usize, (temp_degc, oxygen_mg_l): (f64, f64)) -> (Grid, Column<1>) {
    let table = Hypsography::from_areas(vec![0.0, 100.0], vec![1e6, 1e6]);
    let grid = Grid::new(table, (0..=layers).map(|i| 10.0 * i as f64).collect()).unwrap();
    let water = Water {
        temp_degc,
        oxygen_mg_l,
        river_frac: 0.0,
    };
    let column = Column::filled(&grid, [10.0 * layers as f64], |_, _| water).unwrap();
    (grid, column)
}

#[test]
fn bare_ice_grows_with_the_root_of_frost_as_stefan_has_it() {
    let (_, mut column) = basin(1, (0.0, 9.0));
    let area_m2 = column.surface_area_m2[0];
    let start_m = 0.1;
    column.ice_m3[0] = start_m * area_m2;
    // A gale keeps the skin of the ice at the temperature of the air: Stefan's assumption. Snowfall is known to be none.
    let frost = Weather {
        air_temp_degc: -10.0,
        vapour_pressure_pa: 250.0,
        pressure_pa: 101_325.0,
        wind_speed_m_s: 1000.0,
        wind_from_deg: None,
        sunlight_w_m2: 0.0,
        sun_height_frac: 0.0,
        sky_longwave_w_m2: 220.0,
        precipitation_m_s: Some(0.0),
    };
    let days = 30.0;
    let before_j = column.heat_j(0);
    let mut lost_j = 0.0;
    for _ in 0..(days * DAY_S / HOUR_S) as usize {
        lost_j -= step_ice(&mut column, 0, &frost, (220.0, 1000.0), HOUR_S).heat_j;
    }
    let thick_m = column.ice_m3[0] / area_m2;
    let found = ((thick_m * thick_m - start_m * start_m) / (10.0 * days)).sqrt();
    // Within 1 %: explicit steps of an hour run a little ahead while the ice is thin, and the skin is a tenth of a degree off.
    let stefan = row("P4-STEFAN").numbers()[0];
    assert!((found / stefan - 1.0).abs() < 0.01, "{found} {stefan}");
    assert!(((before_j - column.heat_j(0)) / lost_j - 1.0).abs() < 1e-9);
}

fn parameters(bed_g_m2_day: f64) -> [ColumnParameters; 1] {
    let demand = OxygenDemand {
        bed_g_m2_day,
        water_mg_l_day: 0.0,
    };
    [ModelFactors::default().parameters(1.0, 0.5, demand)]
}

#[test]
fn the_bed_takes_oxygen_from_the_layer_that_lies_on_it_alone() {
    let (grid, mut column) = basin(2, (20.0, 9.0));
    let (days, areal_g_m2_day) = (60.0, 0.5);
    let mut taken_g = 0.0;
    for _ in 0..(days * DAY_S / HOUR_S) as usize {
        taken_g += take_up(&grid, &mut column, &parameters(areal_g_m2_day), HOUR_S)[0];
    }
    // dC/dt = -k C/(C + K) has the integral C + K ln C = C0 + K ln C0 - k t; k = J / H, 0.5 g/m2 over 10 m, K = 0.5 mg/L.
    let (start, after) = (9.0_f64, column.oxygen_mg_l[0][0]);
    let used = (start + 0.5 * start.ln()) - (after + 0.5 * after.ln());
    // Implicit steps of an hour: to 0.1 %.
    assert!(
        (used / (areal_g_m2_day / 10.0 * days) - 1.0).abs() < 1e-3,
        "{after}"
    );
    assert_eq!(column.oxygen_mg_l[1][0], 9.0);
    assert!((taken_g / ((start - after) * 1e7) - 1.0).abs() < 1e-9);
}

#[test]
fn the_air_brings_the_surface_toward_saturation_at_the_published_rate() {
    let (_, mut column) = basin(1, (20.0, 2.0));
    let days = 5.0;
    let mut gained_g = 0.0;
    for _ in 0..(days * DAY_S / HOUR_S) as usize {
        gained_g += aerate(&mut column, [true], (&[5.0], &[101_325.0]), HOUR_S)[0];
    }
    // dC/dt = k (C_sat - C) / h with k of P8-K (20 degC, wind 5 m/s) and C_sat of P1-DO-20, h 10 m.
    let (k_m_day, saturated) = (row("P8-K").numbers()[0], row("P1-DO-20").numbers()[0]);
    let wanted = saturated + (2.0 - saturated) * (-k_m_day / 10.0 * days).exp();
    let found = column.oxygen_mg_l[0][0];
    // The rows' own digits (0.4 % of k) and implicit steps of an hour (0.3 %), of half the gain.
    assert!((found - wanted).abs() < 0.02, "{found} {wanted}");
    assert!((gained_g / ((found - 2.0) * 1e7) - 1.0).abs() < 1e-9);
}

#[test]
fn the_bed_answers_a_yearly_wave_much_as_deep_sediment_does() {
    // So much water that its temperature is what it is told to be.
    let (grid, mut column) = basin(1, (10.0, 9.0));
    let mut bed = BedHeat::under(&column);
    let (area_m2, amplitude_degc) = (1e6, 5.0);
    let per_s = 2.0 * std::f64::consts::PI / (365.0 * DAY_S);
    let hours = 365 * 24;
    let (mut sine, mut cosine, mut taken_j) = (0.0, 0.0, 0.0);
    for hour in 0..12 * hours {
        let phase = per_s * hour as f64 * HOUR_S;
        column.temp_degc[0][0] = 10.0 + amplitude_degc * phase.sin();
        let before_j = column.heat_j(0);
        let gained_j = bed.step(&grid, &mut column, HOUR_S)[0];
        taken_j -= gained_j;
        assert!((column.heat_j(0) - before_j - gained_j).abs() < 1e-9 * before_j.abs());
        // The last of twelve years: the beginning is forgotten.
        if hour >= 11 * hours {
            sine -= 2.0 * gained_j / area_m2 / HOUR_S * phase.sin() / hours as f64;
            cosine -= 2.0 * gained_j / area_m2 / HOUR_S * phase.cos() / hours as f64;
        }
    }
    // Half-space: flux k sqrt(w/D) times the amplitude, 45 degrees ahead (Carslaw & Jaeger 1959, from memory), k = 1 W/(m K) and
    // D = k / 3e6 m2/s as in the bed. Two slabs come to 0.84 of it, worked by hand from their admittance, 42 degrees ahead.
    let half_space = (per_s * 3e6_f64).sqrt() * amplitude_degc;
    let ratio = sine.hypot(cosine) / half_space;
    assert!((ratio - 0.84).abs() < 0.02, "{ratio}");
    assert!(
        (cosine.atan2(sine).to_degrees() - 42.0).abs() < 2.0,
        "{cosine} {sine}"
    );
    let held_j = (3e6 * (bed.upper_degc[0][0] - 10.0) + 3.33 * 3e6 * (bed.lower_degc[0][0] - 10.0)) * area_m2;
    assert!((held_j / taken_j - 1.0).abs() < 1e-6, "{held_j} {taken_j}");
}

#[test]
fn waves_do_the_work_of_their_share_of_the_power() {
    // A bowl of three layers, warmer upward.
    let table = Hypsography::from_areas(vec![0.0, 30.0], vec![0.0, 3e6]);
    let grid = Grid::new(table, vec![0.0, 10.0, 20.0, 30.0]).unwrap();
    let water = |elevation_m: f64, _: usize| Water {
        temp_degc: 6.0 + 0.3 * elevation_m,
        oxygen_mg_l: 9.0,
        river_frac: 0.0,
    };
    let column = Column::<1>::filled(&grid, [30.0], water).unwrap();
    let mut density = vec![[0.0]; 3];
    densities_kg_m3(&column, &mut density);
    let (mut n2_per_s2, mut stability, mut diffusivity) = (vec![[0.0]; 4], vec![[0.0]; 4], vec![[0.0]; 4]);
    stability_per_s2(&grid, &column, &density, &mut n2_per_s2);
    let power_w_m2 = 1e-3;
    let own = parameters(0.5);
    add_waves(
        (&grid, &column),
        &n2_per_s2,
        (&[power_w_m2], &own),
        &mut stability,
        &mut diffusivity,
    );
    let (g, apart_m) = (9.806_65, 10.0);
    let work = |face: usize| {
        let n2 = g * (density[face - 1][0] - density[face][0]) / (density[face - 1][0] * apart_m);
        1000.0 * diffusivity[face][0] * n2 * grid.face_area_m2()[face] * apart_m
    };
    let wanted = 0.0075 * power_w_m2 * column.surface_area_m2[0];
    // An identity but for rounding.
    assert!(
        ((work(1) + work(2)) / wanted - 1.0).abs() < 1e-12,
        "{} {}",
        work(1),
        work(2)
    );
    // In proportion to bed and N: by hand from areas of 0, 1, 2 and 3 km2, the bed around the lower face is 1.5 km2 (with what lies
    // under the lowest middle), around the upper one 1 km2.
    let n = |face: usize| {
        (g * (density[face - 1][0] - density[face][0]) / (density[face - 1][0] * apart_m)).sqrt()
    };
    assert!((work(1) / work(2) - 1.5 * n(1) / n(2)).abs() < 1e-9);
    assert_eq!((diffusivity[0], diffusivity[3]), ([0.0], [0.0]));
}
