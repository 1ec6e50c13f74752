//! Whether what other years teach of the members' dates helps years that it has not seen.

use super::fitted::Dressing;
use super::score::{Case, scored};
use crate::skill::SkillError;
use crate::skill::normal_date::Known;
use crate::skill::seasons::seasons_skill;

/// How the members of a year are dressed, by all other years: with what these teach, where each of them, left out in turn, did better
/// with what the rest taught than untaught, and the interval of that skill lies above 0; else untaught.
///
/// Source: choice by cross-validation, Stone 1974 (from memory); a correction that has to be shown to help, as in `skill::correction`. Years are few: a shift that
/// is learned from a dozen of them costs more than it brings where members are nearly right.
///
/// # Errors
/// [`SkillError`].
pub(super) fn taught_dressing(case: &Case, cases: &[Case]) -> Result<(Dressing, bool), SkillError> {
    let year = case.issue.year;
    let others: Vec<&Case> = cases.iter().filter(|other| other.issue.year != year).collect();
    let mut compared = Vec::new();
    for judged in &others {
        let judged_year = judged.issue.year;
        let rest = others.iter().filter(|other| other.issue.year != judged_year);
        let taught = Dressing::fit(&trained(rest.copied(), &[year, judged_year]));
        let days = judged.days_without(&[year]);
        let crps_days = |dressing: Dressing| {
            let forecast = dressing.forecast(&days, judged.stratified_day)?;
            Ok::<f64, SkillError>(scored(&forecast, judged.known)?.crps_days)
        };
        compared.push((crps_days(taught)?, crps_days(Dressing::UNTAUGHT)?));
    }
    let helps = seasons_skill(&compared)?.is_some_and(|skill| skill.is_shown());
    let dressing = match helps {
        true => Dressing::fit(&trained(others.into_iter(), &[year])),
        false => Dressing::UNTAUGHT,
    };
    Ok((dressing, helps))
}

/// What years teach, without members that had the weather of those that are left out.
fn trained<'a>(cases: impl Iterator<Item = &'a Case>, left_out: &[i32]) -> Vec<(Vec<i64>, Known)> {
    cases
        .map(|case| (case.days_without(left_out), case.known))
        .collect()
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::hindcast::outlook::runs::Issue;

    /// Twelve years whose members are early by `early` days, more or less by `apart` from year to year.
    fn cases(early: i64, apart: i64) -> Vec<Case> {
        (0..12)
            .map(|k| {
                let date = 290 + (5 * k) % 7;
                let off = early + if k % 2 == 0 { apart } else { -apart };
                Case {
                    issue: Issue {
                        day: NaiveDate::from_ymd_opt(2000 + k as i32, 9, 20).unwrap(),
                        year: 2000 + k as i32,
                        lead_days: 20,
                    },
                    known: Known::on(date),
                    members: (0..8).map(|m| (2000 + m as i32, date - off + m - 4)).collect(),
                    surface_k: 0.0,
                    stratified_day: Some(240),
                }
            })
            .collect()
    }

    #[test]
    fn a_shift_that_all_years_share_is_taught() {
        let cases = cases(9, 1);
        let (dressing, helps) = taught_dressing(&cases[3], &cases).unwrap();
        // Early by 9 and a half days (the members' middle is half a day low); they lie eight days apart, so that the shift is known to two.
        assert!(helps && (dressing.shift_days - 9.5).abs() < 2.0, "{dressing:?}");
    }

    #[test]
    fn errors_of_either_sign_teach_nothing() {
        let cases = cases(0, 6);
        for case in &cases {
            let (dressing, helps) = taught_dressing(case, &cases).unwrap();
            assert!(!helps && dressing == Dressing::UNTAUGHT, "{dressing:?}");
        }
    }

    #[test]
    fn the_years_own_date_has_no_say_in_it() {
        let mut cases = cases(4, 3);
        let before = taught_dressing(&cases[5], &cases).unwrap();
        cases[5].known = Known::on(330);
        assert_eq!(taught_dressing(&cases[5], &cases).unwrap(), before);
    }
}
