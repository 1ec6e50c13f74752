//! The report of an invented lake, whole: value, text, JSON, schema.

use chrono::Datelike;
use plungeline::faces::json::{render_hindcast_json, render_hindcast_schema};
use plungeline::faces::text::hindcast::render_hindcast;
use plungeline::hindcast::figures::Figure;
use plungeline::hindcast::{Compared, Comparison, Hindcast, HindcastReport, Judging, assemble_hindcast};
use proptest::prelude::*;

use super::invented::{days, observed};
use crate::house::source::{document, root};

fn hindcast() -> Hindcast {
    let days = days(2010, 6);
    assemble_hindcast(&Comparison {
        lake: "Invented lake",
        fitted: false,
        temperature: &observed(&days, 7),
        oxygen: &[],
        days: &days,
        day_of: &|t| t.date_naive(),
        quick: None,
        judging: Judging::default(),
    })
}

#[test]
fn the_report_of_water_half_a_degree_too_warm_says_so() {
    let found = hindcast();
    let row = found
        .report
        .row(Compared::Temperature, Figure::WholeProfile)
        .unwrap();
    let model = row.model.unwrap();
    // Half a degree by construction, less where the observed one would have been below 0.
    assert!(
        (model.rmse - 0.5).abs() < 0.01 && (model.bias - 0.5).abs() < 0.01,
        "{model:?}"
    );
    assert_eq!(row.interval.unwrap().years, 6);
    assert!(found.report.thermocline.depth_error.unwrap().absolute_max < 0.5);
    // The same shape of water, half a degree colder, turns over within the week between two profiles.
    assert_eq!(found.report.turnover.scored, 6);
    assert!(found.report.turnover.mean_absolute_days.unwrap() <= 3.5 + 1.0);
    assert!(
        found
            .report
            .turnover
            .years
            .iter()
            .all(|y| y.modelled.is_some_and(|d| d.month() >= 9))
    );
}

#[test]
fn the_text_fits_the_width_and_json_gives_the_value_back() {
    let report = hindcast().report;
    let text = render_hindcast(&report);
    println!("{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    for words in [
        "whole profile",
        "climatology",
        "same weight",
        "Autumn turnover: 6 of 6 years",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let json = render_hindcast_json(&report).unwrap();
    let back: HindcastReport = serde_json::from_str(&json).unwrap();
    // serde_json reads a number to within one unit of its last place.
    assert_eq!(render_hindcast(&back), text);
    let schema: serde_json::Value = serde_json::from_str(&render_hindcast_schema().unwrap()).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    assert!(validator.is_valid(&serde_json::from_str(&json).unwrap()));
}

#[test]
fn the_committed_schema_of_the_hindcast_is_that_of_the_code() {
    let schema = render_hindcast_schema().unwrap();
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join("docs/hindcast.schema.json"), &schema).expect("writable");
    }
    assert!(
        document("docs/hindcast.schema.json") == schema,
        "docs/hindcast.schema.json is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    #[test]
    fn a_model_that_is_what_was_observed_has_no_error(year in 1990i32..2030, every in 5usize..40) {
        let days = days(year, 1);
        let mut seen = observed(&days, every);
        for row in &mut seen {
            let day = days.iter().find(|d| d.day == row.time.date_naive()).unwrap();
            let at = day.depth_m.iter().position(|z| *z == row.depth_m).unwrap();
            row.value = day.temp_degc[at];
        }
        let found = assemble_hindcast(&Comparison {
            lake: "",
            fitted: false,
            temperature: &seen,
            oxygen: &[],
            days: &days,
            day_of: &|t| t.date_naive(),
            quick: None,
            judging: Judging::default(),
        });
        for row in &found.report.parts[0].figures {
            prop_assert!(row.model.is_none_or(|m| m.rmse == 0.0 && m.absolute_max == 0.0), "{:?}", row);
        }
    }
}
