//! One analysis: members in another order, what is out of reach, what is above a surface, what is refused.

use plungeline::column::assimilate::{
    AssimilationError, AssimilationOptions, Localisation, Place, WaterField, WaterObservation, assimilate,
};
use plungeline::column::layered::{Column, Grid, ModelFactors, Water};
use proptest::prelude::*;

use super::invented::{STEPS_A_DAY, assert_budget, cold, draws, observed, options, setup};

/// A summer's cast, and an oxygen.
fn cast() -> Vec<WaterObservation> {
    vec![
        observed(WaterField::Temp, 0.5, 19.0, 0.5),
        observed(WaterField::Temp, 12.0, 11.0, 0.5),
        observed(WaterField::Oxygen, 25.0, 5.0, 0.4),
    ]
}

#[test]
fn members_in_another_order_come_out_alike_to_the_bit() {
    let (mut plain, forcing) = cold::<4>(2, 100);
    let mut moved = plain.clone();
    // Member m of the one is member (3 m + 2) mod 8 of the other.
    let at = |m: usize| (3 * m + 2) % 8;
    for m in 0..8 {
        let mut factors = *moved.lakes[at(m) / 4].factors();
        factors[at(m) % 4] = plain.factors()[m / 4][m % 4];
        moved.lakes[at(m) / 4].set_factors(factors);
    }
    for step in 0..100 * STEPS_A_DAY {
        for ensemble in [&mut plain, &mut moved] {
            ensemble.step(&[&forcing], step).unwrap();
            if step % (20 * STEPS_A_DAY) == 5 {
                ensemble.assimilate(&cast(), &options()).unwrap();
            }
        }
    }
    for m in 0..8 {
        let (a, b) = (&plain.lakes[m / 4], &moved.lakes[at(m) / 4]);
        for field in WaterField::ALL {
            for (row, other) in field.of(a.main().1).iter().zip(field.of(b.main().1)) {
                assert_eq!(row[m % 4].to_bits(), other[at(m) % 4].to_bits());
            }
        }
        assert_eq!(
            plain.factors()[m / 4][m % 4],
            moved.factors()[at(m) / 4][at(m) % 4]
        );
    }
}

#[test]
fn observations_in_another_order_change_nothing() {
    let (plain, _) = cold::<4>(2, 1);
    let (mut forward, mut backward) = (plain.clone(), plain);
    let mut turned = cast();
    turned.reverse();
    assert_eq!(
        forward.assimilate(&cast(), &options()).unwrap(),
        backward.assimilate(&turned, &options()).unwrap()
    );
    assert_eq!(forward.lakes[0].main().1, backward.lakes[0].main().1);
}

fn grid() -> Grid {
    Grid::new(
        setup().hypsography,
        (0..=40).map(|i| 160.0 + f64::from(i)).collect(),
    )
    .unwrap()
}

/// A column of eight members, each a little warmer than the one before, with its own level.
fn column(grid: &Grid, level_m: [f64; 8]) -> Column<8> {
    let made = Column::filled(grid, level_m, |elevation_m, lane| Water {
        temp_degc: 5.0 + 0.3 * (elevation_m - 160.0) + 0.2 * lane as f64,
        oxygen_mg_l: 4.0 + 0.1 * (elevation_m - 160.0) - 0.1 * lane as f64,
        river_frac: 0.3 + 0.05 * lane as f64,
    });
    made.unwrap()
}

#[test]
fn what_lies_above_a_surface_is_inert_and_no_level_moves() {
    let grid = grid();
    let level_m = [190.0, 191.3, 192.0, 188.7, 190.2, 195.4, 190.0, 190.9];
    let mut column = column(&grid, level_m);
    let before = column.clone();
    let mut factors = draws::<8>(1);
    let mut place = [Place {
        grid: &grid,
        columns: vec![&mut column],
    }];
    let seen = [observed(WaterField::Temp, 0.2, 19.0, 0.4)];
    let analysis = assimilate(&mut place, &mut factors, &seen, &options()).unwrap();
    assert_eq!(
        (
            &column.volume_m3,
            column.top,
            column.surface_elevation_m,
            column.surface_area_m2
        ),
        (
            &before.volume_m3,
            before.top,
            before.surface_elevation_m,
            before.surface_area_m2
        )
    );
    for lane in 0..8 {
        assert_ne!(
            column.temp_degc[column.top[lane]][lane],
            before.temp_degc[column.top[lane]][lane]
        );
        for layer in column.top[lane] + 1..grid.layers() {
            assert_eq!(column.water(layer, lane), before.water(layer, lane));
        }
        let put = analysis.increments[0][0][lane].heat_j;
        // It is the difference of two sums: to their rounding.
        assert!((column.heat_j(lane) - before.heat_j(lane) - put).abs() <= 1e-12 * column.heat_j(lane));
    }
}

#[test]
fn another_place_and_deep_water_out_of_reach_stay_to_the_bit() {
    let grid = grid();
    let (mut here, mut there) = (column(&grid, [199.0; 8]), column(&grid, [199.0; 8]));
    let before = here.clone();
    let far = vec![vec![0.0, 9000.0], vec![9000.0, 0.0]];
    let options = AssimilationOptions {
        factor_weight_frac: 0.0,
        ..AssimilationOptions::of(Localisation::of_places(4.0, &far, 4000.0))
    };
    let mut factors = draws::<8>(1);
    let first = factors.clone();
    let mut places = [
        Place {
            grid: &grid,
            columns: vec![&mut here],
        },
        Place {
            grid: &grid,
            columns: vec![&mut there],
        },
    ];
    let seen = [observed(WaterField::Temp, 1.0, 14.0, 0.4)];
    assimilate(&mut places, &mut factors, &seen, &options).unwrap();
    assert_eq!(there, before);
    // Twice the half-width below the surface layer, and what convection could reach, is well above 20 m.
    for layer in 0..grid.layers() {
        if grid.face_elevation_m()[layer + 1] < 179.0 {
            assert_eq!(here.temp_degc[layer], before.temp_degc[layer], "layer {layer}");
        }
    }
    assert_ne!(here.temp_degc[here.top[0]], before.temp_degc[before.top[0]]);
    let logs = |f: &[[ModelFactors; 8]]| f[0].map(|m| m.wind_frac);
    for (now, then) in logs(&factors).into_iter().zip(logs(&first)) {
        assert!((now / then - 1.0).abs() < 1e-14);
    }
}

