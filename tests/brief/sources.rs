//! The text of a brief about several sources of one quantity.

use chrono_tz::America::Los_Angeles;
use plungeline::conditions::seam::{Bias, Seam, SeamBasis, SeamOutcome, SeamPart};
use plungeline::conditions::{JoinedSource, PassedOver, SourceChoice, SourcePurpose};
use plungeline::faces::{Detail, Ink, Reader, Units, render_text};
use plungeline::lake::{SeriesId, SeriesPlace};
use plungeline::quantity::Quantity;
use plungeline::reports::Brief;
use plungeline::series::GapReason;

use super::demo::{MORNINGS, brief};

fn flat(brief: &Brief, units: Units) -> String {
    let reader = Reader::new(units, Los_Angeles);
    let text = render_text(brief, &reader, Ink { colour: false }, Detail::Whole);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn seam(reads_high_degc: Option<f64>) -> Seam {
    Seam {
        series: SeriesId::new("air-temp"),
        part: SeamPart::Forecast,
        against: SeriesId::new("air-station"),
        against_station: "USGS-990000099".to_owned(),
        basis: reads_high_degc.map(|_| SeamBasis::IssuedForecasts),
        reads_high_degc,
        spread_degc: reads_high_degc.map(|_| 1.1),
        days: if reads_high_degc.is_some() { 21 } else { 4 },
        days_wanted: 10,
        of_days: 30,
        outcome: if reads_high_degc.is_some() {
            SeamOutcome::Corrected
        } else {
            SeamOutcome::AsIssued
        },
    }
}

#[test]
fn a_forecast_that_reads_warm_is_said_with_its_days_spread_and_basis() {
    let mut brief: Brief = serde_json::from_value(brief(MORNINGS[1])).expect("a brief");
    brief.air_seams = vec![seam(Some(0.8)), seam(Some(-0.8)), seam(None)];
    let text = flat(&brief, Units::Metric);
    for wanted in [
        "Forecast air (air-temp) reads 0.8 °C warm against station USGS-990000099 over 30 days (n = 21, \
         spread 1.1 °C, by forecasts up to 24 h ahead); corrected",
        "reads 0.8 °C cold against station",
        "is not known (4 of the 10 days that are needed, of 30); used as issued",
    ] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
    // 0.8 degC are 1.44 degF, and no 33.4 degF.
    assert!(flat(&brief, Units::Us).contains("reads 1.4 °F warm"));
}

#[test]
fn a_stand_in_is_named_with_why_the_first_was_passed_over() {
    let mut brief: Brief = serde_json::from_value(brief(MORNINGS[1])).expect("a brief");
    brief.source_choices = vec![SourceChoice {
        quantity: Quantity::PoolElevation,
        place: SeriesPlace::Lake,
        purpose: SourcePurpose::Observed,
        used: Some(SeriesId::new("dam")),
        passed_over: vec![PassedOver {
            series: SeriesId::new("pool"),
            reason: GapReason::Late {
                newest: brief.as_of - chrono::Duration::hours(30),
                age_h: 30.0,
                allowed_h: 6.0,
            },
        }],
        joined: vec![JoinedSource {
            series: SeriesId::new("pool"),
            days_taken: 140,
            bias: Bias {
                reads_high: -0.5,
                spread: 0.02,
                days: 30,
            },
        }],
    }];
    let text = flat(&brief, Units::Metric);
    assert!(
        text.contains("Level: series dam used; not pool (newest Tue"),
        "{text}"
    );
    assert!(text.contains("30 h old (6 h is usual))"), "{text}");
    assert!(
        text.contains(
            "140 days of pool joined, which reads -0.50 m against it (n = 30, spread 0.02 m); corrected"
        ),
        "{text}"
    );
    let choice = &mut brief.source_choices[0];
    choice.passed_over.clear();
    choice.joined.clear();
    let text = flat(&brief, Units::Metric);
    assert!(!text.contains("Level: series"), "{text}");
}
