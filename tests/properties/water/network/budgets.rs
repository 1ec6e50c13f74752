//! Years of invented weather and flow: every book closes.

use std::f64::consts::{PI, TAU};

use plungeline::column::network::{Inputs, Network, OutletFlow, River};

use super::{Plain, bits, summer, water};

/// Seasonal flows and a pool that is drawn down to `low_m` and filled again every year, so that the Wicket Arm runs dry.
struct Years {
    low_m: f64,
    high_m: f64,
}

impl Years {
    /// Steps of `step_s` for `days`; the lanes differ in their rivers.
    fn run<const L: usize>(
        &self,
        network: &mut Network<L>,
        days: f64,
        step_s: f64,
        plain: &mut Plain<L>,
    ) -> (f64, usize) {
        let layout = network.layout().clone();
        let heads =
            ["sorrel", "wicket"].map(|id| layout.head_of(&plungeline::lake::ZoneId::new(id)).unwrap());
        let (mut lowest_m, mut closings) = (f64::INFINITY, 0);
        let mut open_before = network.closed().open(heads[1])[0];
        for count in 0..(days * 86_400.0 / step_s) as usize {
            let day = count as f64 * step_s / 86_400.0;
            let season = (TAU * day / 365.25).cos();
            let target_m = 0.5 * (self.high_m + self.low_m) + 0.5 * (self.high_m - self.low_m) * season;
            let wanted_m3 = layout.whole.volume_m3(target_m).unwrap();
            let mut rivers =
                [(heads[0], 18.0, 8.0), (heads[1], 3.0, 11.0)].map(|(column, mean_m3s, temp)| River {
                    column,
                    discharge_m3s: std::array::from_fn(|lane| {
                        mean_m3s
                            * (1.0 + 0.8 * (TAU * (day - 120.0) / 365.25).cos())
                            * (1.0 + 0.02 * lane as f64)
                    }),
                    water: [water(temp - 5.5 * (TAU * (day - 20.0) / 365.25).cos(), 1.0); L],
                });
            let mut outlet = OutletFlow {
                elevation_m: 201.0,
                flow_m3s: [0.0; L],
                angle_rad: PI,
            };
            let mut crest = OutletFlow {
                elevation_m: 230.0,
                ..outlet
            };
            for lane in 0..L {
                let inflow: f64 = rivers.iter().map(|r| r.discharge_m3s[lane]).sum();
                let out_m3s = inflow + (network.volume_m3(lane) - wanted_m3) / (4.0 * 86_400.0);
                outlet.flow_m3s[lane] = 0.7 * out_m3s.max(0.0);
                crest.flow_m3s[lane] = 0.3 * out_m3s.max(0.0);
                rivers[0].discharge_m3s[lane] += (-out_m3s).max(0.0);
            }
            let inputs = Inputs {
                step_s,
                rivers: &rivers,
                outlets: &[outlet, crest],
                direct: &[],
            };
            let heat_w_m2 = -130.0 * (TAU * (day + 10.0) / 365.25).cos();
            network
                .step(&inputs, |site, column| plain.step(site, column, heat_w_m2))
                .unwrap();
            lowest_m = lowest_m.min(network.level_m(0));
            let open = network.closed().open(heads[1])[0];
            closings += usize::from(open_before && !open);
            open_before = open;
        }
        (lowest_m, closings)
    }
}

fn closes<const L: usize>(network: &Network<L>, plain: &Plain<L>) {
    let residual = network.budget().relative_residual(&network.content());
    println!("relative residuals of volume, heat, oxygen, river water: {residual:?}");
    // The bound of the design.
    assert!(residual.iter().all(|r| *r <= 1e-10), "{residual:?}");
    for lane in 0..L {
        // What the tests' own physics put in is what the books have of it: some thousands of additions.
        let (booked, put) = (network.budget().physics.warmth[lane], plain.warmth[lane]);
        let held = network.content().warmth[lane];
        assert!((booked - put).abs() < 1e-10 * held.abs(), "{booked} {put}");
    }
}

