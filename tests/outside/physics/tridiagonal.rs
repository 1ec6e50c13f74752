//! The tridiagonal solver against a dense one.

use nalgebra::{DMatrix, DVector};
use plungeline::math::tridiagonal::{TridiagonalRow, solve_tridiagonal};
use proptest::prelude::*;

proptest! {
    #[test]
    fn a_system_of_diffusion_is_solved_as_by_a_dense_solver(
        parts in proptest::collection::vec((0.0..50.0f64, 0.1..10.0f64, -30.0..30.0f64), 1..60)
    ) {
        // Implicit diffusion: each diagonal is a volume plus both couplings.
        let n = parts.len();
        let coupling = |i: usize| if i == 0 || i == n { 0.0 } else { parts[i].0 };
        let rows: Vec<TridiagonalRow> = (0..n)
            .map(|i| TridiagonalRow {
                below: -coupling(i),
                diagonal: parts[i].1 + coupling(i) + coupling(i + 1),
                above: -coupling(i + 1),
                right: parts[i].1 * parts[i].2,
            })
            .collect();
        let found = solve_tridiagonal(&rows).unwrap();
        // LU of nalgebra on the whole matrix: the slow, obvious way.
        let matrix = DMatrix::from_fn(n, n, |i, j| match j as i64 - i as i64 {
            -1 => rows[i].below,
            0 => rows[i].diagonal,
            1 => rows[i].above,
            _ => 0.0,
        });
        let wanted = matrix.lu().solve(&DVector::from_iterator(n, rows.iter().map(|r| r.right))).unwrap();
        for (a, b) in found.iter().zip(wanted.iter()) {
            // Condition number under 1e4 here.
            prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        // Each coupling enters two rows with opposite sign: the content is kept.
        let content: f64 = found.iter().zip(&parts).map(|(x, p)| x * p.1).sum();
        let before: f64 = rows.iter().map(|r| r.right).sum();
        prop_assert!((content - before).abs() < 1e-9 * (1.0 + before.abs()));
    }
}

#[test]
fn a_pivot_that_vanishes_and_no_row_at_all_are_told() {
    let row = TridiagonalRow {
        below: 0.0,
        diagonal: 0.0,
        above: 1.0,
        right: 1.0,
    };
    assert_eq!(solve_tridiagonal(&[row]), None);
    assert_eq!(solve_tridiagonal(&[]), Some(Vec::new()));
}
