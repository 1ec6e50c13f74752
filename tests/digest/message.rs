//! The message, read by crates that are not ours.

use std::time::{Duration, Instant};

use ical::line::LineReader;
use mail_parser::{Message, MessageParser, MimeHeaders, PartType};
use plungeline::faces::digest::{DigestMessage, DigestMessageError, DigestSender, ReaderLine};
use plungeline::faces::mail::MessageError;
use plungeline::faces::{Notation, Units};

use super::digest;

pub fn sender() -> DigestSender {
    DigestSender {
        name: "Harrow Gap, \"weekly\"".to_owned(),
        address: "digest@lake.example.org".to_owned(),
        reply_to: None,
        unsubscribe_address: Some("leave@lake.example.org".to_owned()),
    }
}

pub fn reader(number: usize, units: Units) -> ReaderLine {
    ReaderLine {
        message_id: None,
        address: format!("reader{number}@example.org"),
        name: "Zoë Doe".to_owned(),
        units,
        notation: Notation::default(),
        unsubscribe_url: None,
    }
}

pub fn message() -> DigestMessage {
    DigestMessage::new(digest(), &sender(), digest().brief.as_of).expect("a message")
}

fn part_names(message: &Message) -> Vec<String> {
    let name = |part: &mail_parser::MessagePart| {
        part.content_type()
            .map(|t| format!("{}/{}", t.ctype(), t.subtype().unwrap_or("")))
            .unwrap_or_default()
    };
    message.parts.iter().map(name).collect()
}

#[test]
fn the_parts_are_those_that_mail_readers_expect() {
    let raw = message().for_reader(&reader(1, Units::Us)).expect("a reader");
    let parsed = MessageParser::default().parse(&raw).expect("a message");
    let mut wanted = vec![
        "multipart/mixed",
        "multipart/alternative",
        "text/plain",
        "multipart/related",
        "text/html",
        "image/png",
        "image/png",
    ];
    if !digest().best_hours.is_empty() {
        wanted.push("text/calendar");
    }
    assert_eq!(part_names(&parsed), wanted);
    let html = parsed.body_html(0).expect("HTML");
    for part in parsed
        .parts
        .iter()
        .filter(|p| matches!(p.body, PartType::InlineBinary(_)))
    {
        let id = part.content_id().expect("an id");
        assert!(html.contains(&format!("cid:{id}")), "{id}");
        assert!(part.contents().starts_with(b"\x89PNG"));
    }
    assert!(!html.contains("<script") && !html.contains("src=\"http"));
    // RFC 5322: lines of at most 998 octets, CRLF alone; all ASCII, so that every server takes it.
    assert!(
        raw.split(|b| *b == b'\n')
            .all(|line| line.len() <= 999 && (line.is_empty() || line.ends_with(b"\r")))
    );
    assert!(raw.is_ascii());
    let pictures: usize = parsed
        .parts
        .iter()
        .filter(|p| p.is_content_type("image", "png"))
        .map(|p| p.raw_len() as usize)
        .sum();
    println!("{} bytes, {} of them pictures", raw.len(), pictures);
    assert!(
        raw.len() <= 500_000 && raw.len() - pictures <= 100_000,
        "{} {pictures}",
        raw.len()
    );
}

#[test]
fn the_header_has_one_reader_and_a_way_out() {
    let message = message();
    let raw = message.for_reader(&reader(1, Units::Us)).expect("a reader");
    let parsed = MessageParser::default().parse(&raw).expect("a message");
    let to = parsed.to().and_then(|to| to.first()).expect("a reader");
    assert_eq!(
        (to.address(), to.name()),
        (Some("reader1@example.org"), Some("Zoë Doe"))
    );
    assert_eq!(
        parsed.from().and_then(|f| f.first()).and_then(|f| f.name()),
        Some("Harrow Gap, \"weekly\"")
    );
    let head = String::from_utf8(raw).expect("ASCII");
    let head = head.split("\r\n\r\n").next().expect("a header").to_owned();
    assert!(
        head.contains(
            "List-Unsubscribe:\r\n <mailto:leave@lake.example.org?subject=unsubscribe%20harrow-gap>"
        )
    );
    assert!(!head.contains("One-Click"), "by mail there is no click");
    assert!(head.contains("<harrow-gap.digest.lake.example.org>"), "{head}");
    let with_page = ReaderLine {
        unsubscribe_url: Some("https://lake.example.org/u/3f9a".to_owned()),
        ..reader(1, Units::Us)
    };
    let raw = String::from_utf8(message.for_reader(&with_page).expect("a reader")).expect("ASCII");
    // RFC 8058, section 3.1: both headers, the https address first.
    assert!(raw.contains("List-Unsubscribe:\r\n <https://lake.example.org/u/3f9a>,\r\n <mailto:"));
    assert!(raw.contains("\r\nList-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n"));
}

