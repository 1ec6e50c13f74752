//! The lake cut open along its arms, as a value, against the columns that it is made from.

use chrono::{DateTime, Utc};
use plungeline::column::WayKind;
use plungeline::column::forcing::Forcing;
use plungeline::column::layered::{Lanes, ModelFactors, Water};
use plungeline::column::reservoir::{
    DriveBuffer, Ensemble, MouthSide, Reservoir, ReservoirSetup, Section, SectionColumn, SectionRows,
    section_of,
};
use plungeline::lake::{Lake, Zone, ZoneId};

use super::super::network::harrow_gap;
use super::{forcing, november};

/// The instant, and that since when rivers count.
fn times() -> (DateTime<Utc>, DateTime<Utc>) {
    let at = |text: &str| text.parse().unwrap();
    (at("2025-09-25T11:00:00Z"), at("2025-08-26T11:00:00Z"))
}

/// A lake whose water tells column, elevation and lane: temperature 10 + column + lane/10 + 0.01 e.
fn filled<const L: usize>(lake: &Lake, level_m: Lanes<L>) -> Reservoir<L> {
    let setup = ReservoirSetup::of_lake(lake).unwrap();
    let water = |column: usize, elevation_m: f64, lane: usize| Water {
        temp_degc: 10.0 + column as f64 + 0.1 * lane as f64 + 0.01 * elevation_m,
        oxygen_mg_l: 5.0 + 0.2 * lane as f64,
        river_frac: 0.1 + 0.05 * lane as f64,
    };
    Reservoir::filled(&setup, [ModelFactors::default(); L], level_m, water).unwrap()
}

fn section<const L: usize>(lake: &Lake, level_m: Lanes<L>) -> Section {
    section_of(lake, std::slice::from_ref(&filled(lake, level_m)), times()).unwrap()
}

/// Harrow Gap with as many arms: none, the Sorrel, both, or two more cut off them.
pub fn with_arms(arms: usize) -> Lake {
    let mut lake = harrow_gap();
    let names = ["sorrel", "wicket", "tansy", "yarrow"];
    let halved = |zone: &Zone, id: &str, name: &str| {
        let mut half = zone.clone();
        (half.id, half.name) = (ZoneId::new(id), name.to_owned());
        half.area_share.iter_mut().for_each(|row| row.1 *= 0.5);
        half
    };
    if arms > 2 {
        let of = |name: &str| lake.zone(&ZoneId::new(name)).unwrap().clone();
        let (sorrel, wicket) = (of("sorrel"), of("wicket"));
        lake.zones = vec![
            lake.main_body().clone(),
            halved(&sorrel, "sorrel", "Sorrel Arm"),
            halved(&wicket, "wicket", "Wicket Arm"),
            halved(&sorrel, "tansy", "Tansy Arm"),
            halved(&wicket, "yarrow", "Yarrow Arm"),
        ];
    }
    lake.zones.retain(|zone| {
        let at = names.iter().position(|name| zone.id.as_str() == *name);
        at.is_none_or(|i| i < arms)
    });
    lake
}

/// What is drawn from left to right, or from the top: `zone:reach`.
fn order(section: &Section) -> Vec<String> {
    section
        .columns()
        .map(|(zone, column)| format!("{}:{}", zone.id, column.reach))
        .collect()
}

