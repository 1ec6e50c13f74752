//! The variables that mean something here: hourly name, daily name, quantity.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// One variable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Variable {
    /// Hourly name: the `parameter` of a series.
    pub hourly: &'static str,
    /// Daily name; `None` where a daily figure would mean nothing.
    pub daily: Option<&'static str>,
    /// Quantity.
    pub quantity: Quantity,
    /// Whether ensembles have it.
    pub in_ensemble: bool,
    /// Whether the figure of an hour is of the hour that ends at its stamp.
    pub is_of_preceding_hour: bool,
}

const fn row(
    hourly: &'static str,
    daily: Option<&'static str>,
    quantity: Quantity,
    in_ensemble: bool,
    is_of_preceding_hour: bool,
) -> Variable {
    Variable {
        hourly,
        daily,
        quantity,
        in_ensemble,
        is_of_preceding_hour,
    }
}

/// Names and meaning of hourly variables: service documentation; daily names follow its pattern
/// (`_mean`, `_max`, `_sum`), seen recorded for `precipitation_sum` and `cloud_cover_mean`.
pub const VARIABLES: &[Variable] = &[
    row(
        "temperature_2m",
        Some("temperature_2m_mean"),
        Quantity::AirTemp,
        true,
        false,
    ),
    row(
        "dew_point_2m",
        Some("dew_point_2m_mean"),
        Quantity::DewPoint,
        true,
        false,
    ),
    row(
        "relative_humidity_2m",
        Some("relative_humidity_2m_mean"),
        Quantity::RelativeHumidity,
        true,
        false,
    ),
    row(
        "wind_speed_10m",
        Some("wind_speed_10m_mean"),
        Quantity::WindSpeed,
        true,
        false,
    ),
    row(
        "wind_gusts_10m",
        Some("wind_gusts_10m_max"),
        Quantity::WindGust,
        true,
        true,
    ),
    row("wind_direction_10m", None, Quantity::WindDirection, true, false),
    row(
        "cloud_cover",
        Some("cloud_cover_mean"),
        Quantity::CloudCover,
        true,
        false,
    ),
    row(
        "surface_pressure",
        Some("surface_pressure_mean"),
        Quantity::SurfacePressure,
        true,
        false,
    ),
    row(
        "precipitation",
        Some("precipitation_sum"),
        Quantity::Precipitation,
        true,
        true,
    ),
    row(
        "shortwave_radiation",
        Some("shortwave_radiation_sum"),
        Quantity::Shortwave,
        true,
        true,
    ),
    row("visibility", None, Quantity::Visibility, false, false),
];

/// The table's row of an hourly or daily name.
pub fn variable_of(name: &str) -> Option<&'static Variable> {
    VARIABLES
        .iter()
        .find(|v| v.hourly == name || v.daily == Some(name))
}

/// The quantity of an hourly name, or none.
pub(super) fn quantities(parameter: &str) -> &'static [Quantity] {
    let variable = VARIABLES.iter().find(|v| v.hourly == parameter);
    variable.map_or(&[], |v| std::slice::from_ref(&v.quantity))
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    let names = |has: &dyn Fn(&Variable) -> bool| {
        VARIABLES
            .iter()
            .filter(|v| has(v))
            .map(|v| v.hourly)
            .collect::<Vec<_>>()
            .join(", ")
    };
    let found = format!("parameter \"{}\"", series.parameter);
    let Some(variable) = VARIABLES.iter().find(|v| v.hourly == series.parameter) else {
        return Some((found, format!("one of {}", names(&|_| true))));
    };
    if variable.quantity != series.quantity {
        let fitting = names(&|v| v.quantity == series.quantity);
        let wanted = if fitting.is_empty() {
            format!("another service, for it has no {}", series.quantity.word())
        } else {
            format!("{fitting} for {}", series.quantity.word())
        };
        return Some((found, wanted));
    }
    if cadence == Cadence::Daily && variable.daily.is_none() {
        return Some((
            format!("cadence daily of {}", variable.hourly),
            "continuous or forecast".to_owned(),
        ));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_row_converts_a_real_magnitude() {
        // Hourly name, unit and figure as such replies state them, the same in SI; then the daily pair.
        type Pair = (&'static str, f64, f64);
        let rows: [(&str, Pair, Option<Pair>); 11] = [
            ("temperature_2m", ("°C", -10.3, -10.3), Some(("°C", 7.7, 7.7))),
            ("dew_point_2m", ("°F", 41.0, 5.0), Some(("°C", -2.5, -2.5))),
            ("relative_humidity_2m", ("%", 68.0, 0.68), Some(("%", 55.0, 0.55))),
            (
                "wind_speed_10m",
                ("km/h", 21.2, 5.888_888_889),
                Some(("m/s", 3.38, 3.38)),
            ), // 21.2 / 3.6
            (
                "wind_gusts_10m",
                ("km/h", 60.1, 16.694_444_444),
                Some(("kn", 20.0, 10.288_888_889)),
            ),
            ("wind_direction_10m", ("°", 270.0, 270.0), None),
            ("cloud_cover", ("%", 44.0, 0.44), Some(("%", 88.0, 0.88))),
            (
                "surface_pressure",
                ("hPa", 868.4, 86_840.0),
                Some(("hPa", 1013.2, 101_320.0)),
            ),
            ("precipitation", ("mm", 2.0, 0.002), Some(("mm", 21.1, 0.0211))),
            (
                "shortwave_radiation",
                ("W/m²", 812.0, 812.0),
                Some(("MJ/m²", 25.92, 300.0)),
            ), // 25.92e6 / 86400
            ("visibility", ("m", 24_140.0, 24_140.0), None),
        ];
        assert_eq!(rows.len(), VARIABLES.len());
        for (row, (hourly, of_hour, of_day)) in VARIABLES.iter().zip(rows) {
            assert_eq!((row.hourly, row.daily.is_some()), (hourly, of_day.is_some()));
            let check = |cadence, (unit, figure, si): Pair| {
                let found = conversion(row.quantity, cadence, unit, hourly)
                    .unwrap()
                    .to_si(figure);
                // Ten figures are given above.
                assert!(
                    (found - si).abs() <= 1e-9 * si.abs(),
                    "{hourly} {unit}: {found} against {si}"
                );
            };
            check(Cadence::Forecast, of_hour);
            if let Some(pair) = of_day {
                check(Cadence::Daily, pair);
            }
        }
    }

    #[test]
    fn only_rain_radiation_and_gusts_are_of_the_hour_before() {
        let before: Vec<&str> = VARIABLES
            .iter()
            .filter(|v| v.is_of_preceding_hour)
            .map(|v| v.hourly)
            .collect();
        assert_eq!(before, ["wind_gusts_10m", "precipitation", "shortwave_radiation"]); // service documentation
    }
}
