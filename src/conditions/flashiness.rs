//! How jumpy a river is from day to day.

use crate::series::Daily;

/// Days of a flashiness shown, and how many pairs of neighbours it needs (project choice: a year has every
/// season once).
const FLASHINESS_DAYS: usize = 365;
const FLASHINESS_MIN_PAIRS: usize = 300;

/// Richards and Baker's index of daily flows without holes: `sum |Q_i - Q_(i-1)| / sum Q_i`, `i` from the second day on.
///
/// 0 for a steady river, about 0.1 for a large or spring-fed one, above 0.5 for a creek that follows each
/// rain. Flows in any one unit. Source: Baker, Richards, Loftus & Kramer 2004, JAWRA 40:503; row S-RB. `None` for
/// fewer than two days or no flow at all.
///
/// ```
/// // By hand: (2 + 1) / (3 + 2).
/// let index = plungeline::conditions::flashiness::richards_baker_frac(&[1.0, 3.0, 2.0]);
/// assert_eq!(index, Some(0.6));
/// ```
pub fn richards_baker_frac(flow_m3s: &[f64]) -> Option<f64> {
    of_pairs(flow_m3s.windows(2).map(|w| (w[0], w[1])))
}

/// The mean of `|Q_i - Q_(i-1)| / Q_(i-1)`: another statistic, which some libraries call by the same name. It is
/// here so that a check can hold the two apart (row S-RBtrap), and nothing uses it. `None` where a flow of a
/// day before is 0.
pub fn mean_relative_step_frac(flow_m3s: &[f64]) -> Option<f64> {
    let steps: Vec<f64> = flow_m3s.windows(2).map(|w| (w[1] - w[0]).abs() / w[0]).collect();
    (!steps.is_empty() && steps.iter().all(|s| s.is_finite()))
        .then(|| steps.iter().sum::<f64>() / steps.len() as f64)
}

/// Richards and Baker's index over the last 365 days of a record, where 300 pairs of neighbouring days are
/// measured. A pair with a hole does not count, neither above nor below the line.
pub(super) fn flashiness_frac(daily: &Daily) -> Option<f64> {
    let from = daily.value.len().saturating_sub(FLASHINESS_DAYS);
    let pairs: Vec<(f64, f64)> = (from.max(1)..daily.value.len())
        .filter(|i| daily.is_measured(i - 1) && daily.is_measured(*i))
        .filter_map(|i| Some((daily.value[i - 1]?, daily.value[i]?)))
        .collect();
    (pairs.len() >= FLASHINESS_MIN_PAIRS)
        .then(|| of_pairs(pairs.into_iter()))
        .flatten()
}

fn of_pairs(pairs: impl Iterator<Item = (f64, f64)>) -> Option<f64> {
    let (mut steps_m3s, mut sum_m3s) = (0.0, 0.0);
    for (before, now) in pairs {
        steps_m3s += (now - before).abs();
        sum_m3s += now;
    }
    (sum_m3s > 0.0).then(|| steps_m3s / sum_m3s)
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    #[test]
    fn a_year_with_holes_has_an_index_and_a_season_has_none() {
        let first = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap();
        let saw = |days: usize| -> Vec<Option<f64>> {
            (0..days)
                .map(|i| Some(if i % 2 == 0 { 1.0 } else { 3.0 }))
                .collect()
        };
        let mut year = Daily::new(first, saw(400));
        year.value[390] = None;
        let found = flashiness_frac(&year).unwrap();
        // Steps of 2 on a mean of 2: 1, but for the odd end.
        assert!((found - 1.0).abs() < 0.01, "{found}");
        assert_eq!(flashiness_frac(&Daily::new(first, saw(200))), None);
        assert_eq!(richards_baker_frac(&[0.0, 0.0]), None);
        assert_eq!(mean_relative_step_frac(&[0.0, 1.0]), None);
    }
}
