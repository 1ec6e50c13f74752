//! Quality flags against the reference library's (ioos_qc 3.0.0, through `fixtures/published`), and
//! on a reservoir's real record.

use chrono::Duration;
use plungeline::lake::{Cadence, Hypsography, InflowId, SeriesPlace};
use plungeline::quality::aggregate::{aggregate, aggregate_as_reference};
use plungeline::quality::flat::check_flat;
use plungeline::quality::range::{Span, check_gross_range};
use plungeline::quality::rate::check_rate;
use plungeline::quality::spike::{Limits, SpikeMethod, check_spike, check_spike_in_turn};
use plungeline::quality::{Thresholds, flag_series, flag_set};
use plungeline::quantity::Quantity;
use plungeline::series::{Flag, Observation, SeriesSet};
use plungeline::units::{M_PER_FT, M3S_PER_CFS};

use crate::published::row;
use crate::store_lake::{self, at, batch, key, source};

/// Table L1: hourly level, ft (made up for the check rows).
const L1: [Option<f64>; 12] = [
    Some(905.00),
    Some(905.02),
    Some(905.03),
    Some(905.05),
    Some(907.55),
    Some(905.08),
    Some(905.10),
    Some(905.10),
    Some(905.10),
    Some(905.10),
    Some(905.10),
    None,
];
/// Table D1: daily discharge, cfs.
const D1: [f64; 10] = [
    310.0, 305.0, 300.0, 2400.0, 1800.0, 900.0, 640.0, -5.0, 520.0, 480.0,
];
/// Table W1: hourly water temperature, degC.
const W1: [f64; 10] = [22.1, 22.0, 21.9, 25.4, 21.9, 22.0, 22.0, 22.0, 22.0, 22.0];
/// Table A1: hourly air temperature, degC.
const A1: [f64; 10] = [31.0, 33.5, 35.0, 48.0, 34.0, 61.0, 30.0, 28.0, 27.0, 26.0];
/// Table U1: hourly wind, m/s.
const U1: [f64; 10] = [3.0, 4.0, 0.0, 0.0, 0.0, 0.0, 12.0, 31.0, 70.0, 5.0];

fn span(low: f64, high: f64) -> Span {
    Span { low, high }
}

fn limits(suspect: f64, fail: f64) -> Limits {
    Limits { suspect, fail }
}

fn some(values: &[f64]) -> Vec<Option<f64>> {
    values.iter().map(|&v| Some(v)).collect()
}

fn hours(n: usize) -> Vec<f64> {
    (0..n).map(|i| i as f64).collect()
}

fn codes(flags: &[Flag]) -> Vec<f64> {
    flags.iter().map(|flag| f64::from(flag.code())).collect()
}

#[test]
fn gross_range_flags_are_those_of_the_reference_library() {
    let check = |id: &str, values: &[Option<f64>], fail, suspect| {
        row(id).assert(&codes(&check_gross_range(values, fail, suspect)));
    };
    check("S-QC-L-gross", &L1, span(800.0, 1000.0), span(850.0, 950.0));
    check(
        "S-QC-Q-gross",
        &some(&D1),
        span(0.0, 60_000.0),
        span(20.0, 30_000.0),
    );
    check("S-QC-A-gross", &some(&A1), span(-30.0, 55.0), span(-10.0, 47.0));
    check("S-QC-U-gross", &some(&U1), span(0.0, 60.0), span(0.0, 30.0));
}

#[test]
fn spike_flags_are_those_of_the_reference_library() {
    let check = |id: &str, values: &[Option<f64>], limits, method| {
        row(id).assert(&codes(&check_spike(values, limits, method)));
    };
    check("S-QC-L-spike", &L1, limits(0.5, 1.0), SpikeMethod::Average);
    check("S-QC-L-spiked", &L1, limits(0.5, 1.0), SpikeMethod::Differential);
    check(
        "S-QC-Q-spike",
        &some(&D1),
        limits(500.0, 1500.0),
        SpikeMethod::Average,
    );
    check("S-QC-W-spike", &some(&W1), limits(1.5, 3.0), SpikeMethod::Average);
}

#[test]
fn rate_flags_are_those_of_the_reference_library() {
    row("S-QC-L-roc").assert(&codes(&check_rate(&hours(12), &L1, 0.5)));
    row("S-QC-W-roc").assert(&codes(&check_rate(&hours(10), &some(&W1), 1.0)));
}

