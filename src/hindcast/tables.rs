//! Pairs and modelled profiles as Parquet, for whoever goes on in another program.

use polars::prelude::*;
use polars_io::parquet::write::ParquetWriter;

use super::pairs::{ModelledDay, Pair};

fn numbers(name: &str, values: impl Iterator<Item = f64>) -> Column {
    let column = Float64Chunked::from_vec(name.into(), values.collect());
    column.into_series().into_column()
}

fn days(name: &str, values: impl Iterator<Item = chrono::NaiveDate>) -> Column {
    let since = values.map(|d| d.to_epoch_days()).collect();
    let column = Int32Chunked::from_vec(name.into(), since).into_date();
    column.into_series().into_column()
}

fn parquet(rows: usize, columns: Vec<Column>) -> PolarsResult<Vec<u8>> {
    let mut frame = DataFrame::new(rows, columns)?;
    let mut bytes = Vec::new();
    ParquetWriter::new(&mut bytes)
        .set_parallel(false)
        .finish(&mut frame)?;
    Ok(bytes)
}

/// Pairs as the bytes of a Parquet file: `day`, `time` (UTC), `depth_m`, `observed_UNIT`, `modelled_UNIT`, `ice`, where
/// UNIT is `unit`: `degc` or `mg_l`. One row a pair.
///
/// # Errors
/// Never in practice: columns of one length are always taken.
pub fn pairs_parquet(pairs: &[Pair], unit: &str) -> PolarsResult<Vec<u8>> {
    let micros = pairs.iter().map(|p| p.time.timestamp_micros()).collect();
    let time = Int64Chunked::from_vec("time".into(), micros)
        .into_datetime(TimeUnit::Microseconds, Some(polars::prelude::TimeZone::UTC));
    let ice: Vec<bool> = pairs.iter().map(|p| p.ice).collect();
    let columns = vec![
        days("day", pairs.iter().map(|p| p.day)),
        time.into_series().into_column(),
        numbers("depth_m", pairs.iter().map(|p| p.depth_m)),
        numbers(&format!("observed_{unit}"), pairs.iter().map(|p| p.observed)),
        numbers(&format!("modelled_{unit}"), pairs.iter().map(|p| p.modelled)),
        BooleanChunked::from_slice("ice".into(), &ice)
            .into_series()
            .into_column(),
    ];
    parquet(pairs.len(), columns)
}

/// Modelled days as the bytes of a Parquet file: `day`, `depth_m`, `water_temp_degc`, `dissolved_oxygen_mg_l` (absent
/// where it was not modelled), `surface_elevation_m`, `ice_m`. One row a day and depth.
///
/// # Errors
/// Never in practice: columns of one length are always taken.
pub fn modelled_parquet(modelled: &[ModelledDay]) -> PolarsResult<Vec<u8>> {
    let rows = || {
        modelled
            .iter()
            .flat_map(|d| d.depth_m.iter().enumerate().map(move |(i, z)| (d, i, *z)))
    };
    let at = |values: &[f64], i: usize| values.get(i).copied().unwrap_or(f64::NAN);
    let mut columns = vec![
        days("day", rows().map(|(d, _, _)| d.day)),
        numbers("depth_m", rows().map(|(_, _, z)| z)),
        numbers("water_temp_degc", rows().map(|(d, i, _)| at(&d.temp_degc, i))),
        numbers(
            "surface_elevation_m",
            rows().map(|(d, _, _)| d.surface_elevation_m),
        ),
        numbers("ice_m", rows().map(|(d, _, _)| d.ice_m)),
    ];
    if modelled.iter().any(|d| d.oxygen_mg_l.is_some()) {
        let oxygen: Vec<Option<f64>> = rows()
            .map(|(d, i, _)| d.oxygen_mg_l.as_ref().and_then(|o| o.get(i).copied()))
            .collect();
        let column = Float64Chunked::from_slice_options("dissolved_oxygen_mg_l".into(), &oxygen);
        columns.push(column.into_series().into_column());
    }
    parquet(rows().count(), columns)
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use chrono::NaiveDate;
    use polars_io::SerReader;
    use polars_io::parquet::read::ParquetReader;

    use super::*;

    fn day() -> NaiveDate {
        NaiveDate::from_ymd_opt(2020, 7, 1).unwrap()
    }

    #[test]
    fn pairs_come_back_as_they_were() {
        let pair = Pair {
            day: day(),
            time: day().and_hms_opt(9, 30, 0).unwrap().and_utc(),
            depth_m: 2.5,
            observed: 18.0,
            modelled: 18.5,
            ice: false,
        };
        let bytes = pairs_parquet(&[pair, pair], "degc").unwrap();
        let frame = ParquetReader::new(Cursor::new(bytes)).finish().unwrap();
        let names: Vec<&str> = frame.get_column_names().iter().map(|n| n.as_str()).collect();
        assert_eq!(
            names,
            ["day", "time", "depth_m", "observed_degc", "modelled_degc", "ice"]
        );
        let modelled = frame.column("modelled_degc").unwrap().f64().unwrap();
        assert_eq!((frame.height(), modelled.get(1)), (2, Some(18.5)));
        let written = frame.column("day").unwrap().date().unwrap();
        assert_eq!(written.physical().get(0), Some(day().to_epoch_days()));
    }

    #[test]
    fn modelled_days_are_one_row_a_depth_and_oxygen_only_where_modelled() {
        let modelled = |oxygen_mg_l| ModelledDay {
            day: day(),
            depth_m: vec![0.5, 1.5],
            temp_degc: vec![20.0, 19.0],
            oxygen_mg_l,
            surface_elevation_m: 100.0,
            ice_m: 0.0,
        };
        let read = |days: &[ModelledDay]| {
            let bytes = modelled_parquet(days).unwrap();
            ParquetReader::new(Cursor::new(bytes)).finish().unwrap()
        };
        let without = read(&[modelled(None)]);
        assert_eq!(
            (without.height(), without.column("dissolved_oxygen_mg_l").is_err()),
            (2, true)
        );
        let with = read(&[modelled(Some(vec![9.0, 8.0])), modelled(None)]);
        let oxygen = with.column("dissolved_oxygen_mg_l").unwrap().f64().unwrap();
        assert_eq!((oxygen.get(1), oxygen.get(2)), (Some(8.0), None));
    }
}
