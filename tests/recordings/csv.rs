//! Local tables: recorded weather, inflow, temperature and operations; figures read off the files by
//! eye.

use std::sync::Arc;

use chrono::{DateTime, Utc};
use chrono_tz::{America::Los_Angeles, Europe::Stockholm, Tz};
use plungeline::clock::LakeClock;
use plungeline::lake::{Cadence, CsvColumns, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::series::{Batch, Provenance};
use plungeline::sources::csv::{read_table, to_batch};
use plungeline::sources::{RowFault, Want};

use super::{at, want};
use crate::validation::data;

struct Column {
    file: &'static str,
    value: &'static str,
    depth: Option<&'static str>,
    quantity: Quantity,
    cadence: Cadence,
    unit: &'static str,
    zone: Tz,
}

fn batch(column: Column, as_of: DateTime<Utc>) -> Option<(Batch, Vec<RowFault>)> {
    let path = data(&format!("lakes/{}", column.file))?;
    let columns = CsvColumns {
        path: path.clone(),
        time: "time".to_owned(),
        value: column.value.to_owned(),
        depth: column.depth.map(str::to_owned),
        stamp_zone: "UTC".to_owned(),
        missing: Vec::new(),
    };
    let table = read_table(&std::fs::read(path).unwrap(), &columns).unwrap();
    assert!(table.faults.is_empty(), "{:?}", table.faults);
    let base = want(column.quantity, column.cadence, "csv", "", column.value);
    let series = SeriesSource {
        unit: Some(column.unit.to_owned()),
        csv: Some(columns),
        ..base.series
    };
    let provenance = Arc::new(Provenance {
        service: "csv".to_owned(),
        station: column.file.to_owned(),
        parameter: column.value.to_owned(),
        original_unit: column.unit.to_owned(),
        retrieved_at: as_of,
    });
    let want = Want { series, ..base };
    Some(to_batch(&table, &want, LakeClock::new(column.zone), as_of, &provenance).unwrap())
}

const NOW: &str = "2026-01-01T00:00:00Z";

#[test]
fn recorded_weather_of_erken_is_read_whole() {
    let column = |value, quantity, unit| Column {
        file: "erken/weather.csv.gz",
        value,
        depth: None,
        quantity,
        cadence: Cadence::Continuous,
        unit,
        zone: Stockholm,
    };
    let Some((air, faults)) = batch(column("air_temp_degc", Quantity::AirTemp, "degC"), at(NOW)) else {
        return;
    };
    // 111 040 rows of 3 h, no gap (README of the data).
    assert_eq!((air.rows.len(), faults.len()), (111_040, 0));
    assert_eq!(
        (air.rows[0].time, air.rows[0].value),
        (at("1979-01-01T00:00:00Z"), Some(-17.844))
    );
    assert_eq!(air.rows[111_039].value, Some(9.846));
    assert!(
        air.rows
            .windows(2)
            .all(|w| (w[1].time - w[0].time).num_hours() == 3)
    );
    let (vapour, _) = batch(
        column("vapour_pressure_hpa", Quantity::VapourPressure, "hPa"),
        at(NOW),
    )
    .unwrap();
    assert!((vapour.rows[0].value.unwrap() - 137.7).abs() < 1e-9); // 1.377 hPa
    let (sun, _) = batch(column("shortwave_w_m2", Quantity::Shortwave, "W/m2"), at(NOW)).unwrap();
    assert_eq!(
        (sun.rows[3].time, sun.rows[3].value),
        (at("1979-01-01T09:00:00Z"), Some(44.882))
    );
}

#[test]
fn recorded_inflow_of_erken_becomes_standard_days() {
    let column = Column {
        file: "erken/inflow.csv",
        value: "inflow_m3s",
        depth: None,
        quantity: Quantity::Inflow,
        cadence: Cadence::Daily,
        unit: "m3/s",
        zone: Stockholm,
    };
    let Some((inflow, _)) = batch(column, at(NOW)) else {
        return;
    };
    // Daily 1999-01-01 to 2018-12-31 without a gap: 7 305 days. A day begins at 00:00 CET, 23:00 UTC.
    assert_eq!(inflow.rows.len(), 7305);
    assert_eq!(
        (inflow.rows[0].time, inflow.rows[0].value),
        (at("1998-12-31T23:00:00Z"), Some(4.408))
    );
    assert_eq!(inflow.rows[7304].value, Some(0.917));
    assert!(
        inflow
            .rows
            .windows(2)
            .all(|w| (w[1].time - w[0].time).num_hours() == 24)
    );
}

#[test]
fn recorded_profiles_of_erken_keep_one_value_a_depth_and_name_contradictions() {
    let column = |as_of: &str| {
        let column = Column {
            file: "erken/temperature.csv.gz",
            value: "water_temp_degc",
            depth: Some("depth_m"),
            quantity: Quantity::WaterTemp,
            cadence: Cadence::Daily,
            unit: "degC",
            zone: Stockholm,
        };
        batch(column, at(as_of))
    };
    let Some((temp, faults)) = column(NOW) else { return };
    // 118 762 rows, 114 204 pairs of date and depth, 116 rows that differ from the first of their pair
    // (counted with awk).
    assert_eq!((temp.rows.len(), faults.len()), (114_204, 116));
    assert_eq!(faults[0].place, "line 147");
    assert_eq!(
        (temp.rows[0].depth_m, temp.rows[0].value),
        (Some(0.5), Some(1.22))
    );
    let last = temp.rows.last().unwrap();
    assert_eq!((last.depth_m, last.value), (Some(15.0), Some(0.639855096)));
    // On the evening of 1961-01-01 that day has not ended.
    assert_eq!(column("1961-01-01T20:00:00Z").unwrap().0.rows.len(), 0);
    assert!(!column("1961-01-01T23:00:00Z").unwrap().0.rows.is_empty());
}

#[test]
fn recorded_operations_of_millerton_keep_their_faults_and_become_si() {
    let column = |value, quantity, unit| Column {
        file: "millerton-reservoir/operations.csv",
        value,
        depth: None,
        quantity,
        cadence: Cadence::Daily,
        unit,
        zone: Los_Angeles,
    };
    let Some((storage, _)) = batch(column("storage_acre_ft", Quantity::Storage, "acre-ft"), at(NOW)) else {
        return;
    };
    assert_eq!(storage.rows.len(), 7670);
    assert_eq!(storage.rows[0].time, at("2003-01-01T08:00:00Z"));
    // 308 491 acre-ft x 1233.48183754752 m3 (exact factor); tolerance: the tenth figure.
    assert!((storage.rows[0].value.unwrap() - 380_518_045.547).abs() < 0.1);
    let (inflow, _) = batch(column("inflow_cfs", Quantity::Inflow, "cfs"), at(NOW)).unwrap();
    // Line 2518, 2009-11-21: computed inflow of -717 cfs is the record's, and is left for `quality`.
    let row = inflow
        .rows
        .iter()
        .find(|row| row.time == at("2009-11-21T08:00:00Z"))
        .unwrap();
    assert_eq!(row.original_value, Some(-717.0));
    assert!((row.value.unwrap() + 20.303_179_006).abs() < 1e-8); // x 0.028316846592
    let (evaporation, _) = batch(column("evaporation_cfs", Quantity::Evaporation, "cfs"), at(NOW)).unwrap();
    let row = evaporation
        .rows
        .iter()
        .find(|row| row.time == at("2022-09-15T08:00:00Z"))
        .unwrap();
    assert_eq!(row.original_value, Some(-8195.31693022915));
}
