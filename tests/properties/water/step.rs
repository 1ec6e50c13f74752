//! The step of a column in a free run: it allocates nothing, and a lane gets the same bits beside any neighbours.

use plungeline::column::forcing::{RiverFlow, Weather};
use plungeline::column::layered::{ModelFactors, OxygenDemand, Water, site_of};
use plungeline::column::network::{Layout, Part, RiverOptions};
use plungeline::column::reservoir::{Drive, Reservoir, ReservoirSetup, Shelters};
use plungeline::lake::{Hypsography, ZoneId};

const LEVEL_M: f64 = 47.0;

/// A lake of one column with a river and an outlet, its members by number.
fn lake<const L: usize>(members: [usize; L]) -> Reservoir<L> {
    filled(&setup(&[1.0]), members)
}

/// A lake whose water lies in columns with these shares of it, each joined to the first; a river to each.
fn setup(shares: &[f64]) -> ReservoirSetup {
    let faces_m: Vec<f64> = (0..=50).map(f64::from).collect();
    let part = |(index, share): (usize, &f64)| Part {
        zone: ZoneId::new("main"),
        hypsography: Hypsography::from_areas(
            vec![0.0, 20.0, 50.0],
            [2e5, 1.5e6, 6e6].map(|a| share * a).to_vec(),
        ),
        toward_lake: (index > 0).then(|| (0, vec![(0.0, 500.0)])),
        valley: None,
    };
    ReservoirSetup {
        layout: Layout::join(&faces_m, shares.iter().enumerate().map(part).collect()).unwrap(),
        sites: vec![site_of(6e6); shares.len()],
        shelters: vec![Shelters::even(6.0); shares.len()],
        extinction_per_m: [0.5; 12],
        demand: OxygenDemand {
            bed_g_m2_day: 0.4,
            water_mg_l_day: 0.02,
        },
        river_columns: (0..shares.len()).collect(),
        outlet_elevation_m: vec![18.0],
        river_options: RiverOptions::default(),
        without_column: Vec::new(),
    }
}

fn filled<const L: usize>(setup: &ReservoirSetup, members: [usize; L]) -> Reservoir<L> {
    let water = |_: usize, elevation_m: f64, _: usize| Water {
        temp_degc: 4.0 + 0.05 * elevation_m,
        oxygen_mg_l: 11.0,
        river_frac: 0.0,
    };
    Reservoir::filled(setup, members.map(factors), [LEVEL_M; L], water).unwrap()
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
        wind_from_deg: None,
        sunlight_w_m2: 900.0 * sun,
        sun_height_frac: sun,
        sky_longwave_w_m2: 300.0 + 50.0 * year + 10.0 * front,
        precipitation_m_s: (front > 1.2).then_some(2e-7),
    }
}

fn factors(member: usize) -> ModelFactors {
    ModelFactors {
        wind_frac: 1.0 + 0.03 * member as f64,
        extinction_frac: 1.0 + 0.1 * member as f64,
        background_frac: 1.0 + 0.5 * member as f64,
        ..ModelFactors::default()
    }
}

/// Steps the lanes of these members; without a level the lanes part in level too.
fn step<const L: usize>(lake: &mut Reservoir<L>, hour: usize, members: [usize; L]) {
    let river = RiverFlow {
        discharge_m3s: 10.0 + 8.0 * (hour as f64 / 300.0).sin(),
        temp_degc: 9.0 + 6.0 * (hour as f64 / 1395.0).sin(),
        oxygen_mg_l: None,
    };
    lake.step(&Drive {
        step_s: 3600.0,
        month0: hour / 731 % 12,
        weather: &members.map(|member| weather(hour, member)),
        rivers: &[[river; L]],
        release_m3s: &[[10.0 + 8.0 * (hour as f64 / 290.0).sin(); L]],
        level_m: [hour.is_multiple_of(3).then_some(LEVEL_M); L],
    })
    .unwrap();
}