#[test]
fn a_message_id_stands_for_lake_week_and_reader() {
    let message = message();
    let again = DigestMessage::new(
        digest(),
        &sender(),
        digest().brief.as_of + chrono::Duration::hours(5),
    )
    .expect("a message");
    assert_eq!(
        message.message_id("a@example.org"),
        again.message_id("A@example.org")
    );
    assert_ne!(
        message.message_id("a@example.org"),
        message.message_id("b@example.org")
    );
    let mut next = digest().clone();
    next.week.week += 1;
    let next = DigestMessage::new(&next, &sender(), digest().brief.as_of).expect("a message");
    assert_ne!(
        message.message_id("a@example.org"),
        next.message_id("a@example.org")
    );
}

#[test]
fn a_whole_letter_from_a_long_domain_can_be_sent() {
    for length in [24, 25, 26, 63, 100, 200] {
        // Labels of at most 63 octets (RFC 1035, section 2.3.4), the last of them no digit.
        let domain: String = (1..=length - 4)
            .map(|at| if at % 50 == 0 { '.' } else { 'd' })
            .chain(".org".chars())
            .collect();
        let from = DigestSender {
            address: format!("a&b%c@{domain}"),
            unsubscribe_address: None,
            ..sender()
        };
        let message = DigestMessage::new(digest(), &from, digest().brief.as_of).expect("a message");
        let id = plungeline::delivery::message_id("harrow-gap", "2025-W41", "0123456789abcdef", &domain);
        let line = ReaderLine {
            message_id: Some(id.trim_matches(['<', '>']).to_owned()),
            ..reader(1, Units::Us)
        };
        let raw = message.for_reader(&line).expect("a letter");
        assert_eq!(plungeline::delivery::check_letter(&raw, &id), Ok(()), "{length}");
        let text = String::from_utf8(raw).expect("ASCII");
        // RFC 6068: & and % of an address are encoded in its link.
        assert!(text.contains("mailto:a%26b%25c@"), "{length}");
    }
}

#[test]
fn a_turnover_that_may_have_begun_is_in_text_and_calendar_from_today_on() {
    let day = |text: &str| text.parse().expect("a day");
    let mut near = digest().clone();
    near.turnover = Some(plungeline::reports::TurnoverWindow {
        early: None,
        median: Some(day("2025-10-20")),
        late: day("2025-11-04"),
        by_today_prob: 0.22,
        within_prob: 0.98,
        until: day("2025-12-31"),
    });
    let message = DigestMessage::new(&near, &sender(), near.brief.as_of).expect("a message");
    let raw = message.for_reader(&reader(1, Units::Us)).expect("a letter");
    let parsed = MessageParser::default().parse(&raw).expect("a message");
    // Lines of the text are broken at 72 columns.
    let text = parsed.body_text(0).expect("a text part");
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "may have begun already, 22 % by today, as likely as not by Mon 20 Oct; 9 in 10 by Tue 4 Nov; 98 % of the runs turn over by \
                Wed 31 Dec";
    assert!(text.contains(said), "{text}");
    let calendar = parsed
        .attachments()
        .find_map(|part| {
            part.text_contents()
                .filter(|text| text.contains("BEGIN:VCALENDAR"))
        })
        .expect("a calendar");
    let event = calendar
        .split("BEGIN:VEVENT")
        .find(|event| event.contains("-turnover-"))
        .expect("the turnover");
    // The clock of the morning is 9 October at the lake; the end of an event of whole days is the day after (RFC 5545, section 3.6.1).
    assert!(event.contains("DTSTART;VALUE=DATE:20251009"), "{event}");
    assert!(event.contains("DTEND;VALUE=DATE:20251105"), "{event}");
}

