//! The file and the columns of a series that is read from one.

use chrono::FixedOffset;
use chrono_tz::Tz;

use crate::lake::file::block::{Block, quote};
use crate::lake::file::fault::At;
use crate::lake::{CsvColumns, ServiceRule};

pub(super) fn read_csv(block: &Block<'_, '_>, rule: Option<&ServiceRule>) -> Option<CsvColumns> {
    let inner = block.block("csv");
    if let Some(rule) = rule {
        if rule.needs_file && !block.has("csv") {
            block.missing("csv", &format!("since {} reads a file", rule.name));
        }
        if !rule.needs_file {
            block.refuse(
                "csv",
                &format!("no file: {} is asked over the network", rule.name),
            );
        }
    }
    let inner = inner?;
    let (path, time, value, depth) = (
        inner.text("path"),
        inner.text("time"),
        inner.text("value"),
        inner.text("depth"),
    );
    let stamp_zone = read_stamp_zone(&inner);
    let missing = inner.texts("missing");
    Some(CsvColumns {
        path: path?.value.into(),
        time: time?.value,
        value: value?.value,
        depth: depth.map(|at| at.value),
        stamp_zone: stamp_zone?.value,
        missing: missing?,
    })
}

/// The key `stamp_zone`.
pub(in crate::lake::file) fn read_stamp_zone(block: &Block<'_, '_>) -> Option<At<String>> {
    let zone = block.text("stamp_zone")?;
    if !is_stamp_zone(&zone.value) {
        let found = format!("stamp_zone = {}", quote(&zone.value));
        block.fault(
            &zone.span,
            found,
            "an IANA name, \"UTC\" or an offset such as \"-08:00\"",
            "say in which zone the file's stamps are",
        );
    }
    Some(zone)
}

fn is_stamp_zone(text: &str) -> bool {
    let offset = text.len() == 6 && text.parse::<FixedOffset>().is_ok();
    text == "UTC" || text.parse::<Tz>().is_ok() || offset
}
