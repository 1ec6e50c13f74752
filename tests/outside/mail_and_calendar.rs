//! Encodings of mail and calendar against the rows S-MAIL-* and S-ICAL-fold.

use chrono::{DateTime, Utc};
use plungeline::clock::LakeClock;
use plungeline::faces::calendar::fold_line;
use plungeline::faces::mail::{header_field, message_date, quoted_printable};

use crate::published::row;

#[test]
fn a_degree_sign_in_a_subject_is_one_encoded_word() {
    let field = header_field("Subject", "Turnover window: surface 60 \u{b0}F");
    assert_eq!(field, format!("Subject: {}", row("S-MAIL-ew").expected));
}

#[test]
fn the_date_of_a_letter_has_two_digits_of_day_and_the_offset() {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    let instant: DateTime<Utc> = "2026-11-04T22:05:09Z".parse().unwrap();
    assert_eq!(
        message_date(instant, &clock).unwrap(),
        row("S-MAIL-date").expected
    );
}

#[test]
fn a_body_is_quoted_printable() {
    assert_eq!(
        quoted_printable("60 \u{b0}F = 15.6 \u{b0}C"),
        row("S-MAIL-qp").expected
    );
}

#[test]
fn a_long_line_of_a_calendar_folds_between_characters() {
    let line = format!("DESCRIPTION:{}", "\u{b0}".repeat(40));
    assert_eq!(line.len(), 92, "the row's own length");
    let folded = fold_line(&line).unwrap();
    let octets: Vec<f64> = folded
        .split("\r\n ")
        .map(|physical| physical.len() as f64)
        .collect();
    row("S-ICAL-fold").assert(&octets);
}
