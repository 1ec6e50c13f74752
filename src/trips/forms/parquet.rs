//! Trips as Parquet: the table of rows, sealed as the store's files are.

use crate::series::store::{Sheet, SheetColumn};
use crate::trips::error::TripFault;
use crate::trips::model::Trip;
use crate::trips::rows::{COLUMNS, Holds, Placed, Row, rows_of, trips_of};

/// Trips as Parquet.
///
/// # Errors
/// [`polars::error::PolarsError`]: never seen, since all columns have one length.
pub fn trips_parquet(trips: &[Trip]) -> polars::error::PolarsResult<Vec<u8>> {
    let rows = rows_of(trips);
    let columns = COLUMNS.iter().enumerate().map(|(i, (name, holds))| {
        let cells = rows.iter().map(|row| row[i].clone());
        let column = match holds {
            Holds::Text => SheetColumn::Texts(cells.collect()),
            Holds::Number => {
                SheetColumn::Numbers(cells.map(|c| c.and_then(|text| text.parse().ok())).collect())
            }
        };
        (*name, column)
    });
    Sheet {
        rows: rows.len(),
        columns: columns.collect(),
    }
    .bytes()
}

/// The trips of a file that [`trips_parquet`] wrote. Its seal is checked before a byte is decoded: a file cut short, altered,
/// or written by another program is refused.
///
/// # Errors
/// One fault of the file, or every fault of its rows.
pub fn trips_of_parquet(bytes: &[u8]) -> Result<Vec<Placed>, Vec<TripFault>> {
    let kinds: Vec<(&'static str, bool)> = COLUMNS
        .iter()
        .map(|(name, holds)| (*name, *holds == Holds::Text))
        .collect();
    let sheet = Sheet::of_bytes(bytes, &kinds).map_err(|damage| {
        let wanted = "a trip log as `plungeline log export` writes it";
        let mend = "export it again; a table of another program comes in as CSV";
        vec![TripFault::new("the file", damage.to_string(), wanted, mend)]
    })?;
    let mut rows: Vec<(String, Row)> = (0..sheet.rows)
        .map(|i| (format!("row {}", i + 1), std::array::from_fn(|_| None)))
        .collect();
    for (place, (_, column)) in sheet.columns.into_iter().enumerate() {
        let cells: Vec<Option<String>> = match column {
            SheetColumn::Texts(texts) => texts,
            SheetColumn::Numbers(numbers) => numbers.into_iter().map(|n| n.map(|n| n.to_string())).collect(),
        };
        for ((_, row), cell) in rows.iter_mut().zip(cells) {
            row[place] = cell;
        }
    }
    trips_of(&rows)
}