#[test]
fn a_reading_below_the_bed_is_left_out_and_said() {
    let (mut ensemble, _) = cold::<8>(1, 1);
    let before = ensemble.lakes[0].main().1.clone();
    let seen = [observed(WaterField::Temp, 60.0, 5.0, 0.2)];
    let analysis = ensemble.assimilate(&seen, &options()).unwrap();
    assert_eq!(analysis.seen[0].innovation_and_variance, None);
    assert_eq!(*ensemble.lakes[0].main().1, before);
}

#[test]
fn what_makes_no_analysis_is_refused_and_changes_nothing() {
    let (mut ensemble, _) = cold::<8>(2, 1);
    let before = ensemble.clone();
    for (depth_m, value, error) in [
        (-0.1, 5.0, 0.2),
        (1.0, f64::NAN, 0.2),
        (1.0, 5.0, 0.0),
        (f64::NAN, 5.0, 0.2),
        (1.0, 5.0, f64::NAN),
    ] {
        let refused = ensemble.assimilate(&[observed(WaterField::Temp, depth_m, value, error)], &options());
        assert!(
            matches!(refused, Err(AssimilationError::Observation { .. })),
            "{refused:?}"
        );
    }
    let elsewhere = [WaterObservation {
        place: 1,
        ..observed(WaterField::Temp, 1.0, 5.0, 0.2)
    }];
    let refused = ensemble.assimilate(&elsewhere, &options());
    assert!(matches!(
        refused,
        Err(AssimilationError::Observation { place: 1, .. })
    ));
    let two = AssimilationOptions::of(Localisation::of_places(8.0, &[vec![0.0; 2], vec![0.0; 2]], 1.0));
    let refused = ensemble.assimilate(&cast(), &two);
    assert_eq!(
        refused.unwrap_err(),
        AssimilationError::Weights { found: 2, wanted: 1 }
    );
    assert_eq!(
        (ensemble.lakes[1].main().1, ensemble.factors()),
        (before.lakes[1].main().1, before.factors())
    );
    let (grid, mut column) = (
        ensemble.lakes[0].main().0.clone(),
        ensemble.lakes[0].main().1.clone(),
    );
    let mut short = [Place {
        grid: &grid,
        columns: vec![&mut column],
    }];
    let refused = assimilate(&mut short, &mut draws::<8>(2), &cast(), &options());
    assert_eq!(
        refused.unwrap_err(),
        AssimilationError::Blocks {
            place: 0,
            found: 1,
            wanted: 2
        }
    );
    let (mut one, _) = cold::<1>(1, 1);
    assert_eq!(
        one.assimilate(&cast(), &options()).unwrap_err(),
        AssimilationError::TooFew { found: 1 }
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn whatever_is_observed_the_water_stays_water_and_the_budget_closes(
        seen in proptest::collection::vec((0usize..3, 0.0..45.0f64, -5.0..40.0f64, 0.05..2.0f64), 1..8),
        days in 5usize..40,
    ) {
        let (mut ensemble, forcing) = cold::<8>(1, days + 2);
        let seen: Vec<WaterObservation> = seen
            .into_iter()
            .map(|(field, depth_m, value, error)| observed(WaterField::ALL[field], depth_m, value, error))
            .collect();
        for step in 0..(days + 2) * STEPS_A_DAY {
            ensemble.step(&[&forcing], step).unwrap();
            if step == days * STEPS_A_DAY {
                ensemble.assimilate(&seen, &options()).unwrap();
                let column = ensemble.lakes[0].main().1;
                for lane in 0..8 {
                    for layer in 0..=column.top[lane] {
                        let water = column.water(layer, lane);
                        prop_assert!(water.temp_degc >= 0.0 && water.oxygen_mg_l >= 0.0);
                        prop_assert!((0.0..=1.0).contains(&water.river_frac));
                    }
                }
            }
        }
        assert_budget(&ensemble.lakes[0]);
    }
}

#[test]
fn factors_that_run_away_are_held_and_counted() {
    let (mut ensemble, forcing) = cold::<8>(1, 9);
    for step in 0..9 * STEPS_A_DAY {
        ensemble.step(&[&forcing], step).unwrap();
    }
    // Two certain readings of winter water that no factor can explain.
    let seen = [
        observed(WaterField::Temp, 0.0, 36.0, 0.05),
        observed(WaterField::Temp, 30.0, 0.0, 0.05),
    ];
    let analysis = ensemble.assimilate(&seen, &options()).unwrap();
    assert!(analysis.restored.factors > 0);
    // Four spreads of the draws: 0.15 of the wind, 0.5 of the background diffusivity.
    for factors in ensemble.factors().iter().flatten() {
        assert!(
            factors.wind_frac.ln().abs() < 0.6 + 1e-12 && factors.background_frac.ln().abs() < 2.0 + 1e-12
        );
    }
}
