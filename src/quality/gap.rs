//! Gap test (QARTOD test 1): has a value come in time?

use chrono::{DateTime, Utc};

use crate::series::Flag;

/// 9 when the newest value is older than `allowed_h` at `now`, or there is none; 1 otherwise.
///
/// Source: QARTOD water level manual v2.1, test 1 (`NOW - t_n > TIM_INC`). A value from after `now`
/// counts as in time.
pub fn check_gap(newest: Option<DateTime<Utc>>, now: DateTime<Utc>, allowed_h: f64) -> Flag {
    match newest {
        Some(newest) if age_h(newest, now) <= allowed_h => Flag::Pass,
        _ => Flag::Missing,
    }
}

/// Age of `newest` at `now` in hours; negative for an instant after `now`.
pub fn age_h(newest: DateTime<Utc>, now: DateTime<Utc>) -> f64 {
    (now - newest).num_milliseconds() as f64 / 3_600_000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_feed_is_late_only_after_its_allowance() {
        let now: DateTime<Utc> = "2025-07-24T11:30:00Z".parse().unwrap();
        let newest = Some("2025-07-24T10:30:00Z".parse().unwrap());
        assert_eq!(check_gap(newest, now, 1.0), Flag::Pass);
        assert_eq!(check_gap(newest, now, 0.99), Flag::Missing);
        assert_eq!(check_gap(None, now, 1000.0), Flag::Missing);
    }
}
