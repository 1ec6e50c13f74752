//! Reference: the mean of the other years' profiles about the same date, at the same depth.
//!
//! It uses nothing of the year that it is compared in, but all others, those after it too: a reference that is hard to
//! beat, as a run of the model has no such knowledge.

use chrono::{Datelike, NaiveDate};

use super::observed::ObservedProfile;
use super::pairs::Pair;
use crate::math::interpolate::linear_inside;

/// Places of a year: 29 February has its own.
const PLACES: usize = 366;

/// How the climatology is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClimatologyRule {
    /// Days before and after the date whose profiles count.
    pub window_days: usize,
    /// Fewest profiles of other years that reach the depth; with fewer there is no reference.
    pub fewest: usize,
}

impl Default for ClimatologyRule {
    /// 7 days either way, three profiles (project choice).
    fn default() -> Self {
        ClimatologyRule {
            window_days: 7,
            fewest: 3,
        }
    }
}

/// The place of `day` in a table of the year, 1 March always at one place.
fn place(day: NaiveDate) -> usize {
    let after_february = !day.leap_year() && day.month() > 2;
    day.ordinal0() as usize + usize::from(after_february)
}

/// For each pair the mean over the profiles of other years within the window, each brought straight to the depth of
/// the pair, all of the same weight; `None` with too few that reach it. Shape as `pairs`.
///
/// Of another year is a profile that is neither of the same calendar year nor, across New Year, within the window of
/// the very day.
pub fn climatology(profiles: &[ObservedProfile], pairs: &[Pair], rule: ClimatologyRule) -> Vec<Option<f64>> {
    // Profiles in the order of the year, so that a window is at most two stretches of neighbours.
    let mut sorted: Vec<&ObservedProfile> = profiles.iter().collect();
    sorted.sort_by_key(|p| place(p.day));
    let days: Vec<Numbered> = sorted.iter().map(|p| Numbered::of(p.day)).collect();
    let begin: Vec<usize> = (0..=PLACES)
        .map(|at| sorted.partition_point(|p| place(p.day) < at))
        .collect();
    let reach = rule.window_days.min(PLACES / 2 - 1);
    // Pairs of one depth share what each profile has there.
    let mut order: Vec<usize> = (0..pairs.len()).collect();
    order.sort_by(|a, b| pairs[*a].depth_m.total_cmp(&pairs[*b].depth_m));
    let mut found = vec![None; pairs.len()];
    for run in order.chunk_by(|a, b| pairs[*a].depth_m == pairs[*b].depth_m) {
        let depth_m = pairs[run[0]].depth_m;
        let mut there: Vec<Option<f64>> = vec![None; sorted.len()];
        let mut known = [false; PLACES];
        for i in run {
            let day = Numbered::of(pairs[*i].day);
            let (mut sum, mut count) = (0.0, 0);
            for off in 0..=2 * reach {
                let at = (place(pairs[*i].day) + PLACES + off - reach) % PLACES;
                let of_place = begin[at]..begin[at + 1];
                if !known[at] {
                    known[at] = true;
                    for other in of_place.clone() {
                        there[other] = linear_inside(&sorted[other].depth_m, &sorted[other].value, depth_m);
                    }
                }
                for other in of_place {
                    if let (Some(value), false) = (there[other], is_own(day, days[other], reach)) {
                        sum += value;
                        count += 1;
                    }
                }
            }
            found[*i] = (count >= rule.fewest.max(1)).then(|| sum / count as f64);
        }
    }
    found
}

/// A day as plain numbers: the loop over the windows looks at some hundred of them for each pair.
#[derive(Debug, Clone, Copy)]
struct Numbered {
    year: i32,
    day: i32,
}

impl Numbered {
    fn of(day: NaiveDate) -> Numbered {
        Numbered {
            year: day.year(),
            day: day.num_days_from_ce(),
        }
    }
}

/// Whether a profile of `other` belongs to the year that `day` is compared in.
fn is_own(day: Numbered, other: Numbered, reach: usize) -> bool {
    other.year == day.year || (other.day - day.day).unsigned_abs() as usize <= reach
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn profile(year: i32, month: u32, day: u32, value: &[f64]) -> ObservedProfile {
        let day = NaiveDate::from_ymd_opt(year, month, day).unwrap();
        ObservedProfile {
            day,
            time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
            depth_m: (0..value.len()).map(|i| 10.0 * i as f64).collect(),
            value: value.to_vec(),
        }
    }

    fn pair(year: i32, month: u32, day: u32, depth_m: f64) -> Pair {
        let of = profile(year, month, day, &[]);
        Pair {
            day: of.day,
            time: of.time,
            depth_m,
            observed: 0.0,
            modelled: 0.0,
            ice: false,
        }
    }

    const RULE: ClimatologyRule = ClimatologyRule {
        window_days: 7,
        fewest: 2,
    };

    #[test]
    fn other_years_within_the_window_make_the_mean() {
        let profiles = [
            profile(2000, 7, 10, &[20.0, 10.0]),
            profile(2001, 7, 17, &[22.0, 8.0]),
            profile(2001, 7, 18, &[90.0, 90.0]),
            profile(2002, 7, 10, &[70.0, 70.0]),
            profile(2003, 7, 3, &[24.0]),
        ];
        let pairs = [
            pair(2002, 7, 10, 0.0),
            pair(2002, 7, 10, 5.0),
            pair(2002, 7, 10, 12.0),
        ];
        let found = climatology(&profiles, &pairs, RULE);
        // By hand: 18 July is 8 days away, 2002 is the year itself. At the surface (20 + 22 + 24) / 3; at 5 m 15 and 15,
        // the third does not reach; at 12 m none does.
        assert_eq!(found, [Some(22.0), Some(15.0), None]);
    }

    #[test]
    fn across_new_year_the_very_days_about_do_not_count() {
        let profiles = [
            profile(2000, 12, 30, &[4.0]),
            profile(2001, 1, 2, &[99.0]),
            profile(2002, 1, 2, &[6.0]),
            profile(2000, 1, 3, &[8.0]),
        ];
        let found = climatology(&profiles, &[pair(2000, 12, 31, 0.0)], RULE);
        // 2 January 2001 is two days off, so is 30 December; 3 January 2000 is of the same calendar year.
        assert_eq!(found, [None]);
        let found = climatology(&profiles, &[pair(2003, 12, 31, 0.0)], RULE);
        // (4 + 99 + 6 + 8) / 4
        assert_eq!(found, [Some(29.25)]);
    }

    proptest! {
        #[test]
        fn nothing_of_its_own_year_is_used(
            own in prop::collection::vec(0.0f64..30.0, 3),
            changed in prop::collection::vec(0.0f64..30.0, 3),
            others in prop::collection::vec(0.0f64..30.0, 4)
        ) {
            let all = |own: &[f64]| {
                let mut all: Vec<ObservedProfile> =
                    (1..).zip(own).map(|(d, v)| profile(2005, 6, d, &[*v])).collect();
                all.extend((2006..).zip(&others).map(|(y, v)| profile(y, 6, 2, &[*v])));
                all
            };
            let pairs = [pair(2005, 6, 2, 0.0)];
            let (a, b) = (climatology(&all(&own), &pairs, RULE), climatology(&all(&changed), &pairs, RULE));
            prop_assert_eq!(&a, &b);
            // A sum of four numbers, in the same order.
            prop_assert!((a[0].unwrap() - others.iter().sum::<f64>() / 4.0).abs() < 1e-12);
        }
    }
}
