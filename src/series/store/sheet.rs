//! A table of texts and numbers as a sealed Parquet file, for rooms above the store.

use polars::error::PolarsResult;

use super::columns::{Name, Table, file_bytes, number_column, text_column};
use crate::series::error::Damage;

/// A column of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetColumn {
    /// Texts, some of them missing.
    Texts(Vec<Option<String>>),
    /// Numbers, some of them missing.
    Numbers(Vec<Option<f64>>),
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Number of rows.
    pub rows: usize,
    /// Columns with their names, each of that length.
    pub columns: Vec<(Name, SheetColumn)>,
}

impl Sheet {
    /// The bytes of a sealed Parquet file.
    ///
    /// # Errors
    /// [`polars::error::PolarsError`] for columns of unequal length.
    pub fn bytes(&self) -> PolarsResult<Vec<u8>> {
        let columns = self.columns.iter().map(|(name, column)| match column {
            SheetColumn::Texts(texts) => text_column(name, texts),
            SheetColumn::Numbers(numbers) => number_column(name, numbers.iter().copied()),
        });
        file_bytes(self.rows, columns.collect(), Vec::new())
    }

    /// The sheet of bytes that [`Sheet::bytes`] made, with these columns: name, and whether it holds texts.
    ///
    /// # Errors
    /// [`Damage`] when the seal is not whole, or a column is not there.
    pub fn of_bytes(bytes: &[u8], columns: &[(Name, bool)]) -> Result<Sheet, Damage> {
        let table = Table::read(bytes, None)?;
        let columns = columns.iter().map(|&(name, is_text)| {
            let column = match is_text {
                true => SheetColumn::Texts(table.texts(name)?),
                false => SheetColumn::Numbers(table.numbers(name)?),
            };
            Ok((name, column))
        });
        Ok(Sheet {
            rows: table.rows(),
            columns: columns.collect::<Result<_, Damage>>()?,
        })
    }
}