#[test]
fn a_lane_gets_the_same_bits_whatever_its_neighbours_are() {
    let (order, back) = ([0, 1, 2, 3, 4, 5, 6, 7], [7, 6, 5, 4, 3, 2, 1, 0]);
    let (mut all, mut turned, mut alone) = (lake(order), lake(back), lake([5]));
    let mut had_ice = false;
    for hour in 0..8766 {
        step(&mut all, hour, order);
        step(&mut turned, hour, back);
        step(&mut alone, hour, [5]);
        let ((_, all), (_, turned), (_, alone)) = (all.main(), turned.main(), alone.main());
        had_ice |= all.ice_m3[5] > 0.0;
        if hour % 100 > 0 {
            continue;
        }
        for layer in 0..all.layers() {
            for lane in 0..8 {
                let other = turned.water(layer, 7 - lane);
                assert_eq!(all.water(layer, lane), other, "hour {hour}");
            }
            assert_eq!(all.water(layer, 5), alone.water(layer, 0), "hour {hour}");
            assert_eq!(all.volume_m3[layer][5], alone.volume_m3[layer][0]);
        }
        assert_eq!(all.surface_elevation_m[5], alone.surface_elevation_m[0]);
        assert_eq!(all.ice_m3[5], alone.ice_m3[0]);
        // Members are apart, or the test would show nothing.
        assert!(hour == 0 || all.water(40, 5) != all.water(40, 6));
    }
    assert!(had_ice);
}

#[test]
fn a_step_allocates_nothing() {
    let members = [0, 1, 2, 3, 4, 5, 6, 7];
    let mut lake = lake(members);
    // The first step makes room for where the rivers go.
    step(&mut lake, 0, members);
    let counted = allocation_counter::measure(|| {
        for hour in 1..8766 {
            step(&mut lake, hour, members);
        }
    });
    assert_eq!(counted.count_total, 0, "{counted:?}");
}

/// The bound of the design for the two halves of a zone, with everything that goes on in a lake and its sources split: sun, wind,
/// evaporation and rain, a river to each, oxygen, waves and the bed. Of an outlet there is one only, and so it is shut.
#[test]
fn two_halves_of_a_zone_have_its_fields_with_all_that_goes_on_in_them() {
    let (mut whole, mut halves) = (filled(&setup(&[1.0]), [2]), filled(&setup(&[0.5, 0.5]), [2]));
    let (mut most, mut most_layered_degc) = ([0.0_f64; 3], 0.0_f64);
    for hour in 0..3000 {
        let river = |share: f64| RiverFlow {
            discharge_m3s: share * (0.5 + 0.4 * (hour as f64 / 300.0).sin()),
            temp_degc: 9.0 + 6.0 * (hour as f64 / 1395.0).sin(),
            oxygen_mg_l: None,
        };
        let step = |lake: &mut Reservoir<1>, rivers: &[[RiverFlow; 1]]| {
            let drive = Drive {
                step_s: 3600.0,
                month0: hour / 731 % 12,
                weather: &[weather(hour, 2)],
                rivers,
                release_m3s: &[[0.0]],
                level_m: [None],
            };
            lake.step(&drive).unwrap();
        };
        step(&mut whole, &[[river(1.0)]]);
        step(&mut halves, &[[river(0.5)], [river(0.5)]]);
        let (_, one) = whole.main();
        most_layered_degc = most_layered_degc.max(one.temp_degc[one.top[0]][0] - one.temp_degc[0][0]);
        for half in halves.network().columns() {
            for layer in 0..=one.top[0] {
                let (a, b) = (one.water(layer, 0), half.water(layer, 0));
                most[0] = most[0].max((a.temp_degc - b.temp_degc).abs());
                most[1] = most[1].max((a.oxygen_mg_l - b.oxygen_mg_l).abs());
                most[2] = most[2].max((a.river_frac - b.river_frac).abs());
            }
        }
    }
    println!("largest difference of a half: {most:?}, most from top to bed {most_layered_degc:.1} degC");
    // The lake is layered at times, so that there are fields to differ.
    assert!(most_layered_degc > 5.0, "{most_layered_degc}");
    assert!(most.iter().all(|d| *d < 1e-10), "{most:?}");
}