#[test]
fn flat_line_flags_are_those_of_the_reference_library() {
    row("S-QC-L-flat").assert(&codes(&check_flat(&hours(12), &L1, limits(2.0, 4.0), 0.005)));
    row("S-QC-W-flat").assert(&codes(&check_flat(
        &hours(10),
        &some(&W1),
        limits(3.0, 5.0),
        0.05,
    )));
}

#[test]
fn the_reference_order_of_flags_gives_the_reference_aggregate() {
    let tests = [
        check_gross_range(&L1, span(800.0, 1000.0), span(850.0, 950.0)),
        check_spike(&L1, limits(0.5, 1.0), SpikeMethod::Average),
        check_rate(&hours(12), &L1, 0.5),
        check_flat(&hours(12), &L1, limits(2.0, 4.0), 0.005),
    ];
    let of = |i: usize| tests.iter().map(move |flags| flags[i]);
    let reference: Vec<Flag> = (0..12).map(|i| aggregate_as_reference(of(i))).collect();
    row("S-QC-L-agg").assert(&codes(&reference));
    let ours: Vec<Flag> = (0..12).map(|i| aggregate(of(i))).collect();
    assert_eq!(ours, reference, "on this table both orders agree");
    assert_eq!(aggregate([Flag::Pass, Flag::Missing]), Flag::Missing);
    assert_eq!(
        aggregate_as_reference([Flag::Pass, Flag::Missing]),
        Flag::Pass,
        "the trap of that order"
    );
}

#[test]
fn in_turn_only_the_spike_itself_is_failed() {
    let flags = check_spike_in_turn(&hours(12), &L1, limits(0.5, 1.0), 3.0);
    assert_eq!(
        codes(&flags),
        [2.0, 1.0, 1.0, 2.0, 4.0, 2.0, 1.0, 1.0, 1.0, 1.0, 2.0, 9.0]
    );
    let flags = check_spike_in_turn(&hours(10), &some(&W1), limits(1.5, 3.0), 3.0);
    assert_eq!(codes(&flags), [2.0, 1.0, 2.0, 4.0, 2.0, 1.0, 1.0, 1.0, 1.0, 2.0]);
}

fn flagged(quantity: Quantity, cadence: Cadence, values: impl Iterator<Item = f64>) -> Vec<Flag> {
    let series = source("x", quantity, &[cadence]);
    let step = if cadence == Cadence::Daily {
        Duration::days(1)
    } else {
        Duration::hours(1)
    };
    let mut rows = batch(key("x", cadence), at("2020-01-01T08:00:00Z"), step, values).rows;
    flag_series(
        &mut rows,
        &series,
        cadence,
        &store_lake::lake(vec![series.clone()]),
        &Thresholds::built_in(),
    );
    rows.iter().map(|row| row.flag).collect()
}

