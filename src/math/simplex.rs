//! The lowest point of a smooth function of few variables, without its slopes.

/// When to end a search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SimplexSearch {
    /// Most evaluations of the function, over all restarts.
    pub evaluations: usize,
    /// End a simplex when its values differ by no more than this.
    pub value_within: f64,
    /// End a simplex when, besides, its corners differ by no more than this times the first steps.
    pub corner_within: f64,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Lowest {
    /// Where. Shape `[parameter]`.
    pub at: Vec<f64>,
    /// The function there.
    pub value: f64,
    /// Evaluations used.
    pub evaluations: usize,
    /// Whether a fresh simplex around the point found nothing lower, before the evaluations ran out.
    pub converged: bool,
}

/// Minimum by the downhill simplex (Nelder & Mead 1965; coefficients 1, 2, 1/2, 1/2), begun anew around what
/// it found until that brings nothing, since a simplex may collapse off the minimum (McKinnon 1998).
///
/// `step` holds the first simplex's width by parameter. A value that is not finite counts as higher than any.
/// A local search: the caller starts it in the right valley. `None` when the lengths differ or are 0, a step
/// is 0 or not finite, or the function is not finite at `start`.
///
/// ```
/// # use plungeline::math::simplex::{SimplexSearch, lowest};
/// let search = SimplexSearch { evaluations: 2000, value_within: 1e-14, corner_within: 1e-8 };
/// let found = lowest(|p| (p[0] - 3.0).powi(2) + p[1].powi(2), &[0.0, 1.0], &[1.0, 1.0], search).unwrap();
/// assert!((found.at[0] - 3.0).abs() < 1e-6 && found.converged);
/// ```
pub fn lowest(
    f: impl Fn(&[f64]) -> f64,
    start: &[f64],
    step: &[f64],
    search: SimplexSearch,
) -> Option<Lowest> {
    let shaped =
        !start.is_empty() && start.len() == step.len() && step.iter().all(|s| s.is_finite() && *s != 0.0);
    if !shaped {
        return None;
    }
    let mut spent = 1;
    let mut best = Corner::new(&f, start.to_vec());
    if !best.value.is_finite() {
        return None;
    }
    let mut converged = false;
    while spent < search.evaluations && !converged {
        let (found, used, ended) = descend(&f, &best, step, search, search.evaluations - spent);
        spent += used;
        converged = ended && best.value - found.value <= search.value_within;
        if found.value < best.value {
            best = found;
        }
    }
    Some(Lowest {
        at: best.at,
        value: best.value,
        evaluations: spent,
        converged,
    })
}

#[derive(Debug, Clone)]
struct Corner {
    at: Vec<f64>,
    value: f64,
}

impl Corner {
    fn new(f: &impl Fn(&[f64]) -> f64, at: Vec<f64>) -> Corner {
        let value = f(&at);
        Corner {
            at,
            value: if value.is_nan() { f64::INFINITY } else { value },
        }
    }

    /// The corner at `share` of the way from here to `other` (beyond it above 1, away from it below 0).
    fn toward(&self, f: &impl Fn(&[f64]) -> f64, other: &[f64], share: f64) -> Corner {
        let at = self
            .at
            .iter()
            .zip(other)
            .map(|(a, b)| a + share * (b - a))
            .collect();
        Corner::new(f, at)
    }
}

