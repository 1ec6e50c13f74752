//! The list of faults. Each row is a test of its own and a row of `docs/faults.md`.

use std::time::Duration;

use wiremock::ResponseTemplate;

use super::super::scene::packed;
use super::plays::Play;
use super::{AMPLE, check, page};

/// A fault, and what must come of it.
pub struct Fault {
    /// Name of its test.
    pub name: &'static str,
    /// Its words in the document.
    pub title: &'static str,
    /// How it is played.
    pub play: fn() -> Play,
    /// Words in each line that the user is told.
    pub told: &'static [&'static str],
    /// Values that come all the same: time, figure of the service.
    pub new: &'static [(&'static str, Option<f64>)],
    /// Requests that reach the server.
    pub asked: usize,
}

impl Fault {
    /// Time of one try: short where it is to run out.
    pub fn patience(&self) -> Duration {
        match (self.play)() {
            Play::SlowDrip | Play::StallAfterHeaders => Duration::from_secs(1),
            _ => AMPLE,
        }
    }
}

/// Tries of a request in the program (`Patience::default`).
const TRIES: usize = 4;

const GOOD: &[(&str, Option<f64>)] = &[("11:00", Some(415.0))];

fn good() -> Vec<u8> {
    page(&[("2025-10-09T11:00:00Z", "415")])
}

fn ok(body: impl Into<Vec<u8>>) -> Play {
    Play::Always(ResponseTemplate::new(200).set_body_raw(body, "application/json"))
}

fn status(status: u16) -> Play {
    Play::Always(ResponseTemplate::new(status))
}

/// A page with this in place of the value of its second row.
fn with_value(value: &str) -> Play {
    ok(page(&[
        ("2025-10-09T11:00:00Z", "415"),
        ("2025-10-09T11:15:00Z", value),
    ]))
}

/// The good page with one text in place of another.
fn with(old: &str, new: &[u8]) -> Play {
    let good = good();
    let at = good
        .windows(old.len())
        .position(|w| w == old.as_bytes())
        .expect("in the page");
    ok([&good[..at], new, &good[at + old.len()..]].concat())
}

/// So deep that a reader which calls itself at every step runs out of stack.
fn deep() -> String {
    format!("{}{}", "[".repeat(500_000), "]".repeat(500_000))
}

macro_rules! faults {
    ($($name:ident: $title:literal, $play:expr, told $told:expr, new $new:expr, asked $asked:expr;)*) => {
        /// All of them.
        pub const FAULTS: &[Fault] = &[$(Fault {
            name: stringify!($name), title: $title, play: || $play, told: $told, new: $new, asked: $asked,
        }),*];
        $(#[tokio::test]
        async fn $name() {
            check(stringify!($name)).await;
        })*
    };
}