#[test]
fn two_years_with_an_arm_that_runs_dry_and_fills_again_close_their_books() {
    let mut network = summer::<2>(2.0, [256.0, 256.0]);
    let mut plain = Plain::new(network.layout());
    let (lowest_m, closings) = Years {
        low_m: 226.0,
        high_m: 256.0,
    }
    .run(&mut network, 731.0, 10_800.0, &mut plain);
    println!("lowest level {lowest_m:.1} m, {closings} closings of the Wicket's head");
    // The Wicket's mouth lies at 768 ft, 234.1 m.
    assert!(lowest_m < 230.0 && closings >= 2);
    closes(&network, &plain);
    for (i, column) in network.columns().iter().enumerate() {
        for lane in 0..2 {
            for layer in 0..=column.top[lane] {
                let water = column.water(layer, lane);
                let fine = water.temp_degc > -15.0 && water.temp_degc < 40.0;
                assert!(
                    !network.closed().is_open(i, lane) || fine,
                    "column {i}: {water:?}"
                );
                assert!(
                    (-1e-9..=1.0 + 1e-9).contains(&water.river_frac),
                    "column {i}: {water:?}"
                );
                // Nothing uses oxygen up here, and all water has the same.
                assert!((water.oxygen_mg_l - 9.0).abs() < 1e-10, "column {i}: {water:?}");
            }
        }
    }
}

#[test]
fn thirty_years_close_their_books() {
    let mut network = summer::<1>(2.0, [256.0]);
    let mut plain = Plain::new(network.layout());
    Years {
        low_m: 226.0,
        high_m: 256.0,
    }
    .run(&mut network, 30.0 * 365.25, 10_800.0, &mut plain);
    closes(&network, &plain);
}

#[test]
fn a_lane_of_the_network_is_the_same_whatever_stands_beside_it() {
    let years = Years {
        low_m: 228.0,
        high_m: 240.0,
    };
    let levels = [240.0, 236.0];
    let mut both = summer::<2>(2.0, levels);
    let mut plain = Plain::new(both.layout());
    years.run(&mut both, 40.0, 3600.0, &mut plain);
    let mut one = summer::<1>(2.0, [levels[0]]);
    let mut plain = Plain::new(one.layout());
    years.run(&mut one, 40.0, 3600.0, &mut plain);
    assert_eq!(bits(&one, 0), bits(&both, 0));
    assert_ne!(bits(&both, 1), bits(&both, 0));
}

#[test]
fn water_of_one_kind_stays_so_through_drawdown_and_filling() {
    let layout = plungeline::column::network::Layout::of_lake(&super::harrow_gap(), 2.0, 4).unwrap();
    let options = plungeline::column::network::RiverOptions::default();
    let mut network =
        Network::<1>::filled(layout.clone(), options, [242.0], |_, _, _| water(9.0, 1.0)).unwrap();
    let head = layout.head_of(&plungeline::lake::ZoneId::new("sorrel")).unwrap();
    for count in 0..600 {
        let out_m3s = if count < 300 { 120.0 } else { 0.0 };
        let river = River {
            column: head,
            discharge_m3s: [60.0],
            water: [water(9.0, 1.0)],
        };
        let outlet = OutletFlow {
            elevation_m: 201.0,
            flow_m3s: [out_m3s],
            angle_rad: PI,
        };
        let inputs = Inputs {
            step_s: 10_800.0,
            rivers: &[river],
            outlets: &[outlet],
            direct: &[],
        };
        network.step(&inputs, |_, _| true).unwrap();
    }
    for (i, column) in network
        .columns()
        .iter()
        .enumerate()
        .filter(|(i, _)| network.closed().is_open(*i, 0))
    {
        for layer in 0..=column.top[0] {
            let found = column.water(layer, 0);
            // The bound that a run of years has to keep.
            assert!(
                (found.temp_degc - 9.0).abs() < 1e-10 && (found.river_frac - 1.0).abs() < 1e-10,
                "{i}: {found:?}"
            );
        }
    }
}