#[test]
fn a_level_spike_is_failed_and_its_neighbours_pass() {
    // Table L1, brought to this lake's levels (full pool 845 ft).
    let level = L1.iter().flatten().map(|ft| (ft - 100.0) * M_PER_FT);
    let flags = flagged(Quantity::PoolElevation, Cadence::Continuous, level);
    assert_eq!(
        codes(&flags),
        [1.0, 1.0, 1.0, 1.0, 4.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    );
}

#[test]
fn a_false_level_that_is_repeated_fails_and_a_gate_step_does_not() {
    // A level that moves by hundredths of a foot; at 500 h two values 2.5 ft off.
    let level = |i: usize| (830.0 + 0.01 * (i % 7) as f64) * M_PER_FT;
    let repeated = (0..1000).map(|i| {
        level(i)
            + if (500..502).contains(&i) {
                2.5 * M_PER_FT
            } else {
                0.0
            }
    });
    let flags = flagged(Quantity::PoolElevation, Cadence::Continuous, repeated);
    assert_eq!(&flags[500..502], [Flag::Fail; 2]);
    assert_eq!(flags.iter().filter(|f| **f == Flag::Fail).count(), 2);
    // A step that stays, of a level that goes on falling, is suspect at most: the lake may have been lowered.
    let step = (0..1000).map(|i| {
        let falling_ft = 830.0 - 0.001 * f64::from(i) - if i >= 500 { 2.5 } else { 0.0 };
        falling_ft * M_PER_FT
    });
    let flags = flagged(Quantity::PoolElevation, Cadence::Continuous, step);
    assert!(flags.iter().all(|f| *f != Flag::Fail));
}

#[test]
fn a_level_outside_the_lake_fails() {
    let flags = flagged(
        Quantity::PoolElevation,
        Cadence::Daily,
        [840.0, 851.0, 720.0].map(|ft| ft * M_PER_FT).into_iter(),
    );
    assert_eq!(flags[1..], [Flag::Fail, Flag::Fail]);
}

#[test]
fn a_stuck_sensor_is_found_and_a_flood_is_not_called_a_spike() {
    let stuck = (0..40).map(|i| if i < 10 { 12.0 + 0.1 * f64::from(i) } else { 13.4 });
    let flags = codes(&flagged(Quantity::WaterTemp, Cadence::Continuous, stuck));
    assert_eq!(
        (flags[9], flags[21], flags[22], flags[33], flags[34]),
        (1.0, 1.0, 3.0, 3.0, 4.0)
    );

    // Daily flood of table D1, with enough ordinary days before it that the record is known.
    let ordinary =
        (0..1000).map(|i| 300.0 + 200.0 * (f64::from(i) * 0.3).sin() + if i == 500 { 2500.0 } else { 0.0 });
    let flood = ordinary
        .chain(D1[..7].iter().copied())
        .map(|cfs| cfs * M3S_PER_CFS);
    let flags = flagged(Quantity::Inflow, Cadence::Daily, flood);
    assert!(
        flags[1000..]
            .iter()
            .all(|f| *f == Flag::Pass || *f == Flag::NotEvaluated),
        "{:?}",
        &flags[1000..]
    );
}

#[test]
fn a_gauged_river_that_flows_backward_fails() {
    let flags = flagged(
        Quantity::Inflow,
        Cadence::Daily,
        D1.iter().map(|cfs| cfs * M3S_PER_CFS),
    );
    assert_eq!(flags[7], Flag::Fail);
    assert!(flags.iter().filter(|f| **f == Flag::Fail).count() == 1);
}

#[test]
fn a_storage_off_its_table_is_suspect_on_that_day_only() {
    let series = vec![
        source("pool", Quantity::PoolElevation, &[Cadence::Daily]),
        source("storage", Quantity::Storage, &[Cadence::Daily]),
    ];
    let mut lake = store_lake::lake(series);
    lake.hypsography = Some(Hypsography {
        elevation_m: vec![192.0, 260.0],
        area_m2: vec![0.0, 2.0e7],
        volume_m3: vec![0.0, 6.8e8],
        volume_given: true,
    });
    let first = at("2025-01-01T08:00:00Z");
    let level = |i: u32| 250.0 + 0.02 * f64::from(i);
    let day = Duration::days(1);
    let pool = batch(key("pool", Cadence::Daily), first, day, (0..60).map(level));
    let storage = batch(
        key("storage", Cadence::Daily),
        first,
        day,
        // The integral of an area that grows by 2e7 m2 over 68 m, and an old survey's 2e6 m3.
        (0..60)
            .map(|i| 1.0e7 / 68.0 * (level(i) - 192.0).powi(2) + 2.0e6 + if i == 30 { 9.0e6 } else { 0.0 }),
    );
    let mut set = SeriesSet {
        as_of: at("2025-03-02T12:00:00Z"),
        ..SeriesSet::default()
    };
    set.observations.insert(pool.key, pool.rows);
    set.observations.insert(storage.key.clone(), storage.rows);
    flag_set(&mut set, &lake, &Thresholds::built_in());
    let suspect: Vec<usize> = set.observations[&storage.key]
        .iter()
        .enumerate()
        .filter_map(|(i, row)| (row.flag == Flag::Suspect).then_some(i))
        .collect();
    assert_eq!(suspect, [30]);
}

/// A column of the foothill reservoir's daily record.
fn recorded(path: &std::path::Path, column: &str, factor: f64) -> Vec<Observation> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let headers = reader.headers().unwrap().clone();
    let place = headers.iter().position(|h| h == column).unwrap();
    let provenance = store_lake::provenance(at("2026-03-12T12:30:00Z"));
    let rows = reader.records().map(|record| {
        let record = record.unwrap();
        let time = at(&format!("{}T08:00:00Z", &record[0]));
        let value = record[place].parse::<f64>().ok().map(|v| v * factor);
        store_lake::observation(time, value, &provenance)
    });
    rows.collect()
}

