//! Layers of the raw grid and figures of an observation: name, quantity, and how a step is meant.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// How the figure of an interval spreads over its hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// It holds in every hour.
    Holds,
    /// It is the sum of the interval: each hour has its part.
    Shared,
}

/// One layer of the raw grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layer {
    /// Name in the raw grid: the `parameter` of a forecast series.
    pub name: &'static str,
    /// Name in an observation; `None` where stations do not report it as a number.
    pub observed: Option<&'static str>,
    /// Quantity.
    pub quantity: Quantity,
    /// Unit, where the layer states none.
    pub unit_if_unstated: Option<&'static str>,
    /// How its figure spreads over the interval.
    pub spread: Spread,
}

const fn row(name: &'static str, observed: Option<&'static str>, quantity: Quantity) -> Layer {
    Layer {
        name,
        observed,
        quantity,
        unit_if_unstated: None,
        spread: Spread::Holds,
    }
}

/// Layers that mean something here. Names and units: service documentation, seen recorded; that
/// `probabilityOfThunder` is a percentage where it states no unit: from memory.
pub const LAYERS: &[Layer] = &[
    row("temperature", Some("temperature"), Quantity::AirTemp),
    row("dewpoint", Some("dewpoint"), Quantity::DewPoint),
    row(
        "relativeHumidity",
        Some("relativeHumidity"),
        Quantity::RelativeHumidity,
    ),
    row("windSpeed", Some("windSpeed"), Quantity::WindSpeed),
    row("windGust", Some("windGust"), Quantity::WindGust),
    row("windDirection", Some("windDirection"), Quantity::WindDirection),
    row("skyCover", None, Quantity::CloudCover),
    row("visibility", Some("visibility"), Quantity::Visibility),
    Layer {
        name: "quantitativePrecipitation",
        observed: None,
        quantity: Quantity::Precipitation,
        unit_if_unstated: None,
        spread: Spread::Shared,
    },
    Layer {
        name: "probabilityOfThunder",
        observed: None,
        quantity: Quantity::ThunderProbability,
        unit_if_unstated: Some("percent"),
        spread: Spread::Holds,
    },
    // Stations report it; the grid has only `pressure`, which was empty in every recording.
    row(
        "barometricPressure",
        Some("barometricPressure"),
        Quantity::SurfacePressure,
    ),
];

/// The layer of a name.
pub fn layer_of(name: &str) -> Option<&'static Layer> {
    LAYERS.iter().find(|layer| layer.name == name)
}

/// Whether the raw grid has the layer; the others only stations report.
fn in_grid(layer: &Layer) -> bool {
    layer.name != "barometricPressure"
}

/// Quantities that a parameter of the lake file may stand for.
pub(super) fn quantities(parameter: &str) -> &'static [Quantity] {
    layer_of(parameter).map_or(&[], |layer| std::slice::from_ref(&layer.quantity))
}

/// What the service has instead of a layer at a cadence; `None` where it has it, or where there is no such layer.
pub(super) fn refuses_parameter(parameter: &str, cadence: Cadence) -> Option<String> {
    let has = |layer: &Layer| match cadence {
        Cadence::Continuous => layer.observed.is_some(),
        Cadence::Forecast => in_grid(layer),
        // A cadence that the service does not have at all has its own fault.
        Cadence::Daily => true,
    };
    if layer_of(parameter).is_none_or(has) {
        return None;
    }
    let names: Vec<&str> = LAYERS.iter().filter(|l| has(l)).map(|l| l.name).collect();
    Some(names.join(", "))
}

/// Form of a station, where a text cannot be one: it becomes part of an address.
pub(super) fn refuses_station(station: &str) -> Option<&'static str> {
    let sound = (3..=12).contains(&station.len())
        && station
            .chars()
            .all(|c| c.is_ascii_uppercase() || c.is_ascii_digit());
    (!sound).then_some("capital letters and digits such as \"KBOI\"")
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Daily {
        return Some(("cadence daily".to_owned(), "continuous or forecast".to_owned()));
    }
    let found = format!("parameter \"{}\"", series.parameter);
    let names = |has: &dyn Fn(&Layer) -> bool| {
        let names: Vec<&str> = LAYERS.iter().filter(|l| has(l)).map(|l| l.name).collect();
        names.join(", ")
    };
    let Some(layer) = layer_of(&series.parameter) else {
        return Some((found, format!("one of {}", names(&|_| true))));
    };
    if layer.quantity != series.quantity {
        let fitting = names(&|l| l.quantity == series.quantity);
        let wanted = if fitting.is_empty() {
            format!("another service, for it has no {}", series.quantity.word())
        } else {
            format!("{fitting} for {}", series.quantity.word())
        };
        return Some((found, wanted));
    }
    if let Some(has) = refuses_parameter(&series.parameter, cadence) {
        let word = if cadence == Cadence::Forecast {
            "forecast"
        } else {
            "continuous"
        };
        return Some((format!("{found} at cadence {word}"), format!("one of {has}")));
    }
    match refuses_station(&series.station) {
        Some(form) if cadence == Cadence::Continuous => {
            Some((format!("station \"{}\"", series.station), form.to_owned()))
        }
        _ => None,
    }
}

/// The unit without the vocabulary it is taken from: `wmoUnit:km_h-1`, `unit:degC` and the full address of
/// the former are `km_h-1` and `degC`; `degree_(angle)` is `degree`.
pub fn plain_unit(text: &str) -> &str {
    let name = text.rsplit(['/', ':']).next().unwrap_or(text);
    name.strip_suffix("_(angle)").unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_layer_converts_a_real_magnitude() {
        // Unit and figure as recorded (or as the documentation has them), and the same in SI.
        let rows = [
            (
                "temperature",
                "wmoUnit:degC",
                22.77777777777778,
                22.77777777777778,
            ),
            ("dewpoint", "unit:degC", -6.1, -6.1),
            ("relativeHumidity", "wmoUnit:percent", 73.0, 0.73),
            ("windSpeed", "wmoUnit:km_h-1", 20.372, 5.658_888_889), // 20.372 / 3.6
            ("windGust", "unit:m_s-1", 11.0, 11.0),
            ("windDirection", "wmoUnit:degree_(angle)", 160.0, 160.0),
            ("skyCover", "wmoUnit:percent", 71.0, 0.71),
            ("visibility", "wmoUnit:m", 16_093.44, 16_093.44),
            ("quantitativePrecipitation", "wmoUnit:mm", 2.54, 0.002_54),
            ("probabilityOfThunder", "percent", 15.0, 0.15),
            ("barometricPressure", "wmoUnit:Pa", 101_860.0, 101_860.0),
        ];
        assert_eq!(rows.len(), LAYERS.len());
        for (layer, (name, unit, figure, si)) in LAYERS.iter().zip(rows) {
            assert_eq!(layer.name, name);
            let found = conversion(layer.quantity, Cadence::Forecast, plain_unit(unit), name)
                .unwrap()
                .to_si(figure);
            // Ten figures are given above.
            assert!(
                (found - si).abs() <= 1e-9 * si.abs(),
                "{name}: {found} against {si}"
            );
        }
    }

    #[test]
    fn a_unit_is_the_same_by_prefix_and_by_address() {
        for text in [
            "wmoUnit:degC",
            "unit:degC",
            "http://codes.wmo.int/common/unit/degC",
            "degC",
        ] {
            assert_eq!(plain_unit(text), "degC");
        }
        assert_eq!(plain_unit("wmoUnit:degree_(angle)"), "degree");
    }
}
