//! The step of a column in a free run: it allocates nothing, and a lane gets the same bits beside any neighbours.

use plungeline::column::forcing::{RiverFlow, Weather};
use plungeline::column::layered::{
    Column, ColumnParameters, Grid, LakeColumn, ModelFactors, OxygenDemand, StepFlows, Water, site_of,
};
use plungeline::lake::Hypsography;

const LEVEL_M: f64 = 47.0;

fn lake<const L: usize>() -> LakeColumn<L> {
    let table = Hypsography::from_areas(vec![0.0, 20.0, 50.0], vec![2e5, 1.5e6, 6e6]);
    let grid = Grid::new(table, (0..=50).map(f64::from).collect()).unwrap();
    let column = Column::filled(&grid, [LEVEL_M; L], |elevation_m, _| Water {
        temp_degc: 4.0 + 0.05 * elevation_m,
        oxygen_mg_l: 11.0,
        river_frac: 0.0,
    })
    .unwrap();
    LakeColumn::new(grid, column, site_of(6e6, LEVEL_M))
}

/// Weather of a member through an invented year with frost, calms and storms.
fn weather(hour: usize, member: usize) -> Weather {
    let angle = |period_h: f64| hour as f64 / period_h * std::f64::consts::TAU;
    let (year, day) = (angle(8766.0).sin(), angle(24.0).cos());
    let front = (hour as f64 / 41.0).sin() + (hour as f64 / 13.7 + member as f64).sin();
    let sun = (0.3 + 0.2 * year + 0.5 * day).max(0.0);
    let air_temp_degc = 1.0 + 15.0 * year + 4.0 * day + 2.0 * front + 0.2 * member as f64;
    Weather {
        air_temp_degc,
        vapour_pressure_pa: 0.7 * 610.8 * (17.27 * air_temp_degc / (air_temp_degc + 237.3)).exp(),
        pressure_pa: 99_000.0,
        wind_speed_m_s: (3.0 + 2.5 * front + day).max(0.0),
        sunlight_w_m2: 900.0 * sun,
        sun_height_frac: sun,
        sky_longwave_w_m2: 300.0 + 50.0 * year + 10.0 * front,
        precipitation_m_s: (front > 1.2).then_some(2e-7),
    }
}

fn parameters(member: usize) -> ColumnParameters {
    let factors = ModelFactors {
        wind_frac: 1.0 + 0.03 * member as f64,
        extinction_frac: 1.0 + 0.1 * member as f64,
        background_frac: 1.0 + 0.5 * member as f64,
        ..ModelFactors::default()
    };
    let demand = OxygenDemand {
        bed_g_m2_day: 0.4,
        water_mg_l_day: 0.02,
    };
    factors.parameters(6.0, 0.5, demand)
}

/// Steps the lanes of these members; without a level the lanes part in level too.
fn step<const L: usize>(lake: &mut LakeColumn<L>, hour: usize, members: [usize; L]) {
    let rivers = [RiverFlow {
        discharge_m3s: 10.0 + 8.0 * (hour as f64 / 300.0).sin(),
        temp_degc: 9.0 + 6.0 * (hour as f64 / 1395.0).sin(),
        oxygen_mg_l: None,
    }];
    let flows = StepFlows {
        rivers: &rivers,
        releases: &[(18.0, 10.0 + 8.0 * (hour as f64 / 290.0).sin())],
        level_m: (hour % 3 == 0).then_some(LEVEL_M),
    };
    lake.step(
        &members.map(|member| weather(hour, member)),
        flows,
        &members.map(parameters),
        3600.0,
    )
    .unwrap();
}

#[test]
fn a_lane_gets_the_same_bits_whatever_its_neighbours_are() {
    let (mut all, mut turned, mut alone) = (lake::<8>(), lake::<8>(), lake::<1>());
    let (order, back) = ([0, 1, 2, 3, 4, 5, 6, 7], [7, 6, 5, 4, 3, 2, 1, 0]);
    let mut had_ice = false;
    for hour in 0..8766 {
        step(&mut all, hour, order);
        step(&mut turned, hour, back);
        step(&mut alone, hour, [5]);
        had_ice |= all.column.ice_m3[5] > 0.0;
        if hour % 100 > 0 {
            continue;
        }
        for layer in 0..all.grid.layers() {
            for lane in 0..8 {
                assert_eq!(
                    all.column.water(layer, lane),
                    turned.column.water(layer, 7 - lane),
                    "hour {hour}"
                );
            }
            assert_eq!(
                all.column.water(layer, 5),
                alone.column.water(layer, 0),
                "hour {hour}"
            );
            assert_eq!(all.column.volume_m3[layer][5], alone.column.volume_m3[layer][0]);
        }
        assert_eq!(
            all.column.surface_elevation_m[5],
            alone.column.surface_elevation_m[0]
        );
        assert_eq!(all.column.ice_m3[5], alone.column.ice_m3[0]);
        assert_eq!(all.booked[5], alone.booked[0]);
        // Members are apart, or the test would show nothing.
        assert!(hour == 0 || all.column.water(40, 5) != all.column.water(40, 6));
    }
    assert!(had_ice);
}

#[test]
fn a_step_allocates_nothing() {
    let mut lake = lake::<8>();
    let counted = allocation_counter::measure(|| {
        for hour in 0..8766 {
            step(&mut lake, hour, [0, 1, 2, 3, 4, 5, 6, 7]);
        }
    });
    assert_eq!(counted.count_total, 0, "{counted:?}");
}
