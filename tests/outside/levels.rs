//! Water balance against the worked rows S-MB-* of fixtures/published/fish-series-checks.csv.

use chrono::NaiveDate;
use plungeline::conditions::balance::{
    DayValue, elevation_at_m, inferred_inflow, inflow_noise_m3s, storage_at_m3,
};
use plungeline::conditions::outlook::carry::{Flows, Limits, carry};
use plungeline::conditions::outlook::normal::NormalStorage;
use plungeline::conditions::residence::residence_days;
use plungeline::lake::Hypsography;
use plungeline::math::autoregression::{Ar1, sd_of_ar1_sum};
use plungeline::math::quantiles::quantiles;
use plungeline::math::streams::{normal, stream};
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

/// Limits of table H1.
fn limits() -> Limits {
    Limits {
        dead_pool_m3: 50e3 * M3_PER_ACRE_FT,
        crest_m3: 400e3 * M3_PER_ACRE_FT,
    }
}

/// Storage after a day of these flows, cfs, without evaporation.
fn next_m3(storage_m3: f64, inflow_cfs: f64, release_cfs: f64) -> f64 {
    let flows = Flows {
        inflow_m3s: inflow_cfs * M3S_PER_CFS,
        release_m3s: release_cfs * M3S_PER_CFS,
        evaporation_m3s: 0.0,
    };
    let carried = carry(storage_m3, flows, 1.0, limits());
    assert_eq!(
        (carried.spilled_m3, carried.withheld_m3),
        (0.0, 0.0),
        "a week stays within the table"
    );
    carried.storage_m3
}

#[test]
fn a_week_of_steady_flows_takes_the_lake_to_the_worked_level() {
    let start_m3 = storage_at_m3(&h1(), 880.0 * M_PER_FT).expect("inside the table");
    let end_m3 = (0..7).fold(start_m3, |s, _| next_m3(s, 1200.0, 2500.0));
    let level_m = elevation_at_m(&h1(), end_m3).expect("inside the table");
    row("S-PJ-1").assert(&[level_m / M_PER_FT]);
}

/// The storage of the worked week as a normal distribution, by the closed form.
fn worked_week() -> NormalStorage {
    let day_m3 = M3S_PER_CFS * S_PER_DAY;
    let start_m3 = storage_at_m3(&h1(), 880.0 * M_PER_FT).expect("inside the table");
    NormalStorage {
        mean_m3: start_m3 + 7.0 * (1500.0 - 2500.0) * day_m3,
        sd_m3: sd_of_ar1_sum(400.0, 0.8, 7) * day_m3,
    }
}

#[test]
fn the_level_of_a_week_ahead_has_the_worked_quantiles_and_chance() {
    row("S-PJ-sd").assert(&[sd_of_ar1_sum(400.0, 0.8, 7)]);
    // Independent days would have less than half of it.
    assert!(sd_of_ar1_sum(400.0, 0.8, 7) > 2.1 * sd_of_ar1_sum(400.0, 0.0, 7));
    let week = worked_week();
    let level_ft = [0.5, 0.1, 0.9].map(|p| week.level_quantile_m(&h1(), p).expect("inside") / M_PER_FT);
    row("S-PJ-q").assert(&level_ft);
    row("S-PJ-p").assert(&[week.below_prob(&h1(), 876.0 * M_PER_FT).expect("inside")]);
}

#[test]
fn members_drawn_day_by_day_agree_with_the_closed_form_within_their_sampling_error() {
    let count = 4000;
    let days = Ar1 {
        mean: 1500.0,
        rho: 0.8,
        step_sd: 400.0 * (1.0_f64 - 0.8 * 0.8).sqrt(),
    };
    let start_m3 = storage_at_m3(&h1(), 880.0 * M_PER_FT).expect("inside the table");
    let levels_ft: Vec<f64> = (0..count)
        .map(|m| {
            let mut numbers = stream(5, &format!("worked week/{m}"));
            let mut inflow_cfs = 1500.0 + 400.0 * normal(&mut numbers);
            let mut storage_m3 = next_m3(start_m3, inflow_cfs, 2500.0);
            for _ in 1..7 {
                inflow_cfs = days.next(inflow_cfs, normal(&mut numbers));
                storage_m3 = next_m3(storage_m3, inflow_cfs, 2500.0);
            }
            elevation_at_m(&h1(), storage_m3).expect("inside the table") / M_PER_FT
        })
        .collect();
    let found = quantiles(&levels_ft, [0.5, 0.1, 0.9]).expect("members");
    for (found, wanted) in found.iter().zip(row("S-PJ-q").numbers()) {
        // SD of the level 1.046 ft; standard error of the 10 % quantile of 4000: 1.71 x 1.046 / sqrt 4000 = 0.028 ft.
        assert!((found - wanted).abs() < 0.12, "{found} {wanted}");
    }
    let below = levels_ft.iter().filter(|l| **l < 876.0).count() as f64 / f64::from(count);
    // Standard error sqrt(0.24 x 0.76 / 4000) = 0.0068: four of it.
    assert!((below - row("S-PJ-p").numbers()[0]).abs() < 0.028, "{below}");
}
