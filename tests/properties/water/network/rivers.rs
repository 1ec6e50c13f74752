//! Rivers into the network: where they plunge, what they take in, where they come to rest.

use plungeline::column::layered::Column;
use plungeline::column::network::{
    Inputs, Layout, Network, Part, PlungeLine, River, RiverOptions, Valley, plunge_line,
};
use plungeline::lake::{Hypsography, ThalwegPoint, ZoneId};
use plungeline::physics::water::water_density_kg_m3;
use proptest::prelude::*;

use super::{faces_m, summer, water};

const HALF_ANGLE: f64 = 85.0;

/// A valley of triangular section, half-angle 85 degrees, whose bed falls 4 m in a kilometre for 20 km; one column.
fn triangular() -> (Layout, Valley) {
    let tan = HALF_ANGLE.to_radians().tan();
    let point = |distance_m: f64| {
        let bed_elevation_m = 0.004 * distance_m;
        ThalwegPoint {
            distance_m,
            bed_elevation_m,
            width_m: 2.0 * tan * (80.0 - bed_elevation_m),
            position: None,
        }
    };
    let valley = Valley::whole(&[point(0.0), point(20_000.0)], 80.0).unwrap();
    let rows = faces_m(0.0, 90.0, 1.0);
    let areas: Vec<f64> = rows.iter().map(|e| valley.surface_m2(*e) + 1.0).collect();
    let part = Part {
        zone: ZoneId::new("valley"),
        hypsography: Hypsography::from_areas(rows.clone(), areas),
        toward_lake: None,
        valley: Some(valley.clone()),
    };
    (Layout::join(&rows, vec![part]).unwrap(), valley)
}

fn line(layout: &Layout, flow_m3s: f64, river_degc: f64, froude: f64, level_m: f64) -> PlungeLine {
    let column = Column::<1>::filled(&layout.places[0].grid, [level_m], |_, _| water(18.0, 0.0)).unwrap();
    let river = water_density_kg_m3(river_degc);
    plunge_line((&layout.places, &[column]), 0, 0, (flow_m3s, river), froude)
}

#[test]
fn a_river_plunges_where_the_published_formula_has_its_depth() {
    let (layout, valley) = triangular();
    let at = line(&layout, 50.0, 8.0, 0.5, 60.0).distance_m().unwrap();
    let depth_m = 60.0 - valley.bed_m(at);
    println!("plunge depth {depth_m:.3} m");
    // P6-HPTRI: 6.59 m for 50 m3/s of 8 degC into 18 degC, half-angle 85 degrees, F 0.5. Widths lie linear between points.
    assert!((depth_m - 6.59).abs() < 0.02, "{depth_m}");
}

#[test]
fn the_line_moves_toward_the_lake_with_flow_warmth_and_a_falling_level_and_lies_in_its_band() {
    let (layout, _) = triangular();
    let at = |flow: f64, temp: f64, froude: f64, level: f64| {
        line(&layout, flow, temp, froude, level).distance_m().unwrap()
    };
    let usual = at(50.0, 8.0, 0.5, 60.0);
    assert!(at(100.0, 8.0, 0.5, 60.0) < usual);
    assert!(at(50.0, 14.0, 0.5, 60.0) < usual);
    assert!(at(50.0, 8.0, 0.3, 60.0) < usual && usual < at(50.0, 8.0, 0.7, 60.0));
    // A metre of level over a slope of 0.004: 250 m.
    let fallen = usual - at(50.0, 8.0, 0.5, 59.0);
    assert!((fallen - 250.0).abs() < 5.0, "{fallen}");
    assert!(matches!(
        line(&layout, 50.0, 25.0, 0.5, 60.0),
        PlungeLine::Floats { column: 0 }
    ));
    assert!(matches!(
        line(&layout, 50.0, 17.9, 0.5, 60.0),
        PlungeLine::Weak { column: 0, .. }
    ));
    assert_eq!(line(&layout, 50.0, 25.0, 0.5, 60.0).distance_m(), None);
}

