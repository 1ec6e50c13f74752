//! Water balance against the worked rows S-MB-* of fixtures/published/fish-series-checks.csv.

use chrono::NaiveDate;
use plungeline::conditions::balance::{
    DayValue, elevation_at_m, inferred_inflow, inflow_noise_m3s, storage_at_m3,
};
use plungeline::conditions::residence::residence_days;
use plungeline::lake::Hypsography;
use plungeline::series::Daily;
use plungeline::units::{M_PER_FT, M2_PER_ACRE, M3_PER_ACRE_FT, M3S_PER_CFS, S_PER_DAY};

use crate::published::row;

/// Table H1 of series-and-skill 3.4 (synthetic).
fn h1() -> Hypsography {
    let elevation_ft = [800.0, 820.0, 840.0, 860.0, 880.0, 900.0];
    let storage_acre_ft = [50e3, 90e3, 145e3, 215e3, 300e3, 400e3];
    Hypsography {
        elevation_m: elevation_ft.iter().map(|e| e * M_PER_FT).collect(),
        area_m2: vec![1e7; 6],
        volume_m3: storage_acre_ft.iter().map(|s| s * M3_PER_ACRE_FT).collect(),
        volume_given: true,
    }
}

fn daily(values: impl IntoIterator<Item = Option<f64>>) -> Daily {
    Daily::new(
        NaiveDate::from_ymd_opt(2025, 6, 1).expect("a date"),
        values.into_iter().collect(),
    )
}

#[test]
fn the_storage_at_a_level_is_the_tables_straight_line() {
    let storage_m3 = storage_at_m3(&h1(), 879.62 * M_PER_FT).expect("inside the table");
    row("S-MB-S").assert(&[storage_m3 / M3_PER_ACRE_FT]);
    let back_m = elevation_at_m(&h1(), storage_m3).expect("inside the table");
    // Rounding of two divisions at about 270 m.
    assert!((back_m - 879.62 * M_PER_FT).abs() < 1e-9);
}

#[test]
fn a_level_outside_the_table_has_no_storage() {
    assert_eq!(storage_at_m3(&h1(), 799.0 * M_PER_FT), None);
    assert_eq!(storage_at_m3(&h1(), 901.0 * M_PER_FT), None);
    assert!(storage_at_m3(&h1(), 800.0 * M_PER_FT).is_some());
    assert!(storage_at_m3(&h1(), 900.0 * M_PER_FT).is_some());
}

#[test]
fn the_inferred_inflow_is_the_worked_balance() {
    let levels_ft = [880.0, 879.62, 879.30, 879.55, 880.40];
    let storage = daily(levels_ft.map(|h| storage_at_m3(&h1(), h * M_PER_FT)));
    let release = daily(
        [None, Some(1800.0), Some(1700.0), Some(1600.0), Some(1500.0)].map(|r| r.map(|r| r * M3S_PER_CFS)),
    );
    let evaporation = daily(
        [None, Some(60.0), Some(62.0), Some(58.0), Some(40.0)]
            .map(|e| e.map(|e| e * M3_PER_ACRE_FT / S_PER_DAY)),
    );
    let inflow =
        inferred_inflow(&storage, DayValue::EndOfDay, &release, Some(&evaporation)).expect("four days close");
    let found: Vec<f64> = inflow.value.iter().flatten().map(|i| i / M3S_PER_CFS).collect();
    row("S-MB-I").assert(&found);
}

#[test]
fn the_noise_of_the_inferred_inflow_falls_with_the_days_and_not_with_their_root() {
    let noise_cfs = |days| inflow_noise_m3s(0.02 * M_PER_FT, 4250.0 * M2_PER_ACRE, days) / M3S_PER_CFS;
    row("S-MB-sig").assert(&[noise_cfs(1)]);
    row("S-MB-sig7").assert(&[noise_cfs(7)]);
}

#[test]
fn the_residence_time_is_the_volume_over_the_release() {
    let days = residence_days(300e3 * M3_PER_ACRE_FT, 2000.0 * M3S_PER_CFS).expect("a release");
    row("S-RES").assert(&[days]);
}
