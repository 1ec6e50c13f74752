//! A table of elevation and storage, or of elevation and area, as operators publish it.

use super::read::{header, header_words, reader};
use crate::lake::{Cadence, CapacityKind};
use crate::quantity::Quantity;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{FILE_CAP_BYTES, beginning, unpacked};
use crate::sources::unit::conversion;
use crate::units::{M2_PER_ACRE, M2_PER_HA};

/// Which columns of a table mean what, and their units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CapacityColumns {
    /// Column of the elevation.
    pub elevation: String,
    /// Its unit: `ft` or `m`.
    pub elevation_unit: String,
    /// What the other column holds.
    pub kind: CapacityKind,
    /// Column of the storage or area.
    pub figure: String,
    /// Its unit: of storage `acre-ft`, `m3` and others; of area `acres`, `ha`, `m2`, `km2`.
    pub figure_unit: String,
}

/// Elevation in metres with storage in m3, or area in m2, row by row; and the rows left out.
pub type CapacityRows = (Vec<(f64, f64)>, Vec<RowFault>);

/// Units of area, and square metres in one.
const AREAS: [(&str, f64); 4] = [
    ("acres", M2_PER_ACRE),
    ("ha", M2_PER_HA),
    ("m2", 1.0),
    ("km2", 1e6),
];

/// The rows of a table. Gzip is unpacked.
///
/// # Errors
/// [`ReadError::Header`] for a column that is not there, [`ReadError::Unit`] or [`ReadError::Kind`] for a unit
/// that is not known, [`ReadError::Unpack`], [`ReadError::Empty`]. A row that cannot be read is no error.
pub fn read_capacity(bytes: &[u8], columns: &CapacityColumns) -> Result<CapacityRows, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let to_m = conversion(
        Quantity::PoolElevation,
        Cadence::Daily,
        &columns.elevation_unit,
        &columns.elevation,
    )?;
    let to_si = figure_conversion(columns)?;
    let mut reader = reader(&plain);
    let header = header(&mut reader)?;
    let place = |name: &str| {
        let at = header.iter().position(|found| found == name);
        at.ok_or_else(|| ReadError::Header {
            found: header_words(&header),
            wanted: name.to_owned(),
        })
    };
    let places = [place(&columns.elevation)?, place(&columns.figure)?];
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for (k, record) in reader.byte_records().enumerate() {
        let fault = |found: String, wanted| RowFault {
            place: format!("row {}", k + 1),
            found,
            wanted,
        };
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(fault(error.to_string(), "a row"));
                break;
            }
        };
        let figures = places.map(|place| {
            let text = String::from_utf8_lossy(record.get(place).unwrap_or_default()).into_owned();
            match Figure::from_text(&text) {
                Figure::Number(number) => Ok(number),
                _ => Err(fault(
                    format!("\"{}\"", beginning(text.as_bytes())),
                    "a number, without separators of thousands",
                )),
            }
        });
        match figures {
            [Ok(elevation), Ok(figure)] => rows.push((to_m.to_si(elevation), to_si(figure))),
            [Err(fault), _] | [_, Err(fault)] => faults.push(fault),
        }
    }
    Ok((rows, faults))
}

/// Square metres in a unit of area; `None` for one that is not known.
pub fn m2_per(unit: &str) -> Option<f64> {
    let unit = unit.trim().to_ascii_lowercase();
    AREAS
        .iter()
        .find(|(name, _)| *name == unit || *name == format!("{unit}s"))
        .map(|(_, factor)| *factor)
}

fn figure_conversion(columns: &CapacityColumns) -> Result<Box<dyn Fn(f64) -> f64>, ReadError> {
    match columns.kind {
        CapacityKind::Storage => {
            let unit = conversion(
                Quantity::Storage,
                Cadence::Continuous,
                &columns.figure_unit,
                &columns.figure,
            )?;
            Ok(Box::new(move |figure| unit.to_si(figure)))
        }
        CapacityKind::Area => {
            let unit = columns.figure_unit.trim().to_lowercase();
            let row = AREAS.iter().find(|(name, _)| *name == unit);
            let (_, m2) = row.ok_or_else(|| ReadError::Kind {
                found: format!(
                    "unit \"{}\" of column \"{}\"",
                    columns.figure_unit, columns.figure
                ),
                wanted: format!("a unit of area: {}", AREAS.map(|(name, _)| name).join(", ")),
            })?;
            let m2 = *m2;
            Ok(Box::new(move |figure| figure * m2))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(kind: CapacityKind, figure: &str, unit: &str) -> CapacityColumns {
        CapacityColumns {
            elevation: "elev".to_owned(),
            elevation_unit: "ft".to_owned(),
            kind,
            figure: figure.to_owned(),
            figure_unit: unit.to_owned(),
        }
    }

    #[test]
    fn a_table_is_read_in_si_and_a_bad_row_is_named() {
        let text = b"elev,cap,area\n100,10,2\n101,\"1,012\",3\n102,34,4\n";
        let (rows, faults) = read_capacity(text, &columns(CapacityKind::Storage, "cap", "acre-ft")).unwrap();
        assert_eq!(rows.len(), 2);
        // 100 ft x 0.3048; 10 acre-ft x 1233.48183754752 (exact definitions).
        assert!((rows[0].0 - 30.48).abs() < 1e-12 && (rows[0].1 - 12_334.818_375_475_2).abs() < 1e-6);
        assert_eq!((faults[0].place.as_str(), faults.len()), ("row 2", 1));
        let (rows, _) = read_capacity(text, &columns(CapacityKind::Area, "area", "acres")).unwrap();
        // 2 acres x 4046.8564224 (exact definition).
        assert!((rows[0].1 - 8_093.712_844_8).abs() < 1e-6);
    }

    #[test]
    fn a_column_or_unit_that_is_not_there_is_a_fault() {
        let read = |kind, figure: &str, unit: &str| {
            read_capacity(b"elev,cap\n1,2\n", &columns(kind, figure, unit)).unwrap_err()
        };
        assert!(matches!(
            read(CapacityKind::Storage, "volume", "acre-ft"),
            ReadError::Header { .. }
        ));
        assert!(matches!(
            read(CapacityKind::Storage, "cap", "barrels"),
            ReadError::Unit { .. }
        ));
        assert!(matches!(
            read(CapacityKind::Area, "cap", "acre-ft"),
            ReadError::Kind { .. }
        ));
    }
}
