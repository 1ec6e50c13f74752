//! A hypsography that stands in a CSV file.

use super::error::InputError;
use super::input::Files;
use super::note::InputNote;
use super::tables::note_faults;
use crate::lake::{Hypsography, HypsographyTable, Lake};
use crate::sources::csv::{StampZone, Wanted, read_columns};

/// Reads the table; depths are turned to elevations with the full pool.
pub(super) fn read_hypsography(
    table: &HypsographyTable,
    lake: &Lake,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Hypsography, InputError> {
    let bytes = files.bytes(&table.file)?;
    let wanted = Wanted {
        time: None,
        zone: StampZone::Named(chrono_tz::UTC),
        missing: &[],
        columns: &[&table.height, &table.area],
        times_repeat: false,
    };
    let columns = read_columns(&bytes, &wanted).map_err(|fault| InputError::Read {
        file: table.file.clone(),
        fault,
    })?;
    note_faults(&table.file, columns.fault_count, columns.faults.first(), notes);
    let mut rows: Vec<(f64, f64)> = columns.values[0]
        .iter()
        .zip(&columns.values[1])
        .filter_map(|(height, area)| {
            let height_m = table.height_scale.to_si((*height)?);
            let elevation_m = if table.is_depth {
                lake.full_pool_elevation_m - height_m
            } else {
                height_m
            };
            Some((elevation_m, table.area_scale.to_si((*area)?)))
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    check(&rows, lake).map_err(|(found, wanted)| InputError::Hypsography {
        file: table.file.clone(),
        found,
        wanted,
    })?;
    let (elevation_m, area_m2) = rows.into_iter().unzip();
    Ok(Hypsography::from_areas(elevation_m, area_m2))
}

/// What the lake file asks of rows of its own.
fn check(rows: &[(f64, f64)], lake: &Lake) -> Result<(), (String, String)> {
    let refuse = |found: String, wanted: &str| Err((found, wanted.to_owned()));
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return refuse("no rows".to_owned(), "two or more");
    };
    if rows.len() < 2 {
        return refuse("one row".to_owned(), "two or more");
    }
    for pair in rows.windows(2) {
        let ((low_m, low_m2), (high_m, high_m2)) = (pair[0], pair[1]);
        if high_m <= low_m {
            return refuse(format!("two rows at {low_m} m"), "each elevation once");
        }
        if high_m2 < low_m2 {
            let found = format!("{high_m2} m2 at {high_m} m, over {low_m2} m2 at {low_m} m");
            return refuse(found, "areas that never shrink with elevation");
        }
    }
    if first.0 >= lake.minimum_pool_elevation_m {
        let wanted = format!("one below the minimum pool, {} m", lake.minimum_pool_elevation_m);
        return Err((format!("a lowest row at {} m", first.0), wanted));
    }
    if last.0 < lake.full_pool_elevation_m - 1e-6 {
        let wanted = format!("one at the full pool, {} m, or above", lake.full_pool_elevation_m);
        return Err((format!("a highest row at {} m", last.0), wanted));
    }
    Ok(())
}