/// One simplex from `start` to its collapse: the best corner, evaluations used, whether it collapsed.
fn descend(
    f: &impl Fn(&[f64]) -> f64,
    start: &Corner,
    step: &[f64],
    search: SimplexSearch,
    budget: usize,
) -> (Corner, usize, bool) {
    let count = step.len();
    let mut corners = vec![start.clone()];
    for k in 0..count {
        let mut at = start.at.clone();
        at[k] += step[k];
        corners.push(Corner::new(f, at));
    }
    let mut spent = count;
    loop {
        corners.sort_by(|a, b| a.value.total_cmp(&b.value));
        let flat = corners[count].value - corners[0].value <= search.value_within;
        let small = (0..count).all(|k| {
            let wide = |c: &Corner| (c.at[k] - corners[0].at[k]).abs();
            corners.iter().map(wide).fold(0.0, f64::max) <= search.corner_within * step[k].abs()
        });
        if (flat && small) || spent >= budget {
            return (corners.swap_remove(0), spent, flat && small);
        }
        let centre: Vec<f64> = (0..count)
            .map(|k| corners[..count].iter().map(|c| c.at[k]).sum::<f64>() / count as f64)
            .collect();
        let worst = corners[count].clone();
        let reflected = worst.toward(f, &centre, 2.0);
        spent += 1;
        let next = if reflected.value < corners[0].value {
            spent += 1;
            let expanded = worst.toward(f, &centre, 3.0);
            Some(if expanded.value < reflected.value {
                expanded
            } else {
                reflected
            })
        } else if reflected.value < corners[count - 1].value {
            Some(reflected)
        } else {
            spent += 1;
            let outside = reflected.value < worst.value;
            let contracted = worst.toward(f, &centre, if outside { 1.5 } else { 0.5 });
            (contracted.value < reflected.value.min(worst.value)).then_some(contracted)
        };
        match next {
            Some(corner) => corners[count] = corner,
            None => {
                let best = corners[0].at.clone();
                for corner in &mut corners[1..] {
                    *corner = corner.toward(f, &best, 0.5);
                }
                spent += count;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEARCH: SimplexSearch = SimplexSearch {
        evaluations: 20_000,
        value_within: 1e-15,
        corner_within: 1e-9,
    };

    #[test]
    fn a_curved_valley_is_followed_to_its_floor() {
        // Rosenbrock 1960: minimum 0 at (1, 1).
        let f = |p: &[f64]| 100.0 * (p[1] - p[0] * p[0]).powi(2) + (1.0 - p[0]).powi(2);
        let found = lowest(f, &[-1.2, 1.0], &[0.5, 0.5], SEARCH).unwrap();
        // The curvature is 0.4 along the valley at least, so that values within 1e-15 bring 1e-7.
        assert!(
            found.converged && found.at.iter().all(|x| (x - 1.0).abs() < 1e-6),
            "{found:?}"
        );
    }

    #[test]
    fn four_variables_of_powell_are_solved() {
        // Powell 1962: minimum 0 at the origin, with a singular curvature there.
        let f = |p: &[f64]| {
            (p[0] + 10.0 * p[1]).powi(2)
                + 5.0 * (p[2] - p[3]).powi(2)
                + (p[1] - 2.0 * p[2]).powi(4)
                + 10.0 * (p[0] - p[3]).powi(4)
        };
        let found = lowest(f, &[3.0, -1.0, 0.0, 1.0], &[1.0; 4], SEARCH).unwrap();
        // Fourth powers: values within 1e-15 bring the variables to a few thousandths only.
        assert!(found.value < 1e-11, "{found:?}");
    }

    #[test]
    fn values_that_are_not_finite_are_walls() {
        let f = |p: &[f64]| if p[0] < 2.0 { f64::NAN } else { p[0] };
        let found = lowest(f, &[5.0], &[1.0], SEARCH).unwrap();
        assert!((found.at[0] - 2.0).abs() < 1e-6, "{found:?}");
        assert_eq!(lowest(f, &[1.0], &[1.0], SEARCH), None);
    }

    #[test]
    fn faulty_shapes_are_refused_and_a_short_search_says_so() {
        let f = |p: &[f64]| p[0] * p[0];
        assert_eq!(lowest(f, &[], &[], SEARCH), None);
        assert_eq!(lowest(f, &[1.0], &[1.0, 1.0], SEARCH), None);
        assert_eq!(lowest(f, &[1.0], &[0.0], SEARCH), None);
        let short = SimplexSearch {
            evaluations: 5,
            ..SEARCH
        };
        assert!(!lowest(f, &[1.0], &[0.1], short).unwrap().converged);
    }
}
