//! The map of a foreign table: which of its columns hold what.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::trips::check::short;
use crate::trips::error::TripFault;
use crate::units::{M_PER_FT, M_S_PER_KMH, M_S_PER_KT, M_S_PER_MPH, degc_from_degf};

/// A map of columns, as its file says it. One row of the table is one leg.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub struct ColumnMap {
    /// Column of the day.
    pub date: String,
    /// Its form, in the letters of strftime; without it `%Y-%m-%d`.
    pub date_format: Option<String>,
    /// Column whose equal values make one trip; without it rows of one day do.
    pub trip: Option<String>,
    /// Column of the zone.
    pub zone: Option<String>,
    /// The zone of every row, where there is no such column.
    pub zone_is: Option<String>,
    /// Column of the stretch.
    pub stretch: Option<String>,
    /// Column of the hours fished; or start and end.
    pub hours: Option<String>,
    /// Column of the begin, as the lake's clocks show it: `6:30`.
    pub start: Option<String>,
    /// Column of the end.
    pub end: Option<String>,
    /// Column of the rods.
    pub rods: Option<String>,
    /// Column of the depth fished.
    pub depth: Option<String>,
    /// Its unit: `ft` or `m`.
    pub depth_unit: Option<String>,
    /// Column of the speed.
    pub speed: Option<String>,
    /// Its unit: `mph`, `kt`, `km/h` or `m/s`.
    pub speed_unit: Option<String>,
    /// Column of the kind of tackle.
    pub presentation: Option<String>,
    /// Column of the reason.
    pub reason: Option<String>,
    /// Column of the temperature of the surface.
    pub surface_temp: Option<String>,
    /// Its unit: `F` or `C`.
    pub temp_unit: Option<String>,
    /// Column of the note.
    pub note: Option<String>,
    /// Texts that mean "no value", beside an empty cell.
    pub missing: Vec<String>,
    /// An empty cell of a catch means that none was caught. Without it such a row does not tell its catch.
    pub blank_is_zero: bool,
    /// Their words for zones and stretches, and our ids.
    pub zones: BTreeMap<String, String>,
    /// Their words for kinds of tackle and for reasons, and ours.
    pub words: BTreeMap<String, String>,
    /// Columns that count fish, and their species.
    pub catch: BTreeMap<String, String>,
}

/// The map of a file in TOML.
///
/// # Errors
/// One fault of TOML or of a key, or every fault of what keys say together.
pub fn read_column_map(text: &str) -> Result<ColumnMap, Vec<TripFault>> {
    let map: ColumnMap = toml::from_str(text).map_err(|error| {
        let before = error.span().map_or(text.len(), |span| span.start).min(text.len());
        let line = text.bytes().take(before).filter(|b| *b == b'\n').count() + 1;
        let wanted = "a map of columns in TOML (docs/trip-log.md)";
        vec![TripFault::new(
            format!("line {line}"),
            error.message().replace('\n', " "),
            wanted,
            "correct the line",
        )]
    })?;
    let faults = faults_of(&map);
    if faults.is_empty() { Ok(map) } else { Err(faults) }
}

fn faults_of(map: &ColumnMap) -> Vec<TripFault> {
    let mut faults = Vec::new();
    let mut fault = |found: &str, wanted: &str, mend: &str| {
        faults.push(TripFault::new("the map", found, wanted, mend));
    };
    if map.date.trim().is_empty() {
        fault("no date", "the column of the day", "add date = \"Date\"");
    }
    if map.zone.is_some() == map.zone_is.is_some() {
        fault(
            "zone and zone_is, or neither",
            "one of the two",
            "name the column of the zone, or the one zone of all rows",
        );
    }
    let spans = map.start.is_some() && map.end.is_some();
    if spans == map.hours.is_some() || map.start.is_some() != map.end.is_some() {
        fault(
            "no single way to the hours",
            "hours, or start and end",
            "name the column of the hours, or those of begin and end",
        );
    }
    for (what, column, unit, known) in [
        ("depth", &map.depth, &map.depth_unit, &["ft", "m"][..]),
        (
            "speed",
            &map.speed,
            &map.speed_unit,
            &["mph", "kt", "km/h", "m/s"],
        ),
        ("surface_temp", &map.surface_temp, &map.temp_unit, &["F", "C"]),
    ] {
        let words = known.join(", ");
        match (column, unit) {
            (Some(_), None) => fault(
                &format!("{what} without its unit"),
                &format!("one of {words}"),
                "add the unit: no unit is guessed",
            ),
            (_, Some(unit)) if !known.contains(&unit.as_str()) => {
                fault(
                    &format!("unit {:?} of {what}", short(unit)),
                    &format!("one of {words}"),
                    "correct the unit",
                );
            }
            _ => {}
        }
    }
    faults
}

impl ColumnMap {
    /// A depth of the table in metres.
    pub(super) fn depth_m(&self, value: f64) -> f64 {
        if self.depth_unit.as_deref() == Some("ft") {
            value * M_PER_FT
        } else {
            value
        }
    }

    /// A speed of the table in m/s.
    pub(super) fn speed_m_s(&self, value: f64) -> f64 {
        value
            * match self.speed_unit.as_deref() {
                Some("mph") => M_S_PER_MPH,
                Some("kt") => M_S_PER_KT,
                Some("km/h") => M_S_PER_KMH,
                _ => 1.0,
            }
    }

    /// A temperature of the table in degC.
    pub(super) fn temp_degc(&self, value: f64) -> f64 {
        if self.temp_unit.as_deref() == Some("F") {
            degc_from_degf(value)
        } else {
            value
        }
    }
}