#[test]
fn an_underflow_is_thinned_as_published() {
    // P6-ENT: 2.417 times after 5 km. Here 20 m of bed from the line to where it meets its own density; the lake is
    // 18 degC above that and 4 degC below, and the plunge takes nothing.
    let (layout, _) = triangular();
    let options = RiverOptions {
        plunge_takes_frac: 0.0,
        ..RiverOptions::default()
    };
    let bed_m = 60.0 - 6.59;
    let fill = |_: usize, e: f64, _: usize| water(if e > bed_m - 20.0 { 18.0 } else { 4.0 }, 0.0);
    let mut network = Network::<1>::filled(layout, options, [60.0], fill).unwrap();
    let river = River {
        column: 0,
        discharge_m3s: [50.0],
        water: [water(8.0, 1.0)],
    };
    let inputs = Inputs {
        step_s: 600.0,
        rivers: &[river],
        outlets: &[],
        direct: &[],
    };
    network.step(&inputs, |_, _| true).unwrap();
    let path = network.paths()[0][0].unwrap();
    println!("dilution {:.3}, at {:.1} m", path.dilution, path.rests_at.1);
    // Layer by layer the difference of density falls as water is taken in, which the formula holds fixed; and the
    // channel is that of the reach's middle. A tenth.
    assert!((path.dilution / 2.417 - 1.0).abs() < 0.1, "{}", path.dilution);
    assert!((path.rests_at.1 - (bed_m - 20.0)).abs() < 2.0);
}

#[test]
fn rivers_come_to_rest_by_their_density() {
    let rest = |river_degc: f64| {
        let mut network = summer::<1>(1.0, [256.0]);
        let head = network.layout().head_of(&ZoneId::new("sorrel")).unwrap();
        let river = River {
            column: head,
            discharge_m3s: [30.0],
            water: [water(river_degc, 1.0)],
        };
        let inputs = Inputs {
            step_s: 3600.0,
            rivers: &[river],
            outlets: &[],
            direct: &[],
        };
        network.step(&inputs, |_, _| true).unwrap();
        assert!(
            network
                .budget()
                .relative_residual(&network.content())
                .iter()
                .all(|r| *r < 1e-13)
        );
        let path = network.paths()[0][0].unwrap();
        (path, network)
    };
    let (warm, _) = rest(24.0);
    assert!(matches!(warm.line, PlungeLine::Floats { .. }) && warm.dilution == 1.0);
    let (cool, network) = rest(13.0);
    println!("13 degC: {cool:?}");
    // Between the 21 degC above and the 7 below: within the thermocline at 246 m, warmer than it came.
    assert!(cool.rests_at.1 > 243.0 && cool.rests_at.1 < 251.0 && !cool.on_the_bed);
    assert!(cool.dilution > 1.15);
    let sinks_in = cool.line.column();
    let head = network.layout().head_of(&ZoneId::new("sorrel")).unwrap();
    let share = cool.river_share_frac((network.layout(), network.columns()), 0, sinks_in, head);
    assert!(share > 0.0 && share < 1.0, "{share}");
    let (cold, _) = rest(4.0);
    println!("4 degC: {cold:?}");
    assert!(cold.rests_at.1 < cool.rests_at.1);
    // A flood fills the head of the arm and plunges nearer to the lake.
    assert!(cold.band[0].column() <= cold.band[1].column());
}

proptest! {
    #[test]
    fn a_river_brings_what_it_has_and_no_more(
        flow_m3s in 0.1..400.0f64,
        river_degc in 0.5..26.0f64,
        level_m in 228.0..257.0f64,
    ) {
        let mut network = summer::<1>(2.0, [level_m]);
        let head = network.layout().head_of(&ZoneId::new("sorrel")).unwrap();
        let river = River { column: head, discharge_m3s: [flow_m3s], water: [water(river_degc, 1.0)] };
        let inputs = Inputs { step_s: 3600.0, rivers: &[river], outlets: &[], direct: &[] };
        for _ in 0..6 {
            network.step(&inputs, |_, _| true).unwrap();
        }
        let content = network.content();
        let residual = network.budget().relative_residual(&content);
        // Some thousands of additions.
        prop_assert!(residual.iter().all(|r| *r < 1e-12), "{residual:?}");
        prop_assert!((content.river_m3[0] - 6.0 * 3600.0 * flow_m3s).abs() < 1e-9 * content.volume_m3[0]);
        let (low, high) = (river_degc.min(7.0), river_degc.max(21.0));
        for (i, column) in network.columns().iter().enumerate().filter(|(i, _)| network.closed().is_open(*i, 0)) {
            for layer in 0..=column.top[0] {
                let found = column.water(layer, 0);
                prop_assert!(found.temp_degc > low - 1e-9 && found.temp_degc < high + 1e-9, "{i} {layer} {found:?}");
                prop_assert!((-1e-12..=1.0 + 1e-12).contains(&found.river_frac));
            }
        }
    }
}
