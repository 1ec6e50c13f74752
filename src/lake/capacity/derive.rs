//! Area from storage, rows thinned, both checked.
//!
//! Area is the derivative of storage by elevation, `A = dV/dz`, taken from the monotone cubic through the rows
//! (Fritsch & Carlson 1980), so that storage which never falls gives areas that are never below 0.

use super::error::CapacityError;
use crate::lake::Hypsography;
use crate::math::pchip;

/// Most rows of a derived table (project choice): a page of the lake file.
pub const MOST_ROWS: usize = 40;
/// Rows are left out of a long table as long as it draws every row of the given one to within this share of
/// the greatest figure, or [`MOST_ROWS`] stand (project choice).
pub const THIN_TOLERANCE_FRAC: f64 = 0.0001;
/// Areas derived from storages must integrate back, by the trapezoid rule, to within this share of the greatest
/// storage (project choice; the tolerance of volumes that a lake file gives beside areas).
pub const DERIVED_TOLERANCE_FRAC: f64 = 0.02;

/// What a table gives by elevation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CapacityKind {
    /// Storage, m3.
    Storage,
    /// Area of the surface, m2.
    Area,
}

impl CapacityKind {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            CapacityKind::Storage => "storage",
            CapacityKind::Area => "area",
        }
    }
}

/// A hypsography made from a table, and how well it draws it.
#[derive(Debug, Clone, PartialEq)]
pub struct Capacity {
    /// The rows that were kept. Of storages, with the volumes of the table and the areas derived.
    pub table: Hypsography,
    /// What was given.
    pub kind: CapacityKind,
    /// Rows of the given table.
    pub given_rows: usize,
    /// Greatest difference to a row of the given table, share of the greatest figure.
    pub drawn_frac: f64,
    /// Greatest difference of the integral of the areas to a given storage, share of the greatest storage; 0
    /// where areas were given.
    pub integral_frac: f64,
}

/// Rows at even distances that are tried where thinning by the worst row ends too early (project choice).
const EVEN_ROWS: [usize; 4] = [40, 28, 18, 12];

/// The hypsography of a table: elevations in metres, and m3 or m2, in any order.
///
/// # Errors
/// [`CapacityError`].
pub fn hypsography_of(kind: CapacityKind, rows: &[(f64, f64)]) -> Result<Capacity, CapacityError> {
    let rows = in_order(kind, rows)?;
    let mut kept: Vec<usize> = if rows.len() <= MOST_ROWS {
        (0..rows.len()).collect()
    } else {
        vec![0, rows.len() / 2, rows.len() - 1]
    };
    let (mut table, mut worst) = drawn(kind, &rows, &kept)?;
    while worst.1 > THIN_TOLERANCE_FRAC && kept.len() < MOST_ROWS && !kept.contains(&worst.0) {
        let mut more = kept.clone();
        more.push(worst.0);
        more.sort_unstable();
        let (finer, finer_worst) = drawn(kind, &rows, &more)?;
        // Rows closer than the rounding of the table make areas that fall: what is drawn so far says more.
        if check_areas(&finer).is_err() && check_areas(&table).is_ok() {
            break;
        }
        (kept, table, worst) = (more, finer, finer_worst);
    }
    let by_worst = checked(kind, &rows, (table, worst));
    // Rounding of a table whose rows lie close together can stop the thinning early; rows at even distances may do then.
    let evenly = || EVEN_ROWS.into_iter().filter(|count| *count < rows.len());
    by_worst.or_else(|fault| {
        evenly()
            .find_map(|count| {
                let last = rows.len() - 1;
                let kept: Vec<usize> = (0..count).map(|k| k * last / (count - 1)).collect();
                checked(kind, &rows, drawn(kind, &rows, &kept).ok()?).ok()
            })
            .ok_or(fault)
    })
}

/// The table drawn, where its areas are possible and add up.
fn checked(
    kind: CapacityKind,
    rows: &[(f64, f64)],
    (table, worst): (Hypsography, (usize, f64)),
) -> Result<Capacity, CapacityError> {
    check_areas(&table)?;
    let integral_frac = match kind {
        CapacityKind::Storage => check_integral(&table, rows)?,
        CapacityKind::Area => 0.0,
    };
    Ok(Capacity {
        table,
        kind,
        given_rows: rows.len(),
        drawn_frac: worst.1,
        integral_frac,
    })
}

