//! What a brief shows of the surface ahead because of the archive.

use chrono::{Days, NaiveDate};
use plungeline::column::{DayAhead, ShownBy, SurfaceDay};
use plungeline::reports::forecasts::{ForecastOf, LeadRule, known_at, show_by_rules, surface_rules};
use plungeline::skill::correction::Correction;

use super::scene::*;
use crate::trips::scene::lake;

fn model(date: NaiveDate) -> SurfaceDay {
    SurfaceDay {
        date,
        median_degc: 20.0,
        low_degc: 19.0,
        high_degc: 21.0,
        shown_by: ShownBy::Model,
    }
}

#[test]
fn each_day_is_shown_by_the_rule_of_its_lead() {
    let record = record(&truth());
    let morning = day("2024-07-10");
    let known = known_at(ForecastOf::SurfaceTemp, (&record, &clock()), issue(morning), None);
    let dates: Vec<NaiveDate> = (0..4).map(|lead| morning + Days::new(lead)).collect();
    let ahead: Vec<DayAhead> = (dates.iter())
        .map(|date| DayAhead {
            date: *date,
            surface_degc: vec![19.0, 21.0],
            thermocline_m: Vec::new(),
        })
        .collect();
    let rule = |lead_days, shown_by, correction| LeadRule {
        lead_days,
        tested: true,
        shown_by,
        correction,
    };
    let correction = Correction {
        intercept: -1.0,
        slope: 1.0,
        added_variance: 0.0,
        variance_factor: 1.0,
    };
    let rules = [
        rule(1, ShownBy::CorrectedModel, Some(correction)),
        rule(2, ShownBy::DampedPersistence, None),
        rule(3, ShownBy::Model, None),
    ];
    let mut outlook: Vec<SurfaceDay> = dates.iter().map(|date| model(*date)).collect();
    show_by_rules(&mut outlook, &ahead, &rules, (&known, morning));
    assert_eq!((&outlook[0], &outlook[3]), (&model(dates[0]), &model(dates[3])));
    // By hand: mean 20, variance 2 and the sensor's 0.16; 1.281552 is the normal quantile of 90 %.
    let half_degc = 1.281_552 * 2.16f64.sqrt();
    let corrected = &outlook[1];
    assert_eq!(corrected.shown_by, ShownBy::CorrectedModel);
    assert!((corrected.median_degc - 19.0).abs() < 1e-12);
    assert!((corrected.high_degc - 19.0 - half_degc).abs() < 1e-5);
    let persisted = &outlook[2];
    assert_eq!(persisted.shown_by, ShownBy::DampedPersistence);
    let truth = truth().get(dates[2]).expect("in the record");
    // What two days leave of a departure of 1.5 degC misses by about 1 degC: four of them.
    assert!((persisted.median_degc - truth).abs() < 4.0 && persisted.low_degc < persisted.high_degc);
}

#[test]
fn rules_come_from_forecasts_that_were_in_time_and_a_young_archive_has_none_tested() {
    let truth = truth();
    let record = record(&truth);
    let mut forecasts = archive(&truth, 2, |_, value, whole, own| {
        value + 1.5 + 0.4 * (whole + own)
    });
    let rules = surface_rules((lake(), page_clock()), &forecasts, &observed(&record)).expect("finite");
    assert_eq!(rules[1].shown_by, ShownBy::CorrectedModel);
    assert!(rules[1].correction.is_some());
    let few = surface_rules((lake(), page_clock()), &forecasts[350..], &observed(&record)).expect("finite");
    assert!(
        few.iter()
            .all(|rule| !rule.tested && rule.shown_by == ShownBy::Model)
    );
    forecasts.iter_mut().for_each(|forecast| forecast.replayed = true);
    let none = surface_rules((lake(), page_clock()), &forecasts, &observed(&record)).expect("finite");
    assert!(none.is_empty(), "rehearsals teach nothing");
}
