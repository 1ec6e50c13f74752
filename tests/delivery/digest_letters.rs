//! The digest itself, sent to readers of every kind: what arrives is read by Python's `email` and `icalendar` and checked part by part.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use plungeline::delivery::DeliveryState as State;
use serde_json::{Value, json};

use super::loopback::{Foreign, python};
use super::{Scene, address, in_own_way};
use crate::house::source::root;

const READERS: usize = 200;

/// Every letter that arrived, as the script of `tests/outside/mail` found it; a letter that breaks a rule ends the test.
fn checked(server: &Foreign, python: &std::path::Path) -> Vec<Value> {
    let found = std::fs::read_dir(server.folder.path()).expect("readable");
    let paths = found.map(|entry| entry.expect("readable").path());
    let letters = paths.filter(|path| path.extension().is_some_and(|e| e == "eml"));
    let output = Command::new(python)
        .arg(root().join("tests/outside/mail/check_message.py"))
        .args(letters)
        .output()
        .expect("Python starts");
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{told}");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let lines = text.lines().map(serde_json::from_str);
    lines.collect::<Result<_, _>>().expect("JSON")
}

/// Message identifiers of the ledger by address, read past the program.
fn identifiers(scene: &Scene) -> BTreeMap<String, String> {
    let ledger = rusqlite::Connection::open(scene.demo_folder().join("digest.sqlite")).expect("a ledger");
    let mut found = ledger
        .prepare(
            "select address, message_id from deliveries join readers on key = reader where week = '2025-W41'",
        )
        .expect("tables");
    let rows = found
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .expect("rows");
    rows.collect::<Result<_, _>>().expect("texts")
}

/// Whether a text has a digit, `mark`, a digit, where no three digits follow as in thousands.
fn has_mark(text: &str, mark: char) -> bool {
    let letters: Vec<char> = text.chars().collect();
    letters.windows(3).enumerate().any(|(at, three)| {
        let digits = letters[at + 2..]
            .iter()
            .take_while(|c| c.is_ascii_digit())
            .count();
        three[0].is_ascii_digit() && three[1] == mark && (1..3).contains(&digits)
    })
}

/// Whether a text has an hour of the 24-hour clock, `06:37`: two digits, a colon, two digits, and no `am` or `pm` behind.
fn has_24_hours(text: &str) -> bool {
    text.split_whitespace()
        .zip(text.split_whitespace().skip(1).chain([""]))
        .any(|(word, next)| {
            let word = word.trim_matches(|c: char| !c.is_ascii_digit());
            let part = word.split_once(':').filter(|(h, m)| h.len() <= 2 && m.len() == 2);
            part.is_some_and(|(h, _)| h.bytes().all(|b| b.is_ascii_digit()))
                && !next.starts_with("am")
                && !next.starts_with("pm")
        })
}

fn has_12_hours(text: &str) -> bool {
    let mut words = text
        .split_whitespace()
        .map(|w| w.trim_matches(|c: char| !c.is_alphanumeric()));
    words.any(|word| word == "am" || word == "pm")
}

/// The letter of reader `i` is written in that reader's way, in every part.
fn written_in_own_way(i: usize, letter: &Value) {
    let alts: Vec<&str> = letter["alts"]
        .as_array()
        .expect("texts")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    let (text, html) = (
        letter["text"].as_str().expect("text"),
        letter["html_words"].as_str().expect("words"),
    );
    let parts = [text.to_owned(), html.to_owned(), alts.join(" ")];
    let [metric, comma, hours_12] = [i & 1 == 1, i >> 1 & 1 == 1, i >> 2 & 1 == 1];
    for (at, part) in parts.iter().enumerate() {
        assert_eq!(part.contains("°C"), metric, "reader {i}, part {at}: {part}");
        assert_eq!(part.contains("°F"), !metric, "reader {i}, part {at}: {part}");
        assert!(
            !has_mark(part, if comma { '.' } else { ',' }),
            "reader {i}, part {at}: {part}"
        );
        assert!(
            has_mark(part, if comma { ',' } else { '.' }),
            "reader {i}, part {at}: {part}"
        );
        if at < 2 {
            assert_eq!(has_12_hours(part), hours_12, "reader {i}, part {at}: {part}");
            assert_eq!(has_24_hours(part), !hours_12, "reader {i}, part {at}: {part}");
        }
    }
    // 778.94 ft is the level of the demonstration's gauge; 778.94 ft x 0.3048 m (exact) = 237.42 m.
    let level =
        [["778.94 ft", "237.42 m"], ["778,94 ft", "237,42 m"]][usize::from(comma)][usize::from(metric)];
    assert!(
        text.contains(level) && html.contains(level),
        "reader {i}: {level} in {text}"
    );
}

