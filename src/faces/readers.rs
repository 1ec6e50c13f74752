//! Readers and the ledger of their letters as text: a line each.

use crate::delivery::bounce::{Followed, Report};
use crate::delivery::{Delivery, DeliveryState, Reader};

/// The list of readers.
pub fn render_readers(readers: &[Reader]) -> String {
    if readers.is_empty() {
        return "no readers\n".to_owned();
    }
    let rows = readers.iter().map(|reader| {
        let consent = match (&reader.consent_on, &reader.consent_source) {
            (Some(day), Some(source)) => format!("{day}, {source}"),
            _ => "no consent yet".to_owned(),
        };
        let form = [reader.units.word(), reader.decimal.word(), reader.hours.word()].join(" ");
        vec![
            reader.mailbox.to_string(),
            reader.state.word().to_owned(),
            form,
            consent,
            reader.name.clone().unwrap_or_default(),
        ]
    });
    in_columns(&rows.collect::<Vec<_>>())
}

/// Rows of the ledger, then how many there are of each state.
pub fn render_deliveries(rows: &[Delivery]) -> String {
    if rows.is_empty() {
        return "no letters\n".to_owned();
    }
    let lines = rows.iter().map(|row| {
        let who = match &row.address {
            Some(address) => address.clone(),
            None => format!("a reader who left ({})", row.reader.get(..8).unwrap_or("")),
        };
        let mut said = row.reply.clone().unwrap_or_default();
        if let (DeliveryState::Due, Some(next)) = (row.state, &row.next_try_at) {
            said = format!("not before {next}, {} tried; {said}", row.attempts);
        }
        vec![
            row.week.clone(),
            who,
            row.state.word().to_owned(),
            row.changed_at.clone(),
            said,
        ]
    });
    let mut text = in_columns(&lines.collect::<Vec<_>>());
    let counts: Vec<String> = DeliveryState::WORDS
        .iter()
        .filter_map(|word| {
            let count = rows.iter().filter(|row| row.state.word() == *word).count();
            (count > 0).then(|| format!("{count} {word}"))
        })
        .collect();
    text.push_str(&format!("{} letters: {}\n", rows.len(), counts.join(", ")));
    text
}

/// What followed from the messages of a mailbox.
pub fn render_followed(followed: &[Followed]) -> String {
    let line = |what: &str, report: &Report| {
        let who = report
            .recipient
            .as_deref()
            .unwrap_or("an address that is not told");
        format!(
            "{}: {what} ({} {})\n",
            printable(who),
            report.action.word(),
            printable(&report.status)
        )
    };
    let lines = followed.iter().map(|one| match one {
        Followed::NoReport => "a message that is no report of delivery: passed over\n".to_owned(),
        Followed::NotOurs(report) => line(
            "no letter of this lake is named in the report: passed over",
            report,
        ),
        Followed::Bounced(report) => line("the letter came back", report),
        Followed::Suspended(report) => line("the letter came back; nothing more is sent there", report),
        Followed::Noted(report) => line("noted", report),
        Followed::Known(report) => line("read before", report),
    });
    lines.collect()
}

/// Text from outside without what could steer a terminal.
fn printable(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}

/// Rows with their columns one below the other, the last as long as it is.
fn in_columns(rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let lengths = rows.iter().filter_map(|row| row.get(column));
        lengths.map(|text| text.chars().count()).max().unwrap_or(0)
    };
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .enumerate()
            .map(|(column, cell)| format!("{:1$}", printable(cell), width(column)))
            .collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}
