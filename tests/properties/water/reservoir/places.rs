//! The arms are not the main body.

use plungeline::column::layered::{ModelFactors, OxygenDemand};
use plungeline::column::network::PlungeLine;
use plungeline::column::reservoir::{LakeSetup, ReservoirSetup, SetupError};
use plungeline::lake::{Hypsography, ZoneId};

use super::super::network::harrow_gap;
use super::{forcing, november, run, setup};

/// Mean over a layer of some metres under the surface.
fn near_surface(lake: &plungeline::column::reservoir::Reservoir<1>, column: usize) -> (f64, f64) {
    let held = &lake.network().columns()[column];
    let grid = &lake.network().layout().places[column].grid;
    let level_m = held.surface_elevation_m[0];
    let (mut volume_m3, mut warmth, mut river) = (0.0, 0.0, 0.0);
    for layer in (0..=held.top[0]).filter(|i| level_m - held.middle_m(grid, *i, 0) < 3.0) {
        volume_m3 += held.volume_m3[layer][0];
        warmth += held.volume_m3[layer][0] * held.temp_degc[layer][0];
        river += held.volume_m3[layer][0] * held.river_frac[layer][0];
    }
    (warmth / volume_m3, river / volume_m3)
}

#[test]
fn in_june_the_cold_sorrel_sinks_and_the_warm_wicket_floats() {
    // The first of November and 220 days: the ninth of June.
    let forcing = forcing(220, 3600.0);
    let mut lake = november::<1>([ModelFactors::default()], 248.0);
    run(&mut lake, &forcing, 0..forcing.weather.len());
    let layout = lake.network().layout();
    let zone = |name: &str| ZoneId::new(name);
    let sorrel: Vec<usize> = layout.of_zone(&zone("sorrel")).collect();
    let wicket: Vec<usize> = layout.of_zone(&zone("wicket")).collect();
    assert!(sorrel.len() >= 3 && wicket.len() >= 2, "{sorrel:?} {wicket:?}");
    let [sorrel_path, wicket_path] = [0, 1].map(|river| lake.network().paths()[river][0].unwrap());
    assert!(
        matches!(sorrel_path.line, PlungeLine::Sinks { .. }),
        "{sorrel_path:?}"
    );
    assert!(
        !matches!(wicket_path.line, PlungeLine::Sinks { .. }),
        "{wicket_path:?}"
    );
    // It comes to rest under the surface and over the bed: an interflow.
    let rests_m = lake.network().level_m(0) - sorrel_path.rests_at.1;
    println!(
        "Sorrel rests {rests_m:.1} m down, dilution {:.2}",
        sorrel_path.dilution
    );
    assert!(rests_m > 3.0, "{rests_m}");
    let of = |column: usize| near_surface(&lake, column);
    for column in 0..layout.places.len() {
        println!("{column} {} {:?}", layout.places[column].zone, of(column));
    }
    // At its head the Sorrel is colder and more the river's than the main body.
    let (head, main) = (of(sorrel[sorrel.len() - 1]), of(0));
    assert!(
        head.0 < main.0 - 1.0 && head.1 > main.1 + 0.05,
        "{head:?} {main:?}"
    );
}

#[test]
fn a_dyed_arm_is_not_flushed_in_hours() {
    let forcing = forcing(12, 3600.0);
    let mut lake = november::<1>([ModelFactors::default()], 250.0);
    let wicket: Vec<usize> = {
        let layout = lake.network().layout();
        layout.of_zone(&ZoneId::new("wicket")).collect()
    };
    for column in &wicket {
        for row in &mut lake.network_mut().columns_mut()[*column].river_frac {
            *row = [1.0];
        }
    }
    let dye = |lake: &plungeline::column::reservoir::Reservoir<1>| -> f64 {
        let columns = lake.network().columns();
        let parts = wicket
            .iter()
            .map(|c| (columns[*c].river_m3(0), columns[*c].whole_m3(0)));
        let (river, whole) = parts.fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
        river / whole
    };
    run(&mut lake, &forcing, 0..6);
    let (six_hours, before) = (dye(&lake), 1.0);
    run(&mut lake, &forcing, 6..12 * 24);
    let twelve_days = dye(&lake);
    println!("dye {before} {six_hours:.3} {twelve_days:.3}");
    // Half of it after six hours would be a flush; after twelve days of autumn wind and cooling some has gone.
    assert!(
        six_hours > 0.5 && twelve_days < 0.95 * six_hours,
        "{six_hours} {twelve_days}"
    );
}

#[test]
fn fetch_and_area_give_each_zone_its_shelter() {
    let setup = setup();
    let power = |column: usize, from_deg: f64| setup.shelters[column].from(Some(from_deg)).power_frac;
    let sorrel = setup.layout.head_of(&ZoneId::new("sorrel")).unwrap();
    // The main body lies open to the north, the Sorrel Arm to the northeast.
    assert!(power(0, 0.0) > power(0, 90.0));
    assert!(power(sorrel, 45.0) > 1.5 * power(sorrel, 135.0));
    assert!(power(0, 0.0) > power(sorrel, 0.0));
    assert!(setup.without_column.is_empty());
    assert_eq!(setup.river_columns.len(), harrow_gap().inflows.len());
}

#[test]
fn an_arm_without_shares_stays_with_the_main_body_and_is_named() {
    let mut lake = harrow_gap();
    lake.zones
        .iter_mut()
        .filter(|z| z.id.as_str() == "wicket")
        .for_each(|z| z.area_share.clear());
    let setup = ReservoirSetup::of_lake(&lake).unwrap();
    assert_eq!(setup.without_column, [ZoneId::new("wicket")]);
    let of = lake
        .inflows
        .iter()
        .position(|i| i.enters.as_str() == "wicket")
        .unwrap();
    assert_eq!(setup.river_columns[of], 0);
}

#[test]
fn levels_that_make_no_layers_are_refused_with_the_remedy() {
    let mut lake = harrow_gap();
    lake.minimum_pool_elevation_m = 150.0;
    let refused = ReservoirSetup::of_lake(&lake).unwrap_err();
    assert!(matches!(refused, SetupError::Levels { .. }), "{refused}");
    assert!(refused.to_string().contains("mend the levels"), "{refused}");
    lake.hypsography = None;
    let refused = ReservoirSetup::of_lake(&lake).unwrap_err();
    assert!(matches!(refused, SetupError::Layout(_)), "{refused}");
    let one = LakeSetup {
        hypsography: Hypsography::from_areas(vec![0.0, 20.0], vec![1e5, 1e6]),
        start_elevation_m: 25.0,
        lowest_elevation_m: 18.0,
        extinction_per_m: [0.5; 12],
        demand: OxygenDemand {
            bed_g_m2_day: 1.0,
            water_mg_l_day: 0.0,
        },
        outlet_elevation_m: Vec::new(),
        start_degc: Vec::new(),
    };
    assert!(matches!(one.reservoir(0), Err(SetupError::Levels { .. })));
}
