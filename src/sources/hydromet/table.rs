//! The parameter codes: what each is, and its unit, which no reply states.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// A parameter code.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Code {
    /// Code, small letters.
    pub code: &'static str,
    /// What it is, for people.
    pub what: &'static str,
    /// Quantities it can be.
    pub quantities: &'static [Quantity],
    /// Its unit.
    pub unit: &'static str,
}

/// `fb`, `af`, `qd`, `in` and `qu` as clients' documentation has them; `q`, `wf` and `ob` from memory, unverified.
pub const CODES: &[Code] = &[
    Code {
        code: "fb",
        what: "elevation of the forebay",
        quantities: &[Quantity::PoolElevation],
        unit: "ft",
    },
    Code {
        code: "af",
        what: "storage",
        quantities: &[Quantity::Storage],
        unit: "acre-ft",
    },
    Code {
        code: "q",
        what: "flow",
        quantities: &[Quantity::Inflow, Quantity::Release],
        unit: "cfs",
    },
    Code {
        code: "qd",
        what: "release",
        quantities: &[Quantity::Release],
        unit: "cfs",
    },
    Code {
        code: "in",
        what: "inflow",
        quantities: &[Quantity::Inflow],
        unit: "cfs",
    },
    Code {
        code: "qu",
        what: "estimated natural flow",
        quantities: &[Quantity::Inflow],
        unit: "cfs",
    },
    Code {
        code: "wf",
        what: "water temperature",
        quantities: &[Quantity::WaterTemp, Quantity::RiverTemp],
        unit: "degF",
    },
    Code {
        code: "ob",
        what: "air temperature",
        quantities: &[Quantity::AirTemp],
        unit: "degF",
    },
];

/// The code of a text, in whatever letters.
pub(super) fn code(text: &str) -> Option<&'static Code> {
    let text = text.trim().to_ascii_lowercase();
    CODES.iter().find(|code| code.code == text)
}

/// Quantities of a code; none of one that is not known, since its unit is not.
pub(super) fn quantities(text: &str) -> &'static [Quantity] {
    code(text).map_or(&[], |code| code.quantities)
}

/// What a station looks like, for a text that cannot be one.
pub(super) fn refuses_station(station: &str) -> Option<&'static str> {
    let is_code = (2..=12).contains(&station.len()) && station.bytes().all(|b| b.is_ascii_alphanumeric());
    (!is_code).then_some("the station's letters, such as UNY")
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence != Cadence::Continuous {
        return Some((
            format!("cadence {cadence:?}").to_lowercase(),
            "continuous: the region's daily values are documented too little to be read".to_owned(),
        ));
    }
    (!quantities(&series.parameter).contains(&series.quantity)).then(|| {
        let of = CODES
            .iter()
            .filter(|code| code.quantities.contains(&series.quantity));
        let codes: Vec<&str> = of.map(|code| code.code).collect();
        (
            format!("parameter \"{}\"", series.parameter),
            format!("a code of {}: {}", series.quantity.word(), codes.join(", ")),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_code_has_a_unit_of_each_of_its_quantities() {
        for code in CODES {
            for quantity in code.quantities {
                assert!(
                    conversion(*quantity, Cadence::Continuous, code.unit, code.code).is_ok(),
                    "{}",
                    code.code
                );
            }
        }
    }
}
