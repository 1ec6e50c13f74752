//! Columns of layers: budgets close, lanes do not see each other, uniform water stays uniform.

use plungeline::column::layered::{
    Column, Convection, Diffusion, Grid, LayerFlows, Transport, Water, absorb_light, conductance_m3,
};
use plungeline::lake::Hypsography;
use plungeline::physics::radiation::LightInWater;
use plungeline::physics::water::water_density_kg_m3;
use proptest::prelude::*;

/// An invented valley, 40 m deep, narrow below and wide above.
fn grid() -> Grid {
    let table = Hypsography::from_areas(vec![200.0, 210.0, 225.0, 245.0], vec![0.0, 1.5e6, 6.0e6, 1.9e7]);
    Grid::new(table, (0..=40).map(|i| 200.0 + f64::from(i)).collect()).unwrap()
}

fn water(temp_degc: f64, river_frac: f64) -> Water {
    Water {
        temp_degc,
        oxygen_mg_l: 9.0,
        river_frac,
    }
}

/// Volume in or out of a layer, m3, and what it is, where it comes in.
type Source = (usize, f64, Water);

/// One transport of a single lane; `false` where it cannot be made.
fn transported(grid: &Grid, column: &mut Column<1>, sources: &[Source]) -> bool {
    let mut flows = LayerFlows::new(grid.layers());
    for (layer, volume_m3, water) in sources {
        flows.add(*layer, 0, *volume_m3, *water);
    }
    let moved = Transport::new(grid.layers()).step(grid, column, &mut flows, [true]);
    moved.is_ok()
}

fn stratified(grid: &Grid, level_m: f64) -> Column<1> {
    Column::filled(grid, [level_m], |elevation_m, _| {
        water(6.0 + 0.35 * (elevation_m - 200.0), 0.2)
    })
    .unwrap()
}

/// Volumes in parts of a million cubic metres, layer, temperature: what a river or an outlet may do in an hour.
fn sources() -> impl Strategy<Value = Vec<(usize, f64, f64)>> {
    proptest::collection::vec((0usize..40, -0.2..0.3f64, 1.0..25.0f64), 1..6)
}

proptest! {
    #[test]
    fn water_heat_and_river_water_are_kept_through_inflow_outflow_and_a_moving_surface(
        level_m in 215.0..238.0f64,
        hours in proptest::collection::vec(sources(), 1..12),
    ) {
        let grid = grid();
        let mut column = stratified(&grid, level_m);
        let (mut volume, mut river) = (column.whole_m3(0), column.river_m3(0));
        for hour in hours {
            let (mut out_heat, mut in_heat, mut out_river, mut in_river, mut net) = (0.0, 0.0, 0.0, 0.0, 0.0);
            // Nothing below a layer's middle third is taken, so that no layer runs dry; one outlet at most a layer.
            let mut list: Vec<Source> = Vec::new();
            for (layer, millions, temp) in hour {
                let volume_m3 = (1e5 * millions).max(-0.1 * grid.full_volume_m3(layer));
                if list.iter().all(|s| s.0 != layer) {
                    list.push((layer, volume_m3, water(temp, 1.0)));
                }
            }
            let before = column.clone();
            let heat = column.heat_j(0);
            if !transported(&grid, &mut column, &list) {
                return Ok(());
            }
            for (_, volume_m3, water) in &list {
                net += volume_m3;
                if *volume_m3 > 0.0 {
                    in_heat += volume_m3 * water.temp_degc;
                    in_river += volume_m3;
                } else {
                    out_heat -= volume_m3;
                    out_river -= volume_m3;
                }
            }
            // What goes out has a temperature between the coldest and the warmest there is.
            let all = before.temp_degc.iter().map(|t| t[0]).chain(list.iter().map(|s| s.2.temp_degc));
            let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
            let lost = in_heat - (column.heat_j(0) - heat) / plungeline::physics::water::HEAT_CAPACITY_J_M3_K;
            let slack = 1e-9 * volume;
            prop_assert!(lost >= low * out_heat - slack && lost <= high * out_heat + slack, "{lost} {out_heat}");
            let river_lost = river + in_river - column.river_m3(0);
            prop_assert!(river_lost >= 0.2 * out_river - slack && river_lost <= out_river + slack);
            volume += net;
            river = column.river_m3(0);
            // A few hundred additions: the fourteenth figure.
            prop_assert!((column.whole_m3(0) - volume).abs() < 1e-12 * volume);
            for layer in 0..column.top[0] {
                let full = grid.full_volume_m3(layer);
                prop_assert!((column.volume_m3[layer][0] - full).abs() < 1e-9 * full.max(1.0), "layer {layer}");
            }
            for layer in 0..=column.top[0] {
                let temp = column.temp_degc[layer][0];
                prop_assert!(temp >= low - 1e-9 && temp <= high + 1e-9, "{low} {temp} {high}");
            }
        }
    }

    #[test]
    fn uniform_water_stays_uniform_under_any_change_of_level(
        level_m in 215.0..238.0f64,
        hours in proptest::collection::vec(sources(), 1..12),
    ) {
        let grid = grid();
        let mut column = Column::<1>::filled(&grid, [level_m], |_, _| water(11.5, 1.0)).unwrap();
        for hour in hours {
            let list: Vec<Source> = hour
                .into_iter()
                .map(|(layer, millions, _)| {
                    let volume_m3 = (1e5 * millions).max(-0.02 * grid.full_volume_m3(layer));
                    (layer, volume_m3, water(11.5, 1.0))
                })
                .collect();
            if !transported(&grid, &mut column, &list) {
                return Ok(());
            }
            for layer in 0..=column.top[0] {
                // The bound that a run of years has to keep.
                prop_assert!((column.temp_degc[layer][0] - 11.5).abs() < 1e-10);
                prop_assert!((column.river_frac[layer][0] - 1.0).abs() < 1e-10);
            }
        }
    }

    #[test]
    fn a_lane_is_the_same_whatever_stands_beside_it(
        levels in proptest::array::uniform4(215.0..238.0f64),
        lake in proptest::array::uniform4(2.0..20.0f64),
        light_w_m2 in 0.0..900.0f64,
    ) {
        let grid = grid();
        let profile = |lane: usize| move |elevation_m: f64| water(lake[lane] + 0.1 * (elevation_m - 215.0), 0.3);
        let mut four = Column::<4>::filled(&grid, levels, |e, lane| profile(lane)(e)).unwrap();
        evolve(&grid, &mut four, light_w_m2);
        for (lane, level_m) in levels.into_iter().enumerate() {
            let mut one = Column::<1>::filled(&grid, [level_m], |e, _| profile(lane)(e)).unwrap();
            evolve(&grid, &mut one, light_w_m2);
            for layer in 0..grid.layers() {
                prop_assert_eq!(one.temp_degc[layer][0].to_bits(), four.temp_degc[layer][lane].to_bits());
                prop_assert_eq!(one.volume_m3[layer][0].to_bits(), four.volume_m3[layer][lane].to_bits());
            }
        }
    }

    #[test]
    fn convection_leaves_no_heavy_water_over_light_and_loses_nothing(
        temps in proptest::collection::vec(0.0..28.0f64, 41),
        level_m in 215.0..238.0f64,
    ) {
        let grid = grid();
        let mut column = Column::<1>::filled(&grid, [level_m], |e, _| {
            water(temps[(e - 200.0) as usize], (e - 200.0) / 40.0)
        })
        .unwrap();
        let (heat, river) = (column.heat_j(0), column.river_m3(0));
        Convection::new(grid.layers()).step(&mut column);
        prop_assert!((column.heat_j(0) - heat).abs() < 1e-12 * heat);
        prop_assert!((column.river_m3(0) - river).abs() < 1e-12 * river);
        for layer in 1..=column.top[0] {
            let (below, above) = (column.temp_degc[layer - 1][0], column.temp_degc[layer][0]);
            prop_assert!(water_density_kg_m3(below) >= water_density_kg_m3(above), "{below} {above}");
        }
    }
}

