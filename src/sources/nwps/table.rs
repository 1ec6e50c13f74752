//! The two parameters of a gauge: name in the reply, quantities, usual unit.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// One parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// Word in the lake file; the reply's name of the figure, compared without case.
    pub name: &'static str,
    /// Quantities it can be.
    pub quantities: &'static [Quantity],
    /// Units it usually comes in; what a reply states counts.
    pub usual_units: &'static [&'static str],
}

/// Names and units as in a recorded reply, cfs from notes of users. The stage of a gauge on the lake is its
/// level, above the gauge's own zero: `datum_offset` brings it to the lake's datum.
pub const PARAMETERS: &[Parameter] = &[
    Parameter {
        name: "stage",
        quantities: &[Quantity::PoolElevation],
        usual_units: &["ft"],
    },
    Parameter {
        name: "flow",
        quantities: &[Quantity::Inflow, Quantity::Release],
        usual_units: &["kcfs", "cfs"],
    },
];

/// The parameter of a word.
pub fn parameter(word: &str) -> Option<&'static Parameter> {
    PARAMETERS.iter().find(|p| p.name == word.trim())
}

/// Quantities that a parameter may stand for.
pub(super) fn quantities(word: &str) -> &'static [Quantity] {
    parameter(word).map_or(&[], |p| p.quantities)
}

/// Form of a station, where a text cannot be one: it becomes part of an address. Five letters and digits, or the
/// number of a gauge of the USGS.
pub(super) fn refuses_station(station: &str) -> Option<&'static str> {
    let is_lid = station.len() == 5
        && station
            .bytes()
            .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
    let is_usgs = (8..=15).contains(&station.len()) && station.bytes().all(|b| b.is_ascii_digit());
    (!is_lid && !is_usgs).then_some("five capital letters and digits such as \"XHGA1\"")
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Daily {
        return Some(("cadence daily".to_owned(), "continuous or forecast".to_owned()));
    }
    let found = || format!("parameter \"{}\"", series.parameter);
    match parameter(&series.parameter) {
        Some(known) if known.quantities.contains(&series.quantity) => {}
        _ => {
            let fitting = PARAMETERS
                .iter()
                .find(|p| p.quantities.contains(&series.quantity));
            let wanted = fitting.map_or("stage or flow".to_owned(), |p| {
                format!("{} for {}", p.name, series.quantity.word())
            });
            return Some((found(), wanted));
        }
    }
    refuses_station(&series.station).map(|form| (format!("station \"{}\"", series.station), form.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_parameter_converts_a_real_magnitude_in_each_of_its_units() {
        // 5.03 ft and 20.6 kcfs as recorded; the same in SI by the exact foot, worked by hand.
        let rows = [
            ("stage", "ft", 5.03, 1.533_144),             // x 0.3048
            ("flow", "kcfs", 20.6, 583.327_039_795_2),    // x 28.316846592
            ("flow", "cfs", 20_600.0, 583.327_039_795_2), // x 0.028316846592
        ];
        for (name, unit, figure, si) in rows {
            let parameter = parameter(name).unwrap();
            assert!(parameter.usual_units.contains(&unit));
            for &quantity in parameter.quantities {
                let found = conversion(quantity, Cadence::Forecast, unit, name)
                    .unwrap()
                    .to_si(figure);
                // Ten figures are given above.
                assert!((found - si).abs() <= 1e-9 * si, "{name}: {found} against {si}");
            }
        }
    }

    #[test]
    fn a_station_that_would_change_the_address_is_refused() {
        for good in ["XHGA1", "HGIRG", "14359000", "123456789012345"] {
            assert_eq!(refuses_station(good), None, "{good}");
        }
        for bad in ["", "xhga1", "XHGA", "XHGA11", "../..", "XHG/1", "1435900"] {
            assert!(refuses_station(bad).is_some(), "{bad}");
        }
    }
}
