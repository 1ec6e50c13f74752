//! The demonstration lake, a clock, and trips for it.

use std::path::PathBuf;
use std::sync::OnceLock;

use chrono::{DateTime, Utc};
use plungeline::lake::{Lake, read_lake_file};
use plungeline::sources::service_rules;
use plungeline::species::builtin_ids;
use plungeline::trips::{Known, Trip, check_trip, read_trip_line};

use crate::house::source::root;

pub fn lake() -> &'static Lake {
    static LAKE: OnceLock<Lake> = OnceLock::new();
    LAKE.get_or_init(|| {
        let file = root().join("config/lakes/harrow-gap.toml");
        read_lake_file(&file, &service_rules()).expect("the demonstration lake has no faults")
    })
}

/// The clock of the tests: the evening of the demonstration's morning, 9 October 2025.
pub fn as_of() -> DateTime<Utc> {
    "2025-10-10T03:00:00Z".parse().expect("an instant")
}

pub fn known() -> Known<'static> {
    static SPECIES: OnceLock<Vec<&'static str>> = OnceLock::new();
    Known {
        lake: lake(),
        species: SPECIES.get_or_init(|| builtin_ids().collect()),
        as_of: as_of(),
    }
}

/// The trip of a line that has no faults.
pub fn trip(line: &str) -> Trip {
    let trip = read_trip_line(line, &known()).unwrap_or_else(|faults| panic!("{line}: {faults:?}"));
    let faults = check_trip(&trip, &known(), "the trip");
    assert!(faults.is_empty(), "{line}: {faults:?}");
    trip
}

/// A file in a folder of its own.
pub fn file(name: &str, bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("writable");
    (folder, path)
}