/// Two days of light, diffusion and convection.
fn evolve<const L: usize>(grid: &Grid, column: &mut Column<L>, light_w_m2: f64) {
    let light = LightInWater {
        surface_frac: 0.45,
        extinction_per_m: 0.4,
    };
    let everywhere = vec![[2e-6; L]; grid.layers() + 1];
    let mut conductances = vec![[0.0; L]; grid.layers() + 1];
    let (mut diffusion, mut convection) = (Diffusion::new(grid.layers()), Convection::new(grid.layers()));
    for hour in 0..48 {
        let entering = if hour % 24 < 12 { light_w_m2 } else { 0.0 };
        let before: Vec<f64> = (0..L).map(|lane| column.heat_j(lane)).collect();
        let taken = absorb_light(grid, column, &[light; L], [entering; L], 3600.0);
        for lane in 0..L {
            let gain = column.heat_j(lane) - before[lane];
            assert!(
                (gain - taken[lane]).abs() < 1e-12 * before[lane].abs(),
                "{gain} {}",
                taken[lane]
            );
        }
        conductance_m3(grid, column, &everywhere, 3600.0, &mut conductances);
        let volumes = column.volume_m3.clone();
        let (temp, oxygen, river) = (
            &mut column.temp_degc,
            &mut column.oxygen_mg_l,
            &mut column.river_frac,
        );
        diffusion.step(&volumes, &conductances, &mut [temp, oxygen, river]);
        convection.step(column);
    }
}

#[test]
fn a_column_filled_above_its_grid_or_below_its_bed_is_refused() {
    let grid = grid();
    let fill = |level_m: f64| Column::<1>::filled(&grid, [level_m], |_, _| water(10.0, 0.0));
    assert!(fill(199.0).is_none() && fill(300.0).is_none());
    // The grid ends at 240 m; half a layer more is borne, no further.
    assert!(fill(239.9).is_some() && fill(244.0).is_none());
}

#[test]
fn a_surface_layer_is_merged_and_split_between_half_and_one_and_a_half() {
    let grid = grid();
    let mut column = stratified(&grid, 230.4);
    let area = grid.surface_area_m2(230.4).unwrap();
    for step in 0..200 {
        let sign = if step < 100 { -1.0 } else { 1.0 };
        let source = (39, sign * 0.05 * area, water(15.0, 0.0));
        assert!(transported(&grid, &mut column, &[source]));
        let thick_m = column.surface_elevation_m[0] - grid.face_elevation_m()[column.top[0]];
        assert!((0.5..=1.5).contains(&thick_m), "{thick_m}");
    }
    assert!((column.surface_elevation_m[0] - 230.4).abs() < 1e-6);
}
