//! Arms that close and open.

use std::f64::consts::PI;

use plungeline::column::network::{Inputs, OutletFlow, River};
use plungeline::lake::ZoneId;

use super::{Plain, harrow_gap, summer, water};

#[test]
fn an_arm_closes_with_the_lake_file_and_its_river_enters_the_neighbour() {
    let lake = harrow_gap();
    let wicket = ZoneId::new("wicket");
    // Ten metres up its mouth is 10 m deep; at 233 m it is dry.
    for (level_m, open) in [(250.0, true), (233.0, false), (235.5, false)] {
        let mut network = summer::<1>(1.0, [level_m]);
        let columns: Vec<usize> = network.layout().of_zone(&wicket).collect();
        assert_eq!(network.closed().is_open(columns[0], 0), open, "{level_m}");
        let zone = lake.zone(&wicket).unwrap();
        assert_eq!(lake.is_closed_at(zone, level_m), Some(!open));
        let head = *columns.last().unwrap();
        let river = River {
            column: head,
            discharge_m3s: [4.0],
            water: [water(15.0, 1.0)],
        };
        let inputs = Inputs {
            step_s: 3600.0,
            rivers: &[river],
            outlets: &[],
            direct: &[],
        };
        network.step(&inputs, |_, _| true).unwrap();
        let path = network.paths()[0][0].unwrap();
        if !open {
            assert_eq!(
                path.rests_at.0, 0,
                "the main body takes the creek of a closed arm"
            );
        }
        let content = network.content();
        assert!((content.river_m3[0] - 4.0 * 3600.0).abs() < 1e-6 * 4.0 * 3600.0);
        assert!(
            network
                .budget()
                .relative_residual(&content)
                .iter()
                .all(|r| *r < 1e-13)
        );
    }
}

#[test]
fn a_drawdown_through_an_empty_arm_and_back_books_what_is_closed_and_split_off() {
    let mut network = summer::<1>(1.0, [240.0]);
    let mut plain = Plain::new(network.layout());
    let wicket: Vec<usize> = network.layout().of_zone(&ZoneId::new("wicket")).collect();
    let sorrel = network.layout().head_of(&ZoneId::new("sorrel")).unwrap();
    let (mut dry, mut opened) = (false, false);
    for count in 0..2400 {
        let falling = count < 1200;
        let river = River {
            column: sorrel,
            discharge_m3s: [if falling { 5.0 } else { 75.0 }],
            water: [water(9.0, 1.0)],
        };
        let outlet = OutletFlow {
            elevation_m: 200.0,
            flow_m3s: [if falling { 45.0 } else { 5.0 }],
            angle_rad: PI,
        };
        let inputs = Inputs {
            step_s: 3600.0,
            rivers: &[river],
            outlets: &[outlet],
            direct: &[],
        };
        network
            .step(&inputs, |site, column| {
                opened |= site.opened[0] && site.column == wicket[0];
                plain.step(site, column, 40.0)
            })
            .unwrap();
        let residual = network.budget().relative_residual(&network.content());
        assert!(residual.iter().all(|r| *r < 1e-11), "hour {count}: {residual:?}");
        let held_m3: f64 = wicket.iter().map(|c| network.column_m3(*c, 0)).sum();
        dry |= held_m3 == 0.0;
        for column in 1..network.columns().len() {
            // One level: each column holds what its table has at it, closed or open.
            let place = &network.layout().places[column];
            let wanted_m3 = place.grid.volume_m3(network.level_m(0)).unwrap();
            let found_m3 = network.column_m3(column, 0);
            assert!(
                (found_m3 - wanted_m3).abs() < 1e-6 * wanted_m3 + 1e-3,
                "column {column}: {found_m3} {wanted_m3}"
            );
        }
    }
    assert!(dry && opened && network.closed().is_open(wicket[0], 0));
    let moved = network.budget().closed;
    println!("closed less split off: {:.3e} m3", moved.volume_m3[0]);
}
