//! The keys of a block of the lake file as a table in Markdown, for docs/lake-file.md.

use std::fmt::Write;

use crate::lake::file::keys::{Key, Kind, Limits, Need, keys_of};

/// The table of keys of `block` (empty for the top of the file): key, whether it is needed, what it
/// holds, meaning, example.
pub fn render_keys(block: &str) -> String {
    let mut text = String::from("| key | needed | holds | meaning | example |\n|---|---|---|---|---|\n");
    for key in keys_of(block) {
        let names = key
            .names()
            .iter()
            .map(|name| format!("`{name}`"))
            .collect::<Vec<_>>()
            .join(" or ");
        let need = match key.need {
            Need::Always => "yes",
            Need::Optional => "no",
            Need::Depends => "see meaning",
        };
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "| {names} | {need} | {} | {} | `{}` |",
            holds(key),
            key.meaning,
            key.example
        );
    }
    text
}

fn holds(key: &Key) -> String {
    let one_of = |words: &[&str]| {
        words
            .iter()
            .map(|word| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    match key.kind {
        Kind::Id => "id".into(),
        Kind::Text => "text".into(),
        Kind::Texts => "list of texts".into(),
        Kind::Word(words) => format!("one of {}", one_of(words)),
        Kind::Words(words) => format!("list of {}", one_of(words)),
        Kind::TimeZone => "IANA time zone".into(),
        Kind::Quantity => "quantity".into(),
        Kind::Reference(block) => format!("id of `{block}`"),
        Kind::References(block) => format!("list of ids of `{block}`"),
        Kind::Number(limits) => limits_text(limits),
        Kind::Measure(dimension, limits) => {
            format!(
                "{} ({})",
                limits_text(limits),
                dimension.metric().replace("m_s", "m/s").replace("m3s", "m3/s")
            )
        }
        Kind::Months(..) => "twelve numbers".into(),
        Kind::Whole => "whole number, 1 or more".into(),
        Kind::Flag => "`true` or `false`".into(),
        Kind::Date => "date, no quotes".into(),
        Kind::Position => "[latitude, longitude]".into(),
        Kind::Line => "list of [latitude, longitude]".into(),
        Kind::Outline => "list of [latitude, longitude] round the water".into(),
        Kind::Flow => "`\"series\"` or a table".into(),
        Kind::Block(_) => "table".into(),
        Kind::Blocks(_) => "list of tables".into(),
    }
}

fn limits_text(limits: Limits) -> String {
    let low = if limits.above_low {
        format!("above {}", limits.low)
    } else {
        format!("{}", limits.low)
    };
    format!("{low} to {}", limits.high)
}
