//! Tridiagonal systems: the linear algebra of a column of layers.

/// One row: `below x[i-1] + diagonal x[i] + above x[i+1] = right`. `below` of the first row and `above` of the last
/// are left out of the system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TridiagonalRow {
    /// Coefficient of the unknown before.
    pub below: f64,
    /// Coefficient of the row's own unknown.
    pub diagonal: f64,
    /// Coefficient of the unknown after.
    pub above: f64,
    /// Right-hand side.
    pub right: f64,
}

/// Solves a tridiagonal system by elimination without pivots (Thomas), which is stable where each diagonal is at
/// least the sum of its neighbours in size, as those of implicit diffusion are. `None` where a pivot vanishes or is
/// no number.
///
/// ```
/// use plungeline::math::tridiagonal::{TridiagonalRow, solve_tridiagonal};
/// // 2x + y = 4, x + 3y = 7: x = 1, y = 2.
/// let rows = [
///     TridiagonalRow { below: 0.0, diagonal: 2.0, above: 1.0, right: 4.0 },
///     TridiagonalRow { below: 1.0, diagonal: 3.0, above: 0.0, right: 7.0 },
/// ];
/// let found = solve_tridiagonal(&rows).unwrap();
/// assert!((found[0] - 1.0).abs() < 1e-14 && (found[1] - 2.0).abs() < 1e-14);
/// ```
pub fn solve_tridiagonal(rows: &[TridiagonalRow]) -> Option<Vec<f64>> {
    let mut upper = Vec::with_capacity(rows.len());
    let mut found = Vec::with_capacity(rows.len());
    for (i, row) in rows.iter().enumerate() {
        let (before, value) = match i.checked_sub(1) {
            Some(k) => (upper[k], found[k]),
            None => (0.0, 0.0),
        };
        let below = if i == 0 { 0.0 } else { row.below };
        let pivot = row.diagonal - below * before;
        if pivot == 0.0 || !pivot.is_finite() {
            return None;
        }
        upper.push(row.above / pivot);
        found.push((row.right - below * value) / pivot);
    }
    for i in (0..rows.len().saturating_sub(1)).rev() {
        found[i] -= upper[i] * found[i + 1];
    }
    Some(found)
}
