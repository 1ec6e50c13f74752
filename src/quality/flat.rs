//! Flat line test (QARTOD test 8): is the sensor stuck?

use std::collections::VecDeque;

use super::spike::Limits;
use crate::series::Flag;

/// 3 where the values of the last `hours.suspect` hours, 4 where those of the last `hours.fail`
/// hours, lie within `within` of each other; 1 elsewhere; 9 where there is none. A missing value ends
/// a flat stretch.
///
/// Source: QARTOD water level manual v2.1, test 8. The manual counts repeats; this counts elapsed
/// hours, as ioos_qc 3.0.0 does: three equal hourly values span two hours. `time_h` in hours from any
/// instant, increasing, as long as `values`; `within` in the unit of the values, its end included.
pub fn check_flat(time_h: &[f64], values: &[Option<f64>], hours: Limits, within: f64) -> Vec<Flag> {
    let mut start = 0;
    let mut highest: VecDeque<(usize, f64)> = VecDeque::new();
    let mut lowest: VecDeque<(usize, f64)> = VecDeque::new();
    let mut flags = Vec::with_capacity(values.len());
    for (i, value) in values.iter().enumerate() {
        let Some(value) = *value else {
            start = i + 1;
            highest.clear();
            lowest.clear();
            flags.push(Flag::Missing);
            continue;
        };
        while highest.back().is_some_and(|&(_, h)| h <= value) {
            highest.pop_back();
        }
        highest.push_back((i, value));
        while lowest.back().is_some_and(|&(_, l)| l >= value) {
            lowest.pop_back();
        }
        lowest.push_back((i, value));
        // The longest stretch that ends here and stays within the limit begins at `start`.
        while highest[0].1 - lowest[0].1 > within {
            let first = highest[0].0.min(lowest[0].0);
            start = first + 1;
            highest.pop_front_if(|&mut (at, _)| at == first);
            lowest.pop_front_if(|&mut (at, _)| at == first);
        }
        let flat_h = time_h[i] - time_h[start];
        flags.push(if flat_h >= hours.fail {
            Flag::Fail
        } else if flat_h >= hours.suspect {
            Flag::Suspect
        } else {
            Flag::Pass
        });
    }
    flags
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// The stretch by the definition: every window that ends here, tried one by one.
        #[test]
        fn the_moving_window_finds_what_the_definition_finds(
            values in proptest::collection::vec(proptest::option::weighted(0.9, 0u8..4), 0..60),
        ) {
            let values: Vec<Option<f64>> = values.into_iter().map(|v| v.map(f64::from)).collect();
            let time_h: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
            let flags = check_flat(&time_h, &values, Limits { suspect: 2.0, fail: 4.0 }, 1.0);
            for i in 0..values.len() {
                let flat = |first: usize| {
                    let window: Option<Vec<f64>> = values[first..=i].iter().copied().collect();
                    window.is_some_and(|w| {
                        let high = w.iter().copied().fold(f64::MIN, f64::max);
                        let low = w.iter().copied().fold(f64::MAX, f64::min);
                        high - low <= 1.0
                    })
                };
                let hours = (0..=i).filter(|&first| flat(first)).map(|first| i - first).max();
                let wanted = match hours {
                    None => Flag::Missing,
                    Some(hours) if hours >= 4 => Flag::Fail,
                    Some(hours) if hours >= 2 => Flag::Suspect,
                    Some(_) => Flag::Pass,
                };
                prop_assert_eq!(flags[i], wanted, "at {}", i);
            }
        }
    }
}