#[test]
fn every_number_of_a_layer_is_the_median_of_the_members() {
    let lake = harrow_gap();
    for (columns, lanes) in [(section(&lake, [250.0; 3]), 3), (section(&lake, [250.0; 4]), 4)] {
        assert_eq!((columns.members, columns.at), (lanes, times().0));
        // Lanes 0, 1, 2: the middle one. Lanes 0 to 3: half-way between 1 and 2.
        let lane = if lanes == 3 { 1.0 } else { 1.5 };
        let reservoir = filled(&lake, [250.0; 1]);
        let network = reservoir.network();
        let open = || columns.columns().filter(|(_, column)| !column.closed);
        // At 250 m the head of the Sorrel holds less than a thousandth of the lake.
        assert_eq!(open().count(), 6);
        for (_, column) in open() {
            let held = &network.columns()[column.column];
            let grid = &network.layout().places[column.column].grid;
            assert_eq!(column.layers.len(), held.top[0] + 1);
            assert_eq!((column.closed, column.open_members), (false, lanes));
            assert_eq!(column.surface_elevation_m, Some(250.0));
            for (i, layer) in column.layers.iter().enumerate() {
                let wanted_degc = held.temp_degc[i][0] + 0.1 * lane;
                // Rounding of a few additions.
                assert!((layer.temp_degc - wanted_degc).abs() < 1e-12, "{layer:?}");
                assert!(
                    (layer.oxygen_mg_l - (5.0 + 0.2 * lane)).abs() < 1e-12,
                    "{layer:?}"
                );
                assert!(
                    (layer.river_frac - (0.1 + 0.05 * lane)).abs() < 1e-12,
                    "{layer:?}"
                );
                let above = column.layers.get(i + 1).map_or(250.0, |l| l.bottom_elevation_m);
                assert_eq!(layer.top_elevation_m, above, "layers lie on each other");
                if i > 0 {
                    assert_eq!(layer.bottom_elevation_m, grid.face_elevation_m()[i]);
                }
            }
            assert_eq!(column.layers[0].bottom_elevation_m, column.bed_elevation_m);
        }
    }
}

#[test]
fn members_with_other_levels_have_a_say_as_far_up_as_their_water_reaches() {
    let lake = with_arms(0);
    let section = section(&lake, [246.2, 250.2, 251.2]);
    let column = &section.zones[0].columns[0];
    assert_eq!(section.surface_elevation_m, 250.2);
    assert_eq!(column.surface_elevation_m, Some(250.2));
    let at = |elevation_m: f64| {
        let inside = |l: &&plungeline::column::reservoir::SectionLayer| {
            (l.bottom_elevation_m..l.top_elevation_m).contains(&elevation_m)
        };
        column.layers.iter().find(inside).unwrap().oxygen_mg_l
    };
    // Below 246 all three have water: lane 1. Above it lanes 1 and 2 alone: half-way between them.
    assert!((at(240.0) - 5.2).abs() < 1e-12, "{}", at(240.0));
    assert!((at(249.0) - 5.3).abs() < 1e-12, "{}", at(249.0));
}

#[test]
fn the_blocks_of_an_ensemble_are_members_alike() {
    let lake = harrow_gap();
    let blocks = Ensemble {
        lakes: vec![filled(&lake, [250.0; 2]), filled(&lake, [252.0; 2])],
    };
    let section = section_of(&lake, &blocks.lakes, times()).unwrap();
    assert_eq!((section.members, section.surface_elevation_m), (4, 251.0));
    // Lanes 0 and 1 twice.
    assert!((section.zones[1].columns[0].layers[5].oxygen_mg_l - 5.1).abs() < 1e-12);
    assert_eq!(section_of::<2>(&lake, &[], times()), None);
}

#[test]
fn zones_stand_as_water_runs_for_up_to_two_arms_and_in_rows_for_more() {
    // Of config/lakes/harrow-gap.toml: the Sorrel's thalweg is 9.0 mi, the Wicket's 2.6 mi; reaches of about 3.5 km.
    let sorrel_down = ["sorrel:4", "sorrel:3", "sorrel:2", "sorrel:1"];
    let rows = [
        (0, vec!["main:1"]),
        (1, [&sorrel_down[..], &["main:1"]].concat()),
        (
            2,
            [&sorrel_down[..], &["main:1", "wicket:1", "wicket:2"]].concat(),
        ),
    ];
    for (arms, wanted) in rows {
        let section = section(&with_arms(arms), [250.0; 1]);
        assert_eq!(order(&section), wanted);
        assert_eq!(section.rows, SectionRows::Together);
        let main = section.zones.iter().find(|z| z.id.as_str() == "main").unwrap();
        assert_eq!(main.mouth, MouthSide::Right, "water runs to the dam at the right");
    }
    let section = section(&with_arms(4), [250.0; 1]);
    let wanted = [
        &["main:1"][..],
        &["sorrel:1", "sorrel:2", "sorrel:3", "sorrel:4"],
        &["wicket:1", "wicket:2"],
        &["tansy:1", "tansy:2", "tansy:3", "tansy:4"],
        &["yarrow:1", "yarrow:2"],
    ];
    assert_eq!(order(&section), wanted.concat());
    assert_eq!(section.rows, SectionRows::EachZone);
    assert!(section.zones.iter().all(|zone| zone.mouth == MouthSide::Left));
    assert_eq!(section.zones[3].name, "Tansy Arm");
}

