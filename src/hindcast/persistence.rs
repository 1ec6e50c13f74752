//! Reference: the last profile before, as if nothing had changed since.

use chrono::{Days, NaiveDate};

use super::observed::ObservedProfile;
use super::pairs::Pair;
use crate::math::interpolate::linear_inside;

/// For each pair the value of the newest profile that is at least `days` days older and reaches its depth within the
/// same profile; `None` where that profile does not reach it, is older than `oldest_days`, or there is none. Shape as
/// `pairs`; `profiles` stand in the order of time.
pub fn persistence(
    profiles: &[ObservedProfile],
    pairs: &[Pair],
    days: u64,
    oldest_days: u64,
) -> Vec<Option<f64>> {
    let before = |day: NaiveDate| {
        let newest = day.checked_sub_days(Days::new(days))?;
        let oldest = day.checked_sub_days(Days::new(oldest_days))?;
        let at = profiles.partition_point(|p| p.day <= newest).checked_sub(1)?;
        Some(&profiles[at]).filter(|p| p.day >= oldest)
    };
    let mut found = Vec::with_capacity(pairs.len());
    for day in pairs.chunk_by(|a, b| a.day == b.day) {
        let last = before(day[0].day);
        let at = |p: &Pair| last.and_then(|l| linear_inside(&l.depth_m, &l.value, p.depth_m));
        found.extend(day.iter().map(at));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile(day: u32, value: [f64; 2]) -> ObservedProfile {
        let day = NaiveDate::from_ymd_opt(2020, 7, day).unwrap();
        ObservedProfile {
            day,
            time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
            depth_m: vec![0.0, 10.0],
            value: value.to_vec(),
        }
    }

    #[test]
    fn the_newest_profile_that_is_old_enough_goes_on() {
        let profiles = [
            profile(1, [20.0, 10.0]),
            profile(9, [22.0, 12.0]),
            profile(10, [30.0, 30.0]),
        ];
        let pairs: Vec<Pair> = [(1, 0.0), (10, 5.0), (10, 11.0)]
            .into_iter()
            .map(|(day, depth_m)| Pair {
                day: profile(day, [0.0; 2]).day,
                time: profile(day, [0.0; 2]).time,
                depth_m,
                observed: 0.0,
                modelled: 0.0,
                ice: false,
            })
            .collect();
        // By hand: nothing before the first; the middle of 22 and 12, or of 20 and 10 where it must be two days old;
        // 11 m is below both.
        assert_eq!(persistence(&profiles, &pairs, 1, 60), [None, Some(17.0), None]);
        assert_eq!(persistence(&profiles, &pairs, 2, 60), [None, Some(15.0), None]);
        assert_eq!(persistence(&profiles, &pairs, 2, 8), [None, None, None]);
    }
}