/// The rows lowest first, each elevation once, figures that never fall.
fn in_order(kind: CapacityKind, rows: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, CapacityError> {
    let what = kind.word();
    let mut rows = rows.to_vec();
    for &(elevation_m, figure) in &rows {
        if !(elevation_m.is_finite() && figure.is_finite() && figure >= 0.0) {
            return Err(CapacityError::NotPossible {
                what,
                figure,
                elevation_m,
            });
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows.dedup();
    for pair in rows.windows(2) {
        if pair[0].0 == pair[1].0 {
            return Err(CapacityError::Twice {
                elevation_m: pair[0].0,
            });
        }
        if pair[1].1 < pair[0].1 {
            return Err(falls(what, pair[0], pair[1]));
        }
    }
    // Two storages give one secant and no shape; two areas are a shape already.
    let wanted = if kind == CapacityKind::Storage { 3 } else { 2 };
    if rows.len() < wanted {
        return Err(CapacityError::TooFew {
            found: rows.len(),
            wanted,
        });
    }
    Ok(rows)
}

fn falls(what: &'static str, low: (f64, f64), high: (f64, f64)) -> CapacityError {
    CapacityError::Falls {
        what,
        before: low.1,
        after: high.1,
        low_m: low.0,
        high_m: high.0,
    }
}

/// The table of the rows kept; the given row that it draws worst, and by which share of the greatest figure.
fn drawn(
    kind: CapacityKind,
    rows: &[(f64, f64)],
    kept: &[usize],
) -> Result<(Hypsography, (usize, f64)), CapacityError> {
    let elevation_m: Vec<f64> = kept.iter().map(|&i| rows[i].0).collect();
    let figures: Vec<f64> = kept.iter().map(|&i| rows[i].1).collect();
    let table = match kind {
        CapacityKind::Area => Hypsography::from_areas(elevation_m, figures),
        CapacityKind::Storage => Hypsography {
            area_m2: pchip::slopes(&elevation_m, &figures).ok_or(CapacityError::TooFew {
                found: kept.len(),
                wanted: 3,
            })?,
            elevation_m,
            volume_m3: figures,
            volume_given: true,
        },
    };
    let greatest = rows.last().map_or(0.0, |row| row.1);
    let mut worst = (0, 0.0);
    for (i, &(elevation_m, figure)) in rows.iter().enumerate() {
        let drawn = match kind {
            CapacityKind::Area => table.area_m2(elevation_m),
            CapacityKind::Storage => table.volume_m3(elevation_m),
        };
        // Within the table there always is one: its ends are kept.
        let off = drawn.map_or(f64::INFINITY, |drawn| (drawn - figure).abs());
        let share = if greatest > 0.0 { off / greatest } else { 0.0 };
        if share > worst.1 {
            worst = (i, share);
        }
    }
    Ok((table, worst))
}

/// A higher pool never has less surface. Differences in the last figures are rounding.
fn check_areas(table: &Hypsography) -> Result<(), CapacityError> {
    let greatest_m2 = table.area_m2.iter().copied().fold(0.0, f64::max);
    let rows: Vec<(f64, f64)> = table
        .elevation_m
        .iter()
        .copied()
        .zip(table.area_m2.iter().copied())
        .collect();
    match rows.windows(2).find(|w| w[1].1 < w[0].1 - 1e-12 * greatest_m2) {
        Some(pair) => Err(falls("area", pair[0], pair[1])),
        None => Ok(()),
    }
}

/// Greatest difference of the areas' integral to a given storage, share of the greatest storage.
fn check_integral(table: &Hypsography, rows: &[(f64, f64)]) -> Result<f64, CapacityError> {
    let below_m3 = rows.first().map_or(0.0, |row| row.1);
    let greatest_m3 = rows.last().map_or(0.0, |row| row.1);
    let integral = Hypsography::from_areas(table.elevation_m.clone(), table.area_m2.clone());
    let mut worst = (0.0, 0.0);
    for &(elevation_m, storage_m3) in rows {
        let found_m3 = integral.volume_m3(elevation_m).unwrap_or(f64::INFINITY) + below_m3;
        let share = if greatest_m3 > 0.0 {
            (found_m3 - storage_m3).abs() / greatest_m3
        } else {
            0.0
        };
        if share > worst.0 {
            worst = (share, elevation_m);
        }
    }
    if worst.0 > DERIVED_TOLERANCE_FRAC {
        return Err(CapacityError::DoesNotAddUp {
            found_pct: 100.0 * worst.0,
            wanted_pct: 100.0 * DERIVED_TOLERANCE_FRAC,
            elevation_m: worst.1,
        });
    }
    Ok(worst.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bowl with storage `k z^3`, whose area is `3 k z^2`, exactly.
    fn bowl(rows: usize) -> Vec<(f64, f64)> {
        let height = |i: usize| 60.0 * i as f64 / (rows - 1) as f64;
        (0..rows)
            .map(|i| (200.0 + height(i), 500.0 * height(i).powi(3)))
            .collect()
    }

    #[test]
    fn the_area_of_a_bowl_is_the_derivative_of_its_storage() {
        let found = hypsography_of(CapacityKind::Storage, &bowl(31)).unwrap();
        assert_eq!(found.table.elevation_m.len(), 31);
        // With storages 500 (2 k)^3 the secants beside row k are 500 x 4 x (3 k^2 -+ 3 k + 1), and their harmonic
        // mean, for equal steps, is 2000 (3 k^2 + 1 - 9 k^2 / (3 k^2 + 1)); worked by hand.
        for k in 1..30_u32 {
            let square = 3.0 * f64::from(k * k);
            let wanted_m2 = 2000.0 * (square + 1.0 - 3.0 * square / (square + 1.0));
            let found_m2 = found.table.area_m2[k as usize];
            // Storages are differences of large numbers: ten figures are left.
            assert!(
                (found_m2 - wanted_m2).abs() < 1e-9 * 2.0e6,
                "{k}: {found_m2} against {wanted_m2}"
            );
        }
        assert!(found.integral_frac < 0.005, "{}", found.integral_frac);
    }

    #[test]
    fn a_long_table_is_thinned_within_its_bound_and_keeps_its_ends() {
        let given = bowl(601);
        let found = hypsography_of(CapacityKind::Storage, &given).unwrap();
        assert!(found.table.elevation_m.len() <= MOST_ROWS);
        assert_eq!((found.given_rows, found.table.elevation_m[0]), (601, 200.0));
        let greatest_m3 = given[600].1;
        // The bound is measured anew here, row by row.
        for (elevation_m, storage_m3) in given {
            let drawn_m3 = found.table.volume_m3(elevation_m).unwrap();
            assert!((drawn_m3 - storage_m3).abs() <= THIN_TOLERANCE_FRAC * greatest_m3);
        }
        assert!(found.drawn_frac <= THIN_TOLERANCE_FRAC && found.drawn_frac > 0.0);
    }

    #[test]
    fn a_table_of_areas_is_thinned_too() {
        let areas: Vec<(f64, f64)> = bowl(301)
            .iter()
            .map(|r| (r.0, 1500.0 * (r.0 - 200.0).powi(2)))
            .collect();
        let found = hypsography_of(CapacityKind::Area, &areas).unwrap();
        assert!(found.table.elevation_m.len() <= MOST_ROWS && !found.table.volume_given);
        // Straight lines over the 39 steps between 40 rows leave a parabola by 1 / (4 x 39^2) of its height where the steps
        // are equal, and by four times that over a step twice as long (worked by hand).
        assert!(found.drawn_frac <= 1.0 / (39.0 * 39.0), "{}", found.drawn_frac);
    }

    #[test]
    fn a_table_that_no_lake_has_is_refused_with_the_place() {
        let storage = |rows: &[(f64, f64)]| hypsography_of(CapacityKind::Storage, rows).unwrap_err();
        assert!(matches!(
            storage(&[(1.0, 0.0), (2.0, 5.0), (3.0, 4.0)]),
            CapacityError::Falls { what: "storage", low_m, .. } if low_m == 2.0
        ));
        assert!(matches!(
            storage(&[(1.0, 0.0), (1.0, 5.0), (3.0, 6.0)]),
            CapacityError::Twice { .. }
        ));
        assert!(matches!(
            storage(&[(1.0, -1.0), (2.0, 5.0), (3.0, 6.0)]),
            CapacityError::NotPossible { .. }
        ));
        assert!(matches!(
            storage(&[(1.0, 0.0), (2.0, 5.0)]),
            CapacityError::TooFew { found: 2, wanted: 3 }
        ));
        // Storage that curves down: the surface would shrink as the pool rises.
        assert!(matches!(
            storage(&[(0.0, 0.0), (1.0, 10.0), (2.0, 30.0), (3.0, 35.0), (4.0, 36.0)]),
            CapacityError::Falls { what: "area", .. }
        ));
        // Nearly all of the storage in the last foot: three rows say too little of the area.
        assert!(matches!(
            storage(&[(0.0, 0.0), (10.0, 1.0), (11.0, 1000.0)]),
            CapacityError::DoesNotAddUp { .. }
        ));
    }
}
