//! What faces/mail and faces/calendar write is read back by other programs' readers, for any text.

use std::io::Cursor;

use chrono::{DateTime, TimeZone, Utc};
use ical::line::{LineRead, LineReader};
use mail_parser::MessageParser;
use mail_parser::decoders::quoted_printable::quoted_printable_decode;
use plungeline::clock::LakeClock;
use plungeline::faces::calendar::{fold_line, unfold};
use plungeline::faces::mail::{header_field, message_date, quoted_printable};
use proptest::prelude::*;

/// Any text, and texts of what trips such writers.
fn text() -> impl Strategy<Value = String> {
    let trap = proptest::sample::select(vec![
        " ",
        "\t",
        "=",
        "?",
        "=?",
        "?=",
        "_",
        "\r",
        "\n",
        "\r\n",
        "°",
        "é",
        "鱒",
        "🎣",
        "\u{301}",
        ".",
        "From ",
        "\u{0}",
        "a",
        "7",
        "=?utf-8?q?a?=",
        "=3D",
    ]);
    prop_oneof![
        any::<String>(),
        proptest::collection::vec(trap, 0..120).prop_map(|t| t.concat())
    ]
}

fn subject_read(field: &str) -> Option<String> {
    let letter = format!("From: a@example.org\r\n{field}\r\nTo: b@example.org\r\n\r\nbody\r\n");
    let message = MessageParser::default().parse(letter.as_bytes())?;
    // Nothing of the subject has become a header of its own.
    (message.headers().len() == 3).then(|| message.subject().unwrap_or("").to_owned())
}

proptest! {
    #[test]
    fn a_subject_comes_back_as_it_was(subject in text()) {
        let field = header_field("Subject", &subject);
        prop_assert!(field.is_ascii());
        for (n, line) in field.split("\r\n").enumerate() {
            prop_assert!(line.len() <= 78 && !line.contains(['\r', '\n']), "{line:?}");
            prop_assert!(n == 0 || line.starts_with(' '), "{line:?}");
            for word in line.split(' ').filter(|w| w.starts_with("=?")) {
                prop_assert!(word.len() <= 75 && line.len() <= 76 && word.ends_with("?="), "{line:?}");
            }
        }
        prop_assert_eq!(subject_read(&field), Some(subject));
    }

    #[test]
    fn a_body_comes_back_as_it_was(body in text()) {
        let encoded = quoted_printable(&body);
        prop_assert!(encoded.is_ascii());
        for line in encoded.split("\r\n") {
            prop_assert!(line.len() <= 76 && !line.contains(['\r', '\n']), "{line:?}");
            // Mail programs take blanks off the ends of lines.
            prop_assert!(!line.ends_with([' ', '\t']), "{line:?}");
        }
        let read = quoted_printable_decode(encoded.as_bytes()).map(|b| String::from_utf8(b).unwrap());
        let lines = body.replace("\r\n", "\n").replace('\n', "\r\n");
        prop_assert_eq!(read, Some(lines));
    }

    #[test]
    fn a_date_comes_back_as_the_same_second(second in -2_300_000_000i64..32_000_000_000, zone in 0usize..4) {
        let zone = [chrono_tz::America::Los_Angeles, chrono_tz::Asia::Kolkata, chrono_tz::Africa::Monrovia, chrono_tz::UTC][zone];
        let instant = Utc.timestamp_opt(second, 0).unwrap();
        // Some zones had an offset with seconds long ago: no date then.
        if let Some(text) = message_date(instant, &LakeClock::new(zone)) {
            prop_assert_eq!(DateTime::parse_from_rfc2822(&text).unwrap().with_timezone(&Utc), instant);
            let letter = format!("From: a@example.org\r\nDate: {text}\r\n\r\nbody\r\n");
            let message = MessageParser::default().parse(letter.as_bytes()).unwrap();
            prop_assert_eq!(message.date().map(|d| d.to_timestamp()), Some(second));
        } else {
            prop_assert!(second < 64_000_000, "from 1972 on every zone has whole minutes: {instant}");
        }
    }

    #[test]
    fn a_folded_line_comes_back_as_it_was(line in prop_oneof![1 => text(), 4 => "[ a-z°鱒🎣]{0,400}"]) {
        let Some(folded) = fold_line(&line) else {
            prop_assert!(line.contains(['\r', '\n']));
            return Ok(());
        };
        // The lines are texts, so that no fold lies within a character.
        for (n, physical) in folded.split("\r\n").enumerate() {
            prop_assert!(physical.len() <= 75 && (n == 0 || physical.starts_with(' ')), "{physical:?}");
            prop_assert!(n == 0 || physical.len() > 1, "a line of nothing: {folded:?}");
        }
        prop_assert_eq!(unfold(&folded), line);
    }

    #[test]
    fn another_reader_of_calendars_takes_the_folds_out_too(words in "[A-Z]{1,9}:[^\\s\\p{Cc}]{0,300}") {
        // That reader trims blanks off every physical line, which the standard does not, so the text has none.
        let folded = fold_line(&words).unwrap();
        prop_assert!(folded.split("\r\n").all(|physical| physical.len() <= 75));
        let mut reader = LineReader::new(Cursor::new(folded.into_bytes()));
        let read = reader.next_line().map(|l| l.as_str().to_owned());
        prop_assert_eq!(read, Some(words));
        prop_assert!(reader.next_line().is_none());
    }

    #[test]
    fn any_text_is_unfolded_to_no_more_than_it_was(folded in text()) {
        prop_assert!(unfold(&folded).len() <= folded.len());
    }
}

#[test]
fn folds_with_tabs_are_taken_out_and_line_ends_left() {
    // RFC 5545, section 3.1: a fold is CRLF and one space or tab; the second blank is text.
    assert_eq!(unfold("A:b\r\n c\r\n\t d\r\nE:f"), "A:bc d\r\nE:f");
}

#[test]
fn years_that_a_letter_cannot_say_have_no_date() {
    let clock = LakeClock::new(chrono_tz::UTC);
    let at = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
    assert_eq!(message_date(at("1899-12-31T23:59:59Z"), &clock), None);
    assert_eq!(message_date(at("+10000-01-01T00:00:00Z"), &clock), None);
    assert!(message_date(at("1900-01-01T00:00:00Z"), &clock).is_some());
}
