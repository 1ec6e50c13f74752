//! The parameter codes that mean something here: code, quantity, usual unit.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// One parameter code.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// Code.
    pub code: &'static str,
    /// What it is, for people.
    pub what: &'static str,
    /// Quantities it can be.
    pub quantities: &'static [Quantity],
    /// Unit it usually comes in; what a reply states counts.
    pub usual_unit: &'static str,
    /// Vertical datum, where the code itself names it.
    pub datum: Option<&'static str>,
}

/// 00060, 00010 and their units as in recorded replies; the other codes from memory, unverified.
pub const PARAMETERS: &[Parameter] = &[
    Parameter {
        code: "00060",
        what: "discharge",
        quantities: &[Quantity::Inflow, Quantity::Release],
        usual_unit: "ft^3/s",
        datum: None,
    },
    Parameter {
        code: "00010",
        what: "water temperature",
        quantities: &[Quantity::WaterTemp, Quantity::RiverTemp],
        usual_unit: "degC",
        datum: None,
    },
    Parameter {
        code: "62614",
        what: "lake elevation above NGVD 1929",
        quantities: &[Quantity::PoolElevation],
        usual_unit: "ft",
        datum: Some("NGVD 29"),
    },
    Parameter {
        code: "62615",
        what: "lake elevation above NAVD 1988",
        quantities: &[Quantity::PoolElevation],
        usual_unit: "ft",
        datum: Some("NAVD 88"),
    },
    Parameter {
        code: "00062",
        what: "reservoir elevation above the gauge's own datum",
        quantities: &[Quantity::PoolElevation],
        usual_unit: "ft",
        datum: None,
    },
    Parameter {
        code: "00054",
        what: "reservoir storage",
        quantities: &[Quantity::Storage],
        usual_unit: "acre-ft",
        datum: None,
    },
    Parameter {
        code: "63680",
        what: "turbidity",
        quantities: &[Quantity::Turbidity],
        usual_unit: "_FNU",
        datum: None,
    },
    Parameter {
        code: "00300",
        what: "dissolved oxygen",
        quantities: &[Quantity::DissolvedOxygen],
        usual_unit: "mg/l",
        datum: None,
    },
];

/// The table's row of a code.
pub fn parameter(code: &str) -> Option<&'static Parameter> {
    PARAMETERS.iter().find(|p| p.code == code)
}

/// Code, and the time series chosen where a station has several: `00010` or `00010/ID`.
pub(in crate::sources) fn code_and_choice(parameter: &str) -> (&str, Option<&str>) {
    match parameter.split_once('/') {
        Some((code, id)) => (code.trim(), Some(id.trim())),
        None => (parameter.trim(), None),
    }
}

/// Quantities that a parameter may stand for: those of the table, any for another code, none for what
/// is no code.
pub(in crate::sources) fn quantities(parameter_text: &str) -> &'static [Quantity] {
    let (code, _) = code_and_choice(parameter_text);
    match parameter(code) {
        Some(known) => known.quantities,
        None if is_code(code) => &Quantity::ALL,
        None => &[],
    }
}

fn is_code(text: &str) -> bool {
    text.len() == 5 && text.bytes().all(|b| b.is_ascii_digit())
}

/// What of a series the service does not have. A code outside the table passes: its unit, which every
/// reply states, then decides whether it can be the quantity.
pub(in crate::sources) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Forecast {
        return Some(("cadence forecast".to_owned(), "daily or continuous".to_owned()));
    }
    let (code, _) = code_and_choice(&series.parameter);
    let of_quantity = || {
        let codes: Vec<&str> = PARAMETERS
            .iter()
            .filter(|p| p.quantities.contains(&series.quantity))
            .map(|p| p.code)
            .collect();
        format!(
            "a parameter code of {} such as {}",
            series.quantity.word(),
            codes.join(", ")
        )
    };
    match parameter(code) {
        _ if !is_code(code) => Some((format!("parameter \"{}\"", series.parameter), of_quantity())),
        Some(known) if !known.quantities.contains(&series.quantity) => {
            Some((format!("parameter {code} ({})", known.what), of_quantity()))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_row_converts_a_real_magnitude() {
        // Code, figure as such a station reports it, the same in SI by the exact definitions of ft,
        // acre-ft and degree (worked by hand).
        let rows = [
            ("00060", 535.0, 15.149_512_927), // x 0.028316846592; a recorded value of 2026-08-07
            ("00010", 12.4, 12.4),            // degrees Celsius stay
            ("62614", 838.21, 255.486_408),   // x 0.3048
            ("62615", 841.63, 256.528_824),   // x 0.3048
            ("00062", 838.21, 255.486_408),   // x 0.3048
            ("00054", 301_000.0, 371_278_033.1), // x 1233.48183754752
            ("63680", 41.0, 41.0),            // FNU taken as NTU
            ("00300", 9.1, 9.1),              // mg/L stay
        ];
        assert_eq!(rows.len(), PARAMETERS.len());
        for (code, figure, si) in rows {
            let row = parameter(code).unwrap();
            for &quantity in row.quantities {
                let found = conversion(quantity, Cadence::Continuous, row.usual_unit, code)
                    .unwrap()
                    .to_si(figure);
                // Ten figures are given above.
                assert!((found - si).abs() <= 1e-9 * si, "{code}: {found} against {si}");
            }
        }
    }
}
