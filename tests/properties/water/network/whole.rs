//! What the network is when there is nothing to join, and when a zone is cut in two.

use std::f64::consts::PI;

use plungeline::column::layered::{Column, Drawn, LayerFlows, Transport, densities_kg_m3, withdraw_m3s};
use plungeline::column::network::{
    DirectFlow, Inputs, Layout, Network, OutletFlow, Part, RiverOptions, Site, StepError,
};
use plungeline::lake::{Hypsography, ZoneId};

use super::{Plain, faces_m, prism, water};

fn table(share: f64) -> Hypsography {
    let areas = [0.0, 1.5e6, 6.0e6, 1.9e7].map(|a| share * a);
    Hypsography::from_areas(vec![200.0, 210.0, 225.0, 245.0], areas.to_vec())
}

fn part(share: f64, toward_lake: Option<usize>) -> Part {
    Part {
        zone: ZoneId::new("main"),
        hypsography: table(share),
        toward_lake: toward_lake.map(|next| (next, vec![(200.0, 300.0)])),
        valley: None,
    }
}

fn layered(elevation_m: f64) -> f64 {
    5.0 + 0.4 * (elevation_m - 200.0)
}

#[test]
fn one_column_is_the_ordinary_model_to_the_last_bit() {
    let layout = Layout::join(&faces_m(200.0, 245.0, 1.0), vec![part(1.0, None)]).unwrap();
    let grid = layout.places[0].grid.clone();
    let fill = |e: f64| water(layered(e), 0.1);
    let mut network = Network::<1>::filled(layout.clone(), RiverOptions::default(), [236.3], |_, e, _| {
        fill(e)
    })
    .unwrap();
    let mut column = Column::<1>::filled(&grid, [236.3], |e, _| fill(e)).unwrap();
    let (mut plain, mut own_plain) = (Plain::new(&layout), Plain::new(&layout));
    let mut transport = Transport::new(grid.layers());
    let mut flows = LayerFlows::new(grid.layers());
    let mut density = vec![[0.0]; grid.layers()];
    for hour in 0..500 {
        let (inflow, heat_w_m2) = (30.0 + f64::from(hour % 7), 200.0 - f64::from(hour));
        let outlet = OutletFlow {
            elevation_m: 214.2,
            flow_m3s: [45.0],
            angle_rad: PI,
        };
        let direct = DirectFlow {
            column: 0,
            elevation_m: 221.5,
            flow_m3s: [inflow],
            water: [water(11.0, 1.0)],
        };
        let inputs = Inputs {
            step_s: 3600.0,
            rivers: &[],
            outlets: &[outlet],
            direct: &[direct],
        };
        network
            .step(&inputs, |site, column| plain.step(site, column, heat_w_m2))
            .unwrap();

        flows.clear();
        flows.add(21, 0, inflow * 3600.0, water(11.0, 1.0));
        let mut drawn_m3s = vec![[0.0]; grid.layers()];
        let drawn = Drawn {
            elevation_m: 214.2,
            flow_m3s: [45.0],
            angle_rad: PI,
        };
        densities_kg_m3(&column, &mut density);
        withdraw_m3s(&grid, &column, &density, drawn, &mut drawn_m3s);
        for (layer, [q]) in drawn_m3s.iter().enumerate() {
            flows.add(layer, 0, -q * 3600.0, column.water(layer, 0));
        }
        assert!(transport.step(&grid, &mut column, &mut flows, [true]).is_ok());
        let site = Site {
            column: 0,
            place: &layout.places[0],
            open: [true],
            opened: [false],
            step_s: 3600.0,
        };
        own_plain.step(&site, &mut column, heat_w_m2);
    }
    assert_eq!(network.columns()[0], column);
}

#[test]
fn a_zone_cut_into_two_equal_halves_has_the_same_fields() {
    let faces = faces_m(200.0, 245.0, 1.0);
    let whole = Layout::join(&faces, vec![part(1.0, None)]).unwrap();
    let halves = Layout::join(&faces, vec![part(0.5, None), part(0.5, Some(0))]).unwrap();
    let fill = |_: usize, e: f64, _: usize| water(layered(e), 0.1);
    let mut one = Network::<1>::filled(whole.clone(), RiverOptions::default(), [236.3], fill).unwrap();
    let mut two = Network::<1>::filled(halves.clone(), RiverOptions::default(), [236.3], fill).unwrap();
    let (mut plain_one, mut plain_two) = (Plain::new(&whole), Plain::new(&halves));
    for hour in 0..1000 {
        let (flow, heat_w_m2) = (
            40.0 * (0.02 * f64::from(hour)).sin(),
            150.0 - 0.3 * f64::from(hour),
        );
        let direct = |column: usize, share: f64| DirectFlow {
            column,
            elevation_m: 221.5,
            flow_m3s: [share * flow],
            water: [water(11.0, 1.0)],
        };
        let step_s = 3600.0;
        let inputs = Inputs {
            step_s,
            rivers: &[],
            outlets: &[],
            direct: &[direct(0, 1.0)],
        };
        one.step(&inputs, |s, c| plain_one.step(s, c, heat_w_m2)).unwrap();
        let inputs = Inputs {
            direct: &[direct(0, 0.5), direct(1, 0.5)],
            ..inputs
        };
        two.step(&inputs, |s, c| plain_two.step(s, c, heat_w_m2)).unwrap();
    }
    let mut most: f64 = 0.0;
    for column in two.columns() {
        for layer in 0..=one.columns()[0].top[0] {
            let (a, b) = (one.columns()[0].water(layer, 0), column.water(layer, 0));
            most = most
                .max((a.temp_degc - b.temp_degc).abs())
                .max((a.river_frac - b.river_frac).abs());
        }
    }
    println!("largest difference of a half: {most:.1e}");
    // The bound of the design.
    assert!(most < 1e-10, "{most}");
}

#[test]
fn a_network_that_is_asked_for_more_than_it_has_says_so() {
    let layout = Layout::join(
        &faces_m(0.0, 24.0, 1.0),
        vec![
            prism((0.0, 24.0), 1e6, None),
            prism((0.0, 24.0), 1e6, Some((0, 200.0))),
        ],
    )
    .unwrap();
    let fresh = || {
        Network::<1>::filled(layout.clone(), RiverOptions::default(), [20.0], |_, _, _| {
            water(9.0, 0.0)
        })
        .unwrap()
    };
    let step = |network: &mut Network<1>, flow_m3s: f64, fine: bool| {
        let direct = DirectFlow {
            column: 0,
            elevation_m: 5.0,
            flow_m3s: [flow_m3s],
            water: [water(9.0, 0.0)],
        };
        let inputs = Inputs {
            step_s: 3600.0,
            rivers: &[],
            outlets: &[],
            direct: &[direct],
        };
        network.step(&inputs, |_, _| fine)
    };
    assert_eq!(
        step(&mut fresh(), 0.0, false),
        Err(StepError::Physics { column: 0 })
    );
    assert_eq!(step(&mut fresh(), 1e5, true), Err(StepError::Level { lane: 0 }));
    let mut alone = Network::<1>::filled(
        Layout::join(&faces_m(0.0, 24.0, 1.0), vec![prism((0.0, 24.0), 1e6, None)]).unwrap(),
        RiverOptions::default(),
        [20.0],
        |_, _, _| water(9.0, 0.0),
    )
    .unwrap();
    assert_eq!(
        step(&mut alone, -1e4, true),
        Err(StepError::Empty { column: 0, lane: 0 })
    );
    assert_eq!(step(&mut fresh(), 10.0, true), Ok(()));
}
