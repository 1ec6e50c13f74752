//! Turnover outlooks kept and scored.

use plungeline::archive::{Issued, KeptPlace, KeptTurnover, TURNOVER_FORM, keep_turnover};
use plungeline::column::turnover::Mixing;
use plungeline::reports::forecasts::{ForecastParts, forecast_skill};
use plungeline::skill::turnover_record::TurnoverSkill;

use super::scene::*;
use crate::trips::scene::lake;

/// An outlook of 15 October: one chance in ten of each day from the 20th to the 27th, one that it was mixed, one that it is later.
fn outlook() -> KeptTurnover {
    let issued = issue(day("2023-10-15"));
    KeptTurnover {
        form: TURNOVER_FORM.to_owned(),
        version: "0".to_owned(),
        lake: "harrow-gap".to_owned(),
        as_of: issued,
        made_at: issued,
        replayed: false,
        places: vec![KeptPlace {
            zone: lake().main_body().id.clone(),
            already_prob: 0.1,
            first_day: day("2023-10-20"),
            day_prob: vec![0.1; 8],
            later_prob: 0.1,
        }],
    }
}

fn skill_of(outlook: &KeptTurnover, turnovers: &[Mixing]) -> TurnoverSkill {
    skill_of_all(std::slice::from_ref(outlook), turnovers)
}

fn skill_of_all(outlooks: &[KeptTurnover], turnovers: &[Mixing]) -> TurnoverSkill {
    forecast_skill(&ForecastParts {
        lake: lake(),
        as_of: page_clock(),
        forecasts: &[],
        outlooks,
        unreadable: 0,
        observed: &observed(&record(&truth())),
        turnovers,
        with_replayed: false,
        invented: false,
    })
    .expect("a distribution")
    .turnover
}

fn between(last_stratified: &str, first_mixed: &str) -> Mixing {
    Mixing {
        last_stratified: day(last_stratified),
        first_mixed: day(first_mixed),
    }
}

#[test]
fn an_outlook_is_scored_by_the_interval_between_two_profiles() {
    // The middle of 22 to 25 October, counted to its end, is the 24th; nine days before, so of the 10 days.
    let found = skill_of(&outlook(), &[between("2023-10-22", "2023-10-25")]);
    assert_eq!((found.outlooks, found.observed, found.dated), (1, 1, 1));
    assert_eq!(found.leads.len(), 1);
    let lead = found.leads[0];
    assert_eq!((lead.lead_days, lead.seasons, lead.floored), (10, 1, 0));
    // By hand: F is 0.1 on the 19th, 0.2 to 0.5 on the 20th to the 23rd, then 0.6 to 0.9 to the 27th, where 1 is wanted:
    // .01 + .04 + .09 + .16 + .25 + .16 + .09 + .04 + .01.
    assert!((lead.crps_days.expect("a date") - 0.85).abs() < 1e-12, "{lead:?}");
    // Three days of one in ten each.
    assert!((lead.log_score + 0.3f64.ln()).abs() < 1e-12);
    assert!(lead.reference.is_none(), "no earlier date");
}

#[test]
fn a_gap_too_long_for_a_date_is_scored_as_an_interval_alone() {
    let found = skill_of(&outlook(), &[between("2023-10-20", "2023-10-26")]);
    assert_eq!(found.dated, 1);
    let found = skill_of(&outlook(), &[between("2023-10-13", "2023-10-26")]);
    assert_eq!((found.dated, found.leads[0].crps_days), (0, None));
    // Mixed already, or on one of seven days: 0.8.
    assert!((found.leads[0].log_score + 0.8f64.ln()).abs() < 1e-12);
}

#[test]
fn what_came_after_the_last_day_is_scored_as_censored() {
    // Still stratified on the 24th, mixed on the 30th, after the last day: P(later than the 24th) is 0.1 times three days, and the rest 0.1.
    let found = skill_of(&outlook(), &[between("2023-10-24", "2023-10-30")]);
    assert!(
        (found.leads[0].log_score + 0.4f64.ln()).abs() < 1e-12,
        "{found:?}"
    );
}

#[test]
fn earlier_dates_alone_make_the_reference_and_late_outlooks_do_not_count() {
    let mut seasons: Vec<Mixing> = [2020, 2021, 2022]
        .map(|year| between(&format!("{year}-10-22"), &format!("{year}-10-25")))
        .to_vec();
    seasons.push(between("2023-10-22", "2023-10-25"));
    let found = skill_of(&outlook(), &seasons);
    let reference = found.leads[0].reference.expect("three earlier dates");
    // The earlier dates are those of this year to a leap day, and so is the normal date that they make, a day wide or so.
    assert!(
        reference.seasons == 1 && reference.reference_days <= 1.0,
        "{reference:?}"
    );
    assert!((reference.crps_days - 0.85).abs() < 1e-12);
    // A season after the issue is no earlier one.
    seasons[0] = between("2024-10-22", "2024-10-25");
    assert!(skill_of(&outlook(), &seasons).leads[0].reference.is_none());
    let mut late = outlook();
    late.made_at = issue(day("2023-10-17"));
    assert_eq!(skill_of(&late, &seasons).outlooks, 0);
}

#[test]
fn of_outlooks_made_twice_in_a_day_the_first_is_scored() {
    let first = outlook();
    let mut second = outlook();
    second.made_at = first.made_at + chrono::TimeDelta::hours(1);
    second.places[0].day_prob = vec![0.0; 8];
    second.places[0].day_prob[4] = 0.8;
    let seasons = [between("2023-10-22", "2023-10-25")];
    let alone = skill_of(&first, &seasons);
    let found = skill_of_all(&[second.clone(), first.clone()], &seasons);
    assert_eq!((found.outlooks, &found.leads), (1, &alone.leads));
    assert_ne!(skill_of(&second, &seasons).leads, alone.leads);
}

#[test]
fn an_outlook_is_kept_unchanged() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Issued::new(folder.path());
    let path = keep_turnover(&archive, &outlook()).unwrap();
    assert_eq!(keep_turnover(&archive, &outlook()).unwrap(), path);
    let again: KeptTurnover = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    assert_eq!(again, outlook());
    let text = folder.path().join("file");
    std::fs::write(&text, "").unwrap();
    let error = keep_turnover(&Issued::new(text.join("below")), &outlook()).unwrap_err();
    assert!(error.to_string().contains("--store"), "{error}");
}