faults! {
    a_connection_refused: "connection refused", Play::Refused,
        told &["cannot be reached (Connection refused)"], new &[], asked 0;
    a_reset_in_the_middle_of_the_body: "reset in the middle of the body", Play::ResetMidBody,
        told &["reply was cut short after"], new &[], asked TRIES;
    a_body_that_drips: "a byte at a time, without end", Play::SlowDrip,
        told &["no complete reply within 1 s, 4 tries; the service is slow"], new &[], asked TRIES;
    a_stall_after_the_headers: "headers, then nothing", Play::StallAfterHeaders,
        told &["no complete reply within 1 s, 4 tries; the service is slow"], new &[], asked TRIES;
    a_certificate_that_nobody_vouches_for: "a certificate that nobody vouches for", Play::Certificate,
        told &["the service's certificate is not trusted"], new &[], asked 1;
    a_loop_of_301: "301 to itself",
        Play::Always(ResponseTemplate::new(301).insert_header("location", "/again")),
        told &["a redirect repeats after 5 steps"], new &[], asked 6;
    a_301_without_a_target: "301 without a target", status(301),
        told &["answered with status 301"], new &[], asked 1;
    a_404: "404", status(404),
        told &["answered with status 404; nothing stands there: mend station"], new &[], asked 1;
    a_413: "413", status(413),
        told &["answered with status 413; too much is asked at once: ask for a shorter window"], new &[], asked 1;
    a_429_without_a_pause: "429 without Retry-After", status(429),
        told &["answered with status 429; too many requests"], new &[], asked TRIES;
    a_429_with_a_pause: "429 with Retry-After: 1, once",
        Play::Then(
            ResponseTemplate::new(429).insert_header("retry-after", "1"), 1,
            ResponseTemplate::new(200).set_body_bytes(good()),
        ),
        told &[], new GOOD, asked 2;
    a_429_with_a_long_pause: "429 with Retry-After: 3600",
        Play::Always(ResponseTemplate::new(429).insert_header("retry-after", "3600")),
        told &["asks to wait 3600 s, more than the 60 s a run waits"], new &[], asked 1;
    a_500: "500", status(500),
        told &["answered with status 500; the service's own fault"], new &[], asked TRIES;
    a_503: "503", status(503),
        told &["answered with status 503; the service's own fault"], new &[], asked TRIES;
    a_503_that_passes: "503 twice, then good",
        Play::Then(ResponseTemplate::new(503), 2, ResponseTemplate::new(200).set_body_bytes(good())),
        told &[], new GOOD, asked 3;
    a_wrong_content_type: "good JSON called text/html",
        Play::Always(ResponseTemplate::new(200).set_body_raw(good(), "text/html")),
        told &[], new GOOD, asked 1;
    a_page_called_json: "an HTML page called JSON", ok("<!DOCTYPE html><html><body>Down</body></html>"),
        told &["found an HTML page (begins"], new &[], asked 1;
    an_empty_body: "an empty body", ok(""),
        told &["found an empty body, wanted a feature collection"], new &[], asked 1;
    a_gzip_bomb: "70 MB of blanks in 70 kB of gzip",
        Play::Always(
            ResponseTemplate::new(200).insert_header("content-encoding", "gzip")
                .set_body_bytes(packed(&vec![b' '; 70_000_000])),
        ),
        told &["reply is over 67108864 bytes unpacked"], new &[], asked 1;
    a_body_of_200_mb: "200 MB, length not told", Play::LongBody { is_announced: false },
        told &["reply is over 67108864 bytes unpacked"], new &[], asked 1;
    a_body_of_200_mb_announced: "200 MB, length told", Play::LongBody { is_announced: true },
        told &["reply is over 67108864 bytes unpacked"], new &[], asked 1;
    json_cut_short: "JSON cut short", ok(&good()[..150]),
        told &["the JSON stops in the middle of \"features[0].properties"], new &[], asked 1;
    a_text_that_is_no_utf8: "a text that is no UTF-8", with("Provisional", b"Provi\xff\xfe"),
        told &["at \"features[0].properties.approval_status\": invalid unicode code point"], new &[], asked 1;
    bytes_that_are_no_utf8: "bytes that are no UTF-8 between values", with("415", b"\xc3\x28"),
        told &["at \"features[0].properties.value\": expected value"], new &[], asked 1;
    depth_in_place_of_a_row: "half a million brackets in place of a row",
        ok(format!(r#"{{"features": [{}]}}"#, deep())),
        told &["at \"features[0]"], new &[], asked 1;
    depth_in_a_member_unknown: "half a million brackets in a member that is not read",
        with("\"type\": \"FeatureCollection\"", format!("\"more\": {}", deep()).as_bytes()),
        told &[], new GOOD, asked 1;
    depth_alone: "half a million brackets alone", ok(deep()),
        told &["the service may have changed its format"], new &[], asked 1;
    times_twice_and_unsorted: "times twice and out of order (of two that are equally approved the one touched last stands, else the first)",
        ok(page(&[
            ("2025-10-09T11:15:00Z", "3"), ("2025-10-09T10:00:00Z", "1"), ("2025-10-09T11:15:00Z", "4"),
            ("2025-10-09T11:00:00Z", "2"),
        ])),
        told &[], new &[("10:00", Some(1.0)), ("11:00", Some(2.0)), ("11:15", Some(3.0))], asked 1;
    a_bare_nan: "NaN", with_value("NaN"),
        told &["at \"features[1].properties.value\""], new &[], asked 1;
    a_bare_infinity: "Infinity", with_value("Infinity"),
        told &["at \"features[1].properties.value\""], new &[], asked 1;
    a_number_past_all_floats: "1e999", with_value("1e999"),
        told &["at \"features[1].properties.value\": number out of range"], new &[], asked 1;
    a_nan_in_quotes: "\"NaN\" in quotes", with_value("\"NaN\""),
        told &["left out: features[1].properties.value: found \"NaN\", wanted a number"], new GOOD, asked 1;
    a_number_past_all_floats_in_quotes: "\"1e999\" in quotes", with_value("\"1e999\""),
        told &["left out: features[1].properties.value: found \"1e999\", wanted a number"], new GOOD, asked 1;
    a_huge_number: "1e300, which nothing measures", with_value("1e300"),
        told &["left out: features[1].properties.value: found \"1e300\", wanted a number"], new GOOD, asked 1;
}
