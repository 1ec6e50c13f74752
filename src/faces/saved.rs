//! The records of a saved reply, one a line.

use crate::sources::Saved;

/// The records as text: a head line, then one line a record, as the service gave it and in SI.
pub fn render_saved(saved: &Saved) -> String {
    let mut text = format!("{} {}: {} records\n", saved.service, saved.kind, saved.records.len());
    for record in &saved.records {
        let member = record.member.map_or(String::new(), |m| format!(" member {m}"));
        let value = record.value.map_or("no value".to_owned(), |v| format!("{v} {}", record.unit));
        let si = match (record.quantity, record.value_si) {
            (Some(quantity), Some(value_si)) => format!(" = {value_si:.6} {}", quantity.column()),
            _ => String::new(),
        };
        let note = if record.note.is_empty() { String::new() } else { format!("  [{}]", record.note) };
        text.push_str(&format!(
            "{} {} {}{member}: {value}{si}{note}\n",
            record.time, record.station, record.parameter
        ));
    }
    text
}
