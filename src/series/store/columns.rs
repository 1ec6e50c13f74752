//! Plain columns into the bytes of a sealed Parquet file, and back.
//!
//! The store's own columns are primitive numbers, taken apart chunk by chunk: values that repeat as text live in
//! the file's notes instead.

use std::io::Cursor;

use chrono::{DateTime, Utc};
use polars::prelude::*;
use polars_io::SerReader;
use polars_io::parquet::read::{ParallelStrategy, ParquetReader};
use polars_io::parquet::write::{KeyValueMetadata, ParquetWriter};

use super::seal::{check_seal, sealed};
use crate::series::error::Damage;

/// Names of columns and notes.
pub type Name = &'static str;

/// A column of instants, kept as UTC microseconds.
pub(super) fn time_column(name: Name, time: impl Iterator<Item = DateTime<Utc>>) -> Column {
    let micros: Vec<i64> = time.map(|t| t.timestamp_micros()).collect();
    let instants = Int64Chunked::from_vec(name.into(), micros)
        .into_datetime(TimeUnit::Microseconds, Some(polars::prelude::TimeZone::UTC));
    instants.into_series().into_column()
}

/// A column of numbers, some of them missing.
pub(super) fn number_column(name: Name, values: impl Iterator<Item = Option<f64>>) -> Column {
    let values: Vec<Option<f64>> = values.collect();
    let column = if values.iter().all(Option::is_some) {
        Float64Chunked::from_vec(name.into(), values.into_iter().flatten().collect())
    } else {
        Float64Chunked::from_slice_options(name.into(), &values)
    };
    column.into_series().into_column()
}

/// A column of texts, some of them missing.
pub(super) fn text_column(name: Name, texts: &[Option<String>]) -> Column {
    let texts = texts.iter().map(Option::as_deref);
    StringChunked::from_iter_options(name.into(), texts)
        .into_series()
        .into_column()
}

/// A column of small whole numbers.
pub(super) fn code_column(name: Name, codes: impl Iterator<Item = i32>) -> Column {
    Int32Chunked::from_vec(name.into(), codes.collect())
        .into_series()
        .into_column()
}

/// The bytes of a sealed Parquet file (zstd) of `columns`, each of length `rows`, with `notes`.
pub(super) fn file_bytes(
    rows: usize,
    columns: Vec<Column>,
    notes: Vec<(Name, String)>,
) -> PolarsResult<Vec<u8>> {
    let mut frame = DataFrame::new(rows, columns)?;
    let notes = notes
        .into_iter()
        .map(|(name, text)| (name.to_owned(), text))
        .collect();
    let mut bytes = Vec::new();
    // One row group and one page a column: a year of 15-minute values has 35,000 rows.
    ParquetWriter::new(&mut bytes)
        .with_statistics(StatisticsOptions::empty())
        .with_key_value_metadata(Some(KeyValueMetadata::from_static(notes)))
        .set_parallel(false)
        .finish(&mut frame)?;
    sealed(bytes).map_err(|damage| PolarsError::ComputeError(damage.to_string().into()))
}

/// A file of the store, decoded.
#[derive(Debug)]
pub(super) struct Table {
    frame: DataFrame,
    notes: Vec<(String, Option<String>)>,
}

impl Table {
    /// Decodes `bytes` after checking their seal; `only` restricts the columns.
    pub(super) fn read(bytes: &[u8], only: Option<&[Name]>) -> Result<Table, Damage> {
        check_seal(bytes)?;
        let refused = |e: PolarsError| Damage::Parquet {
            message: e.to_string(),
        };
        let mut reader = ParquetReader::new(Cursor::new(bytes)).read_parallel(ParallelStrategy::None);
        let metadata = reader.get_metadata().map_err(refused)?;
        let notes = metadata.key_value_metadata().iter().flatten();
        let notes = notes.map(|note| (note.key.clone(), note.value.clone())).collect();
        let columns = only.map(|names| names.iter().map(|&name| name.to_owned()).collect());
        let frame = reader.with_columns(columns).finish().map_err(refused)?;
        Ok(Table { frame, notes })
    }

    /// Number of rows.
    pub(super) fn rows(&self) -> usize {
        self.frame.height()
    }

    /// A note of the file.
    pub(super) fn note(&self, name: Name) -> Result<&str, Damage> {
        let note = self
            .notes
            .iter()
            .find(|(key, _)| key == name)
            .and_then(|(_, text)| text.as_deref());
        note.ok_or(Damage::Lacks { what: name })
    }

    /// Whether there is a column `name`.
    pub(super) fn has(&self, name: Name) -> bool {
        self.frame.column(name).is_ok()
    }

    /// A column of instants without gaps.
    pub(super) fn times(&self, name: Name) -> Result<Vec<DateTime<Utc>>, Damage> {
        let lacks = Damage::Lacks { what: name };
        let Ok(column) = self.frame.column(name).and_then(|c| c.datetime()) else {
            return Err(lacks);
        };
        if column.time_unit() != TimeUnit::Microseconds || column.physical().null_count() > 0 {
            return Err(lacks);
        }
        let mut times = Vec::with_capacity(self.rows());
        for chunk in column.physical().downcast_iter() {
            for (row, &micros) in chunk.values().as_slice().iter().enumerate() {
                let time = DateTime::from_timestamp_micros(micros);
                times.push(time.ok_or(Damage::Row { row, what: "time" })?);
            }
        }
        Ok(times)
    }

    /// A column of numbers, some of them missing.
    pub(super) fn numbers(&self, name: Name) -> Result<Vec<Option<f64>>, Damage> {
        let Ok(column) = self.frame.column(name).and_then(|c| c.f64()) else {
            return Err(Damage::Lacks { what: name });
        };
        let mut numbers = Vec::with_capacity(self.rows());
        for chunk in column.downcast_iter() {
            let values = chunk.values().as_slice();
            match chunk.validity() {
                None => numbers.extend(values.iter().map(|&v| Some(v))),
                Some(bitmap) => {
                    let (bytes, offset, _) = bitmap.as_slice();
                    let present = |i: usize| bytes[(offset + i) / 8] >> ((offset + i) % 8) & 1 == 1;
                    numbers.extend(values.iter().enumerate().map(|(i, &v)| present(i).then_some(v)));
                }
            }
        }
        Ok(numbers)
    }

    /// A column of texts, some of them missing.
    pub(super) fn texts(&self, name: Name) -> Result<Vec<Option<String>>, Damage> {
        let Ok(column) = self.frame.column(name).and_then(|c| c.str()) else {
            return Err(Damage::Lacks { what: name });
        };
        Ok(column.iter().map(|text| text.map(str::to_owned)).collect())
    }

    /// A column of small whole numbers without gaps.
    pub(super) fn codes(&self, name: Name) -> Result<Vec<i32>, Damage> {
        let lacks = Damage::Lacks { what: name };
        let Ok(column) = self.frame.column(name).and_then(|c| c.i32()) else {
            return Err(lacks);
        };
        if column.null_count() > 0 {
            return Err(lacks);
        }
        let chunks = column.downcast_iter();
        Ok(chunks
            .flat_map(|chunk| chunk.values().as_slice().iter().copied())
            .collect())
    }
}