#[test]
fn distances_and_the_bed_are_those_of_the_thalweg() {
    const MILE_M: f64 = 1609.344; // exact
    let section = section(&harrow_gap(), [250.0; 1]);
    let ends: Vec<(f64, f64)> = section.zones.iter().map(|zone| zone.reach_m()).collect();
    for (found, miles) in ends.iter().zip([9.0, 5.5, 2.6]) {
        assert!(
            found.0 == 0.0 && (found.1 - miles * MILE_M).abs() < 1e-6,
            "{found:?}"
        );
    }
    let sorrel = &section.zones[0];
    for column in &sorrel.columns {
        let reach_m = 9.0 * MILE_M / 4.0;
        assert!((column.from_m - reach_m * (column.reach - 1) as f64).abs() < 1e-6);
        assert!((column.to_m - reach_m * column.reach as f64).abs() < 1e-6);
    }
    // At mile 3 the Sorrel's bed lies at 722 ft, half-way to mile 4.5 at 737 ft.
    let bed_m = |mile: f64| {
        let at_m = mile * MILE_M;
        let over = |c: &&SectionColumn| (c.from_m..c.to_m).contains(&at_m);
        sorrel.columns.iter().find(over).unwrap().bed_at_m(at_m)
    };
    assert!((bed_m(3.0) - 722.0 * 0.3048).abs() < 1e-9);
    assert!((bed_m(3.75) - 737.0 * 0.3048).abs() < 1e-9);
}

#[test]
fn a_zone_without_a_thalweg_is_four_times_as_long_as_wide() {
    let mut lake = with_arms(1);
    lake.zones.iter_mut().for_each(|zone| zone.thalweg.clear());
    let section = section(&lake, [250.0; 1]);
    assert_eq!(order(&section), ["sorrel:1", "main:1"]);
    for zone in &section.zones {
        let reservoir = filled(&lake, [250.0; 1]);
        let grid = &reservoir.network().layout().places[zone.columns[0].column].grid;
        let area_m2 = grid.surface_area_m2(lake.full_pool_elevation_m).unwrap();
        let length_m = zone.reach_m().1;
        assert!(!zone.thalweg_known && zone.columns[0].bed.is_empty());
        assert!((length_m * length_m / 4.0 / area_m2 - 1.0).abs() < 1e-12);
        assert_eq!(zone.columns[0].bed_at_m(1.0), zone.columns[0].bed_elevation_m);
    }
}

#[test]
fn a_closed_arm_has_its_neighbours_water_or_none() {
    // The Wicket's mouth lies at 234.1 m (768 ft): dry at 233 m, a metre and a half of water at 235.5 m.
    for (level_m, layers) in [(233.0, 0), (235.5, 1)] {
        let section = section(&harrow_gap(), [level_m; 3]);
        let wicket = &section.zones[2].columns;
        assert!(
            wicket.iter().all(|c| c.closed && c.open_members == 0),
            "{level_m}"
        );
        assert_eq!(wicket[0].layers.len(), layers, "{level_m}");
        assert_eq!(wicket[0].surface_elevation_m.is_some(), layers > 0);
        assert!(section.zones[1].columns.iter().all(|c| !c.closed));
    }
    // Open in one member of three is closed; in two of three it is open, and the medians are over these two.
    let of = |level_m: [f64; 3]| section(&harrow_gap(), level_m).zones[2].columns[0].clone();
    let closed = of([250.0, 233.0, 233.0]);
    assert_eq!(
        (closed.closed, closed.open_members, closed.layers.len()),
        (true, 1, 0)
    );
    let open = of([250.0, 233.0, 250.0]);
    assert_eq!((open.closed, open.open_members), (false, 2));
    // Lanes 0 and 2.
    assert!((open.layers[0].oxygen_mg_l - 5.2).abs() < 1e-12);
}

