//! Official alerts: quoted word for word, right after the cautions; or that they are not known, and where to look.

use crate::faces::reader::{Reader, age};
use crate::faces::words;
use crate::plan::{AlertsNotKnown, OfficialAlerts};
use crate::reports::Brief;
use crate::series::Alert;

use super::block::{Block, Page, Tone};

/// Where to look instead.
const LOOK: &str = "see https://www.weather.gov or the local office";

/// Writes the block.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    let alerts = &brief.alerts;
    page.heading("OFFICIAL ALERTS", &remark(alerts, reader));
    if let Some(reason) = &alerts.not_known {
        page.labelled(Tone::Bold, "NOT KNOWN", 10, &not_known(alerts, reason, reader));
    }
    for alert in &alerts.list {
        quoted(page, alert, reader);
    }
    if alerts.not_known.is_none() && alerts.list.is_empty() {
        page.text(&none(alerts, reader), 2);
    }
}

fn remark(alerts: &OfficialAlerts, reader: &Reader) -> String {
    match (&alerts.service, alerts.known_at) {
        (Some(service), Some(known_at)) => {
            let service = words::service(service);
            format!("{service}, as known {}, word for word", reader.day_hour(known_at))
        }
        _ => String::new(),
    }
}

fn not_known(alerts: &OfficialAlerts, reason: &AlertsNotKnown, reader: &Reader) -> String {
    let why = match reason {
        AlertsNotKnown::NotDescribed => "the lake file names no service of them".to_owned(),
        AlertsNotKnown::NotFetched => "none could be fetched".to_owned(),
        AlertsNotKnown::Late { age_h, allowed_h } => {
            let when = alerts
                .known_at
                .map_or(String::new(), |at| format!(" of {}", reader.day_hour(at)));
            format!(
                "the newest reply{when} is {} old, more than {}",
                age(*age_h),
                age(*allowed_h)
            )
        }
        AlertsNotKnown::Unread { count: 1 } => "one of them could not be read whole".to_owned(),
        AlertsNotKnown::Unread { count } => format!("{count} of them could not be read whole"),
    };
    let also = if alerts.list.is_empty() {
        ""
    } else {
        " What is quoted below may have been changed or added to since."
    };
    format!("Official alerts are not known: {why}; {LOOK}.{also}")
}

fn none(alerts: &OfficialAlerts, reader: &Reader) -> String {
    let when = alerts
        .known_at
        .map_or("then".to_owned(), |at| reader.day_hour(at));
    format!(
        "None were in force for the hours from {} to {} when asked, {when}. That can change at any time: check \
         before you launch, {LOOK}.",
        reader.day_hour(alerts.from),
        reader.day_hour(alerts.to)
    )
}

/// One alert: name and times of the service, then its texts as they are.
fn quoted(page: &mut Page, alert: &Alert, reader: &Reader) {
    let begins = reader.day_hour(alert.begins_at());
    let until = match (alert.ends, alert.expires) {
        (Some(ends), _) => format!("to {}", reader.day_hour(ends)),
        (None, Some(expires)) => {
            format!(
                "no end given, this message holds until {}",
                reader.day_hour(expires)
            )
        }
        (None, None) => "no end given".to_owned(),
    };
    let mut facts = vec![format!("{begins} {until}")];
    if let Some(severity) = &alert.severity {
        facts.push(format!("severity {}", plain(severity)));
    }
    if let Some(sender) = &alert.sender {
        facts.push(plain(sender));
    }
    facts.push(format!("sent {}", reader.day_hour(alert.sent_at)));
    let event = plain(&alert.event);
    page.labelled(Tone::Danger, &event, event.chars().count(), "");
    page.text(&format!("{}.", facts.join("; ")), 4);
    let texts = [&alert.headline, &alert.description, &alert.instruction];
    let mut lines: Vec<String> = Vec::new();
    for text in texts.into_iter().flatten() {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        // Line by line as it is broken by the service; longer lines are wrapped, nothing else is changed.
        lines.extend(text.lines().map(plain));
    }
    page.blocks.push(Block::Quote(lines));
    if let Some(url) = &alert.url {
        page.blocks.push(Block::Link(plain(url)));
    }
}

/// A text without what a terminal would obey: control characters, and those that turn the direction of a line.
fn plain(text: &str) -> String {
    let obeyed = |c: char| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().map(|c| if obeyed(c) { ' ' } else { c }).collect()
}
