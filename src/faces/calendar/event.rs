//! A calendar of events (RFC 5545).

use chrono::{DateTime, Days, NaiveDate, Utc};

use super::fold_line;

/// When an event is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// From an instant to another.
    Hours {
        /// Beginning.
        from: DateTime<Utc>,
        /// End.
        to: DateTime<Utc>,
    },
    /// Whole days, the last one included.
    Days {
        /// First.
        first: NaiveDate,
        /// Last.
        last: NaiveDate,
    },
}

/// One event. It blocks nobody's time: all are transparent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Its identity: the same in a later calendar that tells of the same thing anew.
    pub uid: String,
    /// Raised where a later calendar changes the event.
    pub sequence: u32,
    /// When.
    pub when: When,
    /// Title.
    pub summary: String,
    /// Text.
    pub description: String,
    /// Place.
    pub location: String,
}

/// The calendar of `events` made at `stamp`: lines folded at 75 octets, CRLF. Hours are in UTC, so that no time zone has to be described.
pub fn calendar(events: &[Event], stamp: DateTime<Utc>) -> String {
    let mut lines = vec![
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        concat!("PRODID:-//plungeline//", env!("CARGO_PKG_VERSION"), "//EN").to_owned(),
        "CALSCALE:GREGORIAN".to_owned(),
    ];
    for event in events {
        lines.push("BEGIN:VEVENT".to_owned());
        lines.push(format!("UID:{}", escaped(&event.uid)));
        lines.push(format!("DTSTAMP:{}", utc(stamp)));
        match event.when {
            When::Hours { from, to } => {
                lines.push(format!("DTSTART:{}", utc(from)));
                lines.push(format!("DTEND:{}", utc(to)));
            }
            When::Days { first, last } => {
                // The end is the first day that is no longer in it (section 3.6.1).
                let end = last.checked_add_days(Days::new(1)).unwrap_or(last);
                lines.push(format!("DTSTART;VALUE=DATE:{}", first.format("%Y%m%d")));
                lines.push(format!("DTEND;VALUE=DATE:{}", end.format("%Y%m%d")));
            }
        }
        lines.push(format!("SEQUENCE:{}", event.sequence));
        lines.push("STATUS:TENTATIVE".to_owned());
        lines.push("TRANSP:TRANSPARENT".to_owned());
        lines.push(format!("SUMMARY:{}", escaped(&event.summary)));
        lines.push(format!("DESCRIPTION:{}", escaped(&event.description)));
        lines.push(format!("LOCATION:{}", escaped(&event.location)));
        lines.push("END:VEVENT".to_owned());
    }
    lines.push("END:VCALENDAR".to_owned());
    let folded = lines.iter().filter_map(|line| fold_line(line));
    folded.map(|line| line + "\r\n").collect()
}

fn utc(instant: DateTime<Utc>) -> String {
    instant.format("%Y%m%dT%H%M%SZ").to_string()
}

/// A TEXT value (section 3.3.11): backslash, semicolon, comma and line end escaped; other control characters are blanks.
fn escaped(text: &str) -> String {
    let lines = text.replace("\r\n", "\n");
    let mut found = String::with_capacity(lines.len());
    for character in lines.chars() {
        match character {
            '\\' | ';' | ',' => {
                found.push('\\');
                found.push(character);
            }
            '\n' => found.push_str("\\n"),
            control if control.is_control() => found.push(' '),
            other => found.push(other),
        }
    }
    found
}