#[test]
fn rivers_are_told_as_the_network_has_them() {
    // A day of November in a mixed lake of 11 degC: the Sorrel is colder, the Wicket warmer; each lane has more of it.
    let more = |factor: f64| {
        let mut forcing: Forcing = forcing(1, 3600.0);
        forcing.rivers[0]
            .iter_mut()
            .for_each(|r| r.discharge_m3s *= factor);
        forcing
    };
    let forcings = [more(4.0), more(1.0), more(2.0)];
    let mut lake = november::<3>([ModelFactors::default(); 3], 250.0);
    let mut buffer = DriveBuffer::default();
    for step in 0..24 {
        let [a, b, c] = &forcings;
        lake.step(&buffer.gather([a, b, c], step)).unwrap();
    }
    let section = section_of(&harrow_gap(), std::slice::from_ref(&lake), times()).unwrap();
    let [sorrel, wicket] = &section.rivers[..] else {
        panic!("two rivers");
    };
    let paths = lake.network().paths()[0].map(|path| path.unwrap());
    println!("{paths:?}\n{sorrel:?}\n{wicket:?}");
    assert_eq!((sorrel.way, sorrel.way_members), (Some(WayKind::Sinks), 3));
    assert_eq!(sorrel.name, "Sorrel River");
    // More water sinks nearer to the mouth: lane 2 is the middle one.
    let line = sorrel.line.unwrap();
    assert_eq!(
        (line.column, line.distance_m),
        (paths[2].line.column(), paths[2].line.distance_m())
    );
    let [head, mouth] = sorrel.line_band.unwrap();
    assert_eq!(mouth.distance_m, paths[2].band[0].distance_m());
    assert_eq!(head.distance_m, paths[2].band[1].distance_m());
    let rest = sorrel.rest.unwrap();
    let there = paths.iter().filter(|p| p.rests_at.0 == rest.column);
    let (least, most) = there.fold((f64::MAX, f64::MIN), |m, p| {
        (m.0.min(p.rests_at.1), m.1.max(p.rests_at.1))
    });
    assert!((least..=most).contains(&rest.elevation_m), "{rest:?}");
    assert_eq!((wicket.way, wicket.line), (Some(WayKind::Floats), None));
    // No river has flown yet in a lake that has not been stepped.
    let before = section_of(
        &harrow_gap(),
        &[november::<1>([ModelFactors::default()], 250.0)],
        times(),
    );
    assert!(before.unwrap().rivers.iter().all(|river| river.way.is_none()));
}

#[test]
fn a_section_is_the_same_after_writing_and_reading_and_has_a_schema() {
    let mut lake = harrow_gap();
    let wicket = ZoneId::new("wicket");
    lake.zones
        .iter_mut()
        .filter(|z| z.id == wicket)
        .for_each(|z| z.area_share.clear());
    let section = section(&lake, [250.0; 2]);
    assert_eq!(section.without_column, [wicket]);
    let written = serde_json::to_value(&section).unwrap();
    assert_eq!(
        serde_json::from_value::<Section>(written.clone()).unwrap(),
        section
    );
    let schema = serde_json::to_value(schemars::schema_for!(Section)).unwrap();
    let valid = jsonschema::validator_for(&schema).unwrap();
    assert!(valid.is_valid(&written));
}
