//! What the page says of archives whose quality is known.

use chrono::{Datelike, Days};
use plungeline::archive::KeptDay;
use plungeline::column::ShownBy;
use plungeline::faces::text::skill::compose_skill;
use plungeline::faces::{Ink, Reader, Units};
use plungeline::reports::forecasts::{ForecastOf, Group, known_at};
use plungeline::reports::{header, skill_page};
use plungeline::series::Daily;
use plungeline::skill::lead_scores::LeadVerdict;

use super::scene::*;
use crate::trips::scene::{known, lake};

/// Standard deviation of the error of a good forecast, and of its members about their middle.
const GOOD_DEGC: f64 = 0.5;

#[test]
fn a_calibrated_ensemble_covers_what_it_says_and_betters_the_references() {
    let truth = truth();
    let forecasts = archive(&truth, 6, |_, value, whole, own| {
        value + GOOD_DEGC * (whole + own)
    });
    let page = skill(&forecasts, &record(&truth));
    assert_eq!((page.kept, page.scored, page.late), (364, 364, 0));
    let surface = surface(&page);
    assert_eq!((surface.leads.len(), surface.unobserved), (6, 0));
    for score in &surface.leads {
        assert!(score.cases >= 358, "{}", score.cases);
        // Binomial of 360 independent cases: standard error 0.021; four of them.
        let within = score.within.share_frac;
        assert!((within - 0.8).abs() < 0.085, "{within}");
        // The error's variance from 360 cases: standard error 0.037 of its root; four of them.
        let ratio = score.spread_ratio.expect("errors");
        assert!((ratio - 1.0).abs() < 0.15, "{ratio}");
        // Standard error of the mean error: sqrt(0.5^2 + 0.4^2) / sqrt(360) = 0.034, four of them.
        assert!(score.bias.abs() < 0.14, "{}", score.bias);
        assert!(score.flat_prob > 1e-4, "{:?}", score.ranks);
        assert_eq!(score.ranks.iter().sum::<usize>(), score.cases);
    }
    // Errors of 0.64 degC with the sensor's, where a departure of 1.5 degC is left to persistence five days on.
    let fifth = &surface.leads[4];
    assert_eq!(fifth.verdict, LeadVerdict::Better);
    let climatology = fifth.against_climatology.expect("seven years");
    assert!(climatology.skill > 0.4 && climatology.cases == fifth.cases);
    let persistence = fifth.against_persistence.expect("seven years");
    assert!(
        persistence.reference_score < climatology.reference_score,
        "what lasts helps"
    );
    assert!(
        surface
            .rules
            .iter()
            .skip(2)
            .all(|rule| rule.tested && rule.shown_by != ShownBy::DampedPersistence)
    );
    let groups: Vec<Group> = surface.groups.iter().map(|g| g.group).collect();
    assert_eq!(
        groups,
        [Group::Winter, Group::Spring, Group::Summer, Group::Autumn]
    );
}

#[test]
fn a_biased_and_too_sure_ensemble_is_mended_by_a_correction_that_has_not_seen_the_cases() {
    let truth = truth();
    let forecasts = archive(&truth, 3, |_, value, whole, own| {
        value + 1.5 + GOOD_DEGC * (whole + 0.3 * own)
    });
    let page = skill(&forecasts, &record(&truth));
    let surface = surface(&page);
    for (score, correction) in surface.leads.iter().zip(&surface.corrections) {
        assert!((score.bias - 1.5).abs() < 0.14, "{}", score.bias);
        assert!(score.spread_ratio.expect("errors") < 0.5);
        let trial = &correction.trial;
        assert!(trial.helps && trial.against_uncorrected.skill > 0.4, "{trial:?}");
        // A forecast of 20 degC comes down by the bias; as above, and the slope's error of 0.005 over 10 degC.
        let (mean, sd) = trial
            .correction
            .apply(20.0, 0.15 * 0.15 + SENSOR_DEGC * SENSOR_DEGC);
        assert!((mean - 18.5).abs() < 0.25, "{mean}");
        // The error of the middle, 0.5 degC, with the sensor's 0.4: 0.64 within four standard errors.
        assert!((sd - 0.64).abs() < 0.1, "{sd}");
    }
    assert_eq!(surface.rules[2].shown_by, ShownBy::CorrectedModel);
}