#[test]
fn the_digest_reaches_two_hundred_readers_once_and_as_each_wants_it() {
    let Some(python) = python("aiosmtpd, icalendar") else {
        return;
    };
    let scene = Scene::new(0);
    scene.demo_readers(READERS);
    let server = Foreign::start(&python, &[]);
    scene.settings(server.port, "", "reply_to = \"owner@example.org\"");
    let settings = scene.home.path().join("mail.toml");
    let sending = || {
        let mut command = scene.demo(&["send"]);
        command.arg("--settings").arg(&settings);
        Scene::ran(command)
    };
    let (status, _, told) = sending();
    assert_eq!(status, 0, "{told}");
    assert!(told.contains("200 handed over"), "{told}");
    assert_eq!(sending().0, 0, "a second run finds nothing to do");

    let letters = checked(&server, &python);
    assert_eq!(letters.len(), READERS);
    let identifiers = identifiers(&scene);
    let envelopes: BTreeSet<String> = server
        .letters()
        .iter()
        .map(|letter| {
            assert_eq!(letter["envelope"]["to"], json!([letter["to"][0][1]]));
            letter["to"][0][1].as_str().expect("an address").to_owned()
        })
        .collect();
    assert_eq!(envelopes, (0..READERS).map(address).collect());
    let book = plungeline::delivery::Book::open(&scene.demo_folder()).expect("the ledger opens");
    let rows = book.deliveries(None).expect("a ledger");
    assert!(rows.len() == READERS && rows.iter().all(|row| row.state == State::Handed));

    for letter in &letters {
        let to = letter["to"][1].as_str().expect("an address");
        let i: usize = to[1..4].parse().expect("a number");
        let wanted = in_own_way(i);
        assert_eq!(letter["to"][0], json!(wanted.name.unwrap_or_default()));
        assert_eq!(letter["message_id"], json!(identifiers[to]));
        assert_eq!(
            (&letter["from"], &letter["from_name"]),
            (&json!("digest@example.org"), &json!("Small Water"))
        );
        assert_eq!(letter["reply_to"], "owner@example.org");
        assert_eq!(letter["date"], "2025-10-09T04:30:00-07:00"); // the clock of the run, UTC-7 there on that day
        assert!(
            letter["list_id"]
                .as_str()
                .is_some_and(|id| id.ends_with("<harrow-gap.digest.example.org>"))
        );
        let way_out = "mailto:owner@example.org?subject=unsubscribe%20harrow-gap";
        assert_eq!(letter["list_unsubscribe"], format!("<{way_out}>"));
        assert_eq!(
            (&letter["links"], &letter["one_click"]),
            (&json!([way_out]), &Value::Null),
            "one way out"
        );
        // The own address and that of the way out, and nobody else's.
        for part in ["addresses_in_text", "addresses_in_html"] {
            assert_eq!(letter[part], json!(["owner@example.org", to]), "{part}");
        }
        let subject = letter["subject"].as_str().expect("a subject");
        assert!(
            subject.is_ascii() && subject.starts_with("Harrow Gap Reservoir: ") && subject.len() <= 69,
            "{subject}"
        ); // 78 of RFC 5322 less "Subject: "
        assert_eq!(letter["pictures"], 2);
        assert!(
            letter["events"]
                .as_array()
                .is_some_and(|events| !events.is_empty())
        );
        // docs/digest.md: 100 kB without pictures, 500 kB with them.
        assert!(
            letter["bytes"].as_u64() <= Some(500_000)
                && letter["bytes_without_pictures"].as_u64() <= Some(100_000)
        );
        written_in_own_way(i, letter);
    }
}