#[test]
fn the_last_lines_of_the_text_keep_to_its_columns() {
    let raw = message().for_reader(&reader(1, Units::Us)).expect("a letter");
    let parsed = MessageParser::default().parse(&raw).expect("a message");
    let text = parsed.body_text(0).expect("a text part");
    let (_, last) = text.split_once("You get this because").expect("the last lines");
    for line in last.lines() {
        assert!(line.chars().count() <= 72, "{line:?}");
    }
}

#[test]
fn what_could_begin_a_header_of_its_own_is_refused() {
    let message = message();
    let bad = |change: &dyn Fn(&mut ReaderLine)| {
        let mut line = reader(1, Units::Us);
        change(&mut line);
        match message.for_reader(&line).expect_err("refused") {
            DigestMessageError::Message(error) => error,
            other => panic!("{other}"),
        }
    };
    let found = bad(&|r| r.address = "a@example.org\r\nBcc: b@example.org".to_owned());
    assert!(matches!(found, MessageError::Address { .. }), "{found}");
    let found = bad(&|r| r.name = "Jane\r\nBcc: b@example.org".to_owned());
    assert!(
        found.to_string().contains("without control characters"),
        "{found}"
    );
    for url in [
        "http://a.example.org/u",
        "https://a.example.org/u>\r\nBcc: b",
        "https://a.example.org/a b",
    ] {
        let found = bad(&|r| r.unsubscribe_url = Some(url.to_owned()));
        assert!(matches!(found, MessageError::Page { .. }), "{found}");
    }
    let wrong = DigestSender {
        name: "a\nBcc: b@example.org".to_owned(),
        ..sender()
    };
    let found = DigestMessage::new(digest(), &wrong, digest().brief.as_of).expect_err("refused");
    assert!(
        matches!(found, DigestMessageError::Message(MessageError::Name { .. })),
        "{found}"
    );
}

#[test]
fn units_are_the_readers_own_in_every_part() {
    let message = message();
    let of = |units| {
        let raw = message.for_reader(&reader(1, units)).expect("a reader");
        let parsed = MessageParser::default().parse(&raw).expect("a message");
        (
            parsed.body_text(0).expect("text").into_owned(),
            parsed.body_html(0).expect("HTML").into_owned(),
        )
    };
    let (text, html) = of(Units::Metric);
    assert!(text.contains("°C") && html.contains("°C") && !text.contains("°F") && !html.contains("°F"));
    let (text, html) = of(Units::Us);
    assert!(text.contains("°F") && html.contains("°F") && !text.contains("°C") && !html.contains("°C"));
    assert!(text.contains("reader1@example.org") && html.contains("reader1@example.org"));
}

#[test]
fn the_calendar_has_the_calm_hours() {
    let raw = message().for_reader(&reader(1, Units::Us)).expect("a reader");
    let parsed = MessageParser::default().parse(&raw).expect("a message");
    let Some(calendar) = parsed
        .attachments()
        .find(|p| p.is_content_type("text", "calendar"))
    else {
        assert!(digest().best_hours.is_empty(), "hours without a calendar");
        return;
    };
    let text = calendar.text_contents().expect("text");
    let lines: Vec<String> = LineReader::new(text.as_bytes())
        .map(|line| line.as_str().to_owned())
        .collect();
    let begins = lines.iter().filter(|l| l.starts_with("DTSTART:")).count();
    assert_eq!(begins, digest().best_hours.len());
    let first = digest().best_hours[0]
        .from
        .format("DTSTART:%Y%m%dT%H%M%SZ")
        .to_string();
    assert!(lines.contains(&first), "{lines:?}");
}

#[test]
fn ten_thousand_readers_are_prepared_while_one_message_is_built() {
    let message = message();
    let begun = Instant::now();
    let mut bytes = 0_usize;
    for number in 0..10_000 {
        let units = if number % 2 == 0 { Units::Us } else { Units::Metric };
        bytes += message
            .for_reader(&reader(number, units))
            .expect("a reader")
            .len();
    }
    let took = begun.elapsed();
    println!("10,000 readers, {} MB: {took:?}", bytes / 1_000_000);
    // Issue 9: 20 s.
    assert!(took < Duration::from_secs(20), "{took:?}");
}