#[test]
fn the_foothill_reservoirs_spikes_fail_and_its_negative_inflows_do_not() {
    let Some(path) = crate::validation::data("lakes/millerton-reservoir/operations.csv") else {
        return;
    };
    let thresholds = Thresholds::built_in();
    let mut inflow = source("inflow", Quantity::Inflow, &[Cadence::Daily]);
    inflow.place = SeriesPlace::Inflow(InflowId::new("river"));
    let evaporation = source("evaporation", Quantity::Evaporation, &[Cadence::Daily]);
    let river_temp = source("river_temp", Quantity::RiverTemp, &[Cadence::Daily]);
    let lake = store_lake::lake(vec![inflow.clone(), evaporation.clone(), river_temp.clone()]);
    let flag_of = |rows: &[Observation], day: &str| {
        let time = at(&format!("{day}T08:00:00Z"));
        rows.iter().find(|row| row.time == time).unwrap().flag
    };
    let share = |rows: &[Observation], flag: Flag| {
        rows.iter().filter(|row| row.flag == flag).count() as f64 / rows.len() as f64
    };

    // The spikes and negative inflows that the record's own notes name.
    let mut rows = recorded(&path, "evaporation_cfs", M3S_PER_CFS);
    flag_series(&mut rows, &evaporation, Cadence::Daily, &lake, &thresholds);
    for day in [
        "2021-08-29",
        "2022-09-15",
        "2022-09-11",
        "2023-07-13",
        "2018-04-06",
    ] {
        assert_eq!(flag_of(&rows, day), Flag::Fail, "{day}");
    }
    println!(
        "evaporation: {:.4} failed, {:.4} suspect",
        share(&rows, Flag::Fail),
        share(&rows, Flag::Suspect)
    );
    assert!(share(&rows, Flag::Fail) < 0.005 && share(&rows, Flag::Suspect) < 0.02);

    let mut rows = recorded(&path, "inflow_cfs", M3S_PER_CFS);
    flag_series(&mut rows, &inflow, Cadence::Daily, &lake, &thresholds);
    assert_eq!(flag_of(&rows, "2009-11-21"), Flag::Suspect);
    assert_eq!(
        share(&rows, Flag::Fail),
        0.0,
        "a computed inflow below zero is noise"
    );
    println!("inflow: {:.4} suspect", share(&rows, Flag::Suspect));
    assert!(share(&rows, Flag::Suspect) < 0.01);

    let mut rows = recorded(&path, "inflow_temp_degc", 1.0);
    flag_series(&mut rows, &river_temp, Cadence::Daily, &lake, &thresholds);
    let zeros: Vec<&Observation> = rows.iter().filter(|row| row.value == Some(0.0)).collect();
    let believed = zeros.iter().filter(|row| row.flag.is_usable()).count();
    println!(
        "river temperature: {:.4} failed, {:.4} suspect",
        share(&rows, Flag::Fail),
        share(&rows, Flag::Suspect)
    );
    assert!(
        !zeros.is_empty() && believed == 0,
        "{believed} of {} zeros believed",
        zeros.len()
    );
}

#[test]
#[ignore = "prints how long flagging takes; run it alone on a quiet machine"]
fn flagging_a_large_set_in_figures() {
    let quantities = [
        Quantity::AirTemp,
        Quantity::DewPoint,
        Quantity::WindSpeed,
        Quantity::WindGust,
        Quantity::CloudCover,
        Quantity::SurfacePressure,
        Quantity::Precipitation,
        Quantity::Shortwave,
        Quantity::WaterTemp,
        Quantity::PoolElevation,
    ];
    let lake = store_lake::lake(
        quantities
            .iter()
            .map(|q| source(q.word(), *q, &[Cadence::Daily, Cadence::Continuous]))
            .collect(),
    );
    let mut set = SeriesSet {
        as_of: at("2026-03-12T12:00:00Z"),
        ..SeriesSet::default()
    };
    let wave = |n: usize| {
        (0..n).map(|i| 10.0 + ((i as f64 * 0.01).sin().mul_add(100.0, (i * 7919 % 13) as f64)).round() / 10.0)
    };
    for q in quantities {
        let hourly = batch(
            key(q.word(), Cadence::Continuous),
            at("2022-01-01T00:00:00Z"),
            Duration::hours(1),
            wave(37_000),
        );
        let daily = batch(
            key(q.word(), Cadence::Daily),
            at("1985-01-01T08:00:00Z"),
            Duration::days(1),
            wave(14_000),
        );
        set.observations.insert(hourly.key, hourly.rows);
        set.observations.insert(daily.key, daily.rows);
    }
    let thresholds = Thresholds::built_in();
    let time = |_| {
        let start = std::time::Instant::now();
        flag_set(&mut set, &lake, &thresholds);
        start.elapsed().as_secs_f64() * 1e3
    };
    let least = (0..20).map(time).fold(f64::INFINITY, f64::min);
    println!("flag 510,000 values: {least:.1} ms, the least of 20");
    let start = std::time::Instant::now();
    Thresholds::built_in();
    println!(
        "read the thresholds: {:.2} ms",
        start.elapsed().as_secs_f64() * 1e3
    );
}