#[test]
fn a_forecast_that_is_right_every_other_week_only_is_told_to_be_no_better() {
    let truth = truth();
    let forecasts = archive(&truth, 5, |morning, value, whole, own| {
        match morning.iso_week().week() % 2 {
            0 => value + 0.3 * (whole + own),
            _ => value + 2.4 * (whole + own),
        }
    });
    let page = skill(&forecasts, &record(&truth));
    let fifth = &surface(&page).leads[4];
    assert_eq!(
        fifth.verdict,
        LeadVerdict::AsGood,
        "{:?}",
        fifth.against_persistence
    );
    let rule = surface(&page).rules[4];
    assert!(rule.tested && rule.shown_by == ShownBy::DampedPersistence);
    let whole = skill_page(header(lake()), &known(), (&[], 0, false), &[], page).expect("sound numbers");
    let reader = Reader::new(Units::Us, lake().time_zone);
    let name = |id: &str| id.to_owned();
    let text = plungeline::faces::text::skill::render_skill(&whole, &reader, &name, Ink { colour: false });
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("damped persistence is as good"), "{text}");
    assert!(flat.contains("damped persistence instead of the model"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(!compose_skill(&whole, &reader, &name).is_empty());
}

#[test]
fn few_cases_and_a_young_record_give_no_verdict() {
    let truth = truth();
    let mut forecasts = archive(&truth, 2, |_, value, whole, own| {
        value + GOOD_DEGC * (whole + own)
    });
    let late = forecasts.split_off(345);
    let page = skill(&late, &record(&truth));
    let first = &surface(&page).leads[0];
    assert_eq!(first.verdict, LeadVerdict::TooFew);
    assert!(first.against_persistence.expect("a reference").interval.is_none());
    assert!(surface(&page).corrections.is_empty() && !surface(&page).rules[0].tested);
    // The last year alone: no other year to make a reference of.
    let record = record(&truth);
    let young = Daily::new(
        record.first + Days::new(6 * 365),
        record.value[6 * 365..].to_vec(),
    );
    let page = skill(&forecasts, &young);
    let first = &surface(&page).leads[0];
    assert_eq!(first.verdict, LeadVerdict::NoReference);
    assert!(first.cases > 300 && first.against_climatology.is_none());
}

#[test]
fn nothing_later_than_the_issue_enters_a_reference() {
    let record = record(&truth());
    let morning = day("2024-07-10");
    let references = |record: &Daily, lead: u64| {
        let known = known_at(ForecastOf::SurfaceTemp, (record, &clock()), issue(morning), None);
        known.references(morning + Days::new(lead)).expect("six years")
    };
    let mut altered = record.clone();
    let from = altered.index(morning).expect("in the record");
    for value in altered.value.iter_mut().skip(from) {
        *value = value.map(|v| 40.0 - v);
    }
    for lead in [1, 5, 10] {
        assert_eq!(references(&record, lead), references(&altered, lead), "{lead}");
    }
    // The test can fail: the day before is known, and the same day of another year is.
    let mut known = record.clone();
    known.value[from - 1] = known.value[from - 1].map(|v| v + 1.0);
    assert_ne!(
        references(&record, 5).persistence,
        references(&known, 5).persistence
    );
    assert_eq!(
        references(&record, 5).climatology,
        references(&known, 5).climatology,
        "its own year"
    );
    let mut known = record.clone();
    let year_before = from + 5 - 365;
    known.value[year_before] = known.value[year_before].map(|v| v + 1.0);
    assert_ne!(
        references(&record, 5).climatology,
        references(&known, 5).climatology
    );

    // The same on the page: of one forecast of one day, nothing but the target's own value may count of what came later.
    let target = morning + Days::new(5);
    let one = forecast(
        morning,
        vec![KeptDay {
            date: target,
            members: vec![20.0, 21.0, 22.0, 23.0],
        }],
    );
    altered.value[from + 5] = record.value[from + 5];
    let scores =
        [&record, &altered].map(|record| surface(&skill(std::slice::from_ref(&one), record)).leads.clone());
    assert_eq!(scores[0], scores[1]);
    assert!(scores[0][0].against_persistence.is_some());
}

#[test]
fn a_newest_value_that_is_old_starts_no_persistence() {
    let mut record = record(&truth());
    let morning = day("2024-07-10");
    let from = record.index(morning).expect("in the record");
    let lacking = |record: &Daily| {
        let known = known_at(ForecastOf::SurfaceTemp, (record, &clock()), issue(morning), None);
        let references = known.references(morning + Days::new(2)).expect("six years");
        references.persistence.is_none()
    };
    assert!(!lacking(&record));
    (from - 5..from).for_each(|i| record.value[i] = None);
    assert!(lacking(&record));
}
