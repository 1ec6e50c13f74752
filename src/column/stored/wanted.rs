//! The quantities of the weather that are wanted, and what series tell of them.

use super::seam::Scaling;
use crate::column::forcing::limits;
use crate::lake::WeatherWhat;
use crate::math::span_means::SpanRow;
use crate::physics::atmosphere::saturation_vapour_pressure_pa;
use crate::quantity::Quantity;

/// A quantity of the weather, and how it is put together.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// Name in messages.
    pub name: &'static str,
    /// Quantities of series that tell of it.
    pub quantities: &'static [Quantity],
    /// What becomes of them.
    pub what: WeatherWhat,
    pub scaling: Scaling,
}

const fn wanted(
    name: &'static str,
    quantities: &'static [Quantity],
    what: WeatherWhat,
    scaling: Scaling,
) -> Wanted {
    Wanted {
        name,
        quantities,
        what,
        scaling,
    }
}

pub(super) const AIR: Wanted = wanted(
    "air_temp",
    &[Quantity::AirTemp],
    WeatherWhat::AirTemp,
    Scaling::Offset,
);
pub(super) const VAPOUR: Wanted = wanted(
    "humidity",
    &[
        Quantity::VapourPressure,
        Quantity::DewPoint,
        Quantity::RelativeHumidity,
    ],
    WeatherWhat::VapourPressure,
    Scaling::Factor,
);
pub(super) const WIND: Wanted = wanted(
    "wind_speed",
    &[Quantity::WindSpeed],
    WeatherWhat::WindSpeed,
    Scaling::Factor,
);
pub(super) const DIRECTION: Wanted = wanted(
    "wind_direction",
    &[Quantity::WindDirection],
    WeatherWhat::WindDirection,
    Scaling::AsItIs,
);
pub(super) const SUN: Wanted = wanted(
    "shortwave",
    &[Quantity::Shortwave],
    WeatherWhat::Shortwave,
    Scaling::AsItIs,
);
pub(super) const LONGWAVE: Wanted = wanted(
    "longwave",
    &[Quantity::Longwave],
    WeatherWhat::Longwave,
    Scaling::AsItIs,
);
pub(super) const CLOUD: Wanted = wanted(
    "cloud_cover",
    &[Quantity::CloudCover],
    WeatherWhat::CloudCover,
    Scaling::AsItIs,
);
pub(super) const PRESSURE: Wanted = wanted(
    "surface_pressure",
    &[Quantity::SurfacePressure],
    WeatherWhat::Pressure,
    Scaling::Offset,
);
pub(super) const RAIN: Wanted = wanted(
    "precipitation",
    &[Quantity::Precipitation],
    WeatherWhat::Precipitation,
    Scaling::AsItIs,
);

/// Limits of a series' own quantity, in SI; of a sum those of a second.
pub(super) fn own_limits(quantity: Quantity) -> (f64, f64) {
    limits(match quantity {
        Quantity::AirTemp => WeatherWhat::AirTemp,
        Quantity::DewPoint => WeatherWhat::DewPoint,
        Quantity::RelativeHumidity => WeatherWhat::RelativeHumidity,
        Quantity::VapourPressure => WeatherWhat::VapourPressure,
        Quantity::SurfacePressure => WeatherWhat::Pressure,
        Quantity::WindSpeed => WeatherWhat::WindSpeed,
        Quantity::WindDirection => WeatherWhat::WindDirection,
        Quantity::Shortwave => WeatherWhat::Shortwave,
        Quantity::Longwave => WeatherWhat::Longwave,
        Quantity::CloudCover => WeatherWhat::CloudCover,
        Quantity::Precipitation => WeatherWhat::Precipitation,
        _ => return (f64::NEG_INFINITY, f64::INFINITY),
    })
}

/// Makes a span of a series into the quantity wanted: humidities into vapour pressure, with the air of the span's own time.
pub(super) fn made(quantity: Quantity, span: &SpanRow, air: &dyn Fn(f64, f64) -> Option<f64>) -> Option<f64> {
    let value = span.value?;
    match quantity {
        Quantity::DewPoint => Some(saturation_vapour_pressure_pa(value)),
        Quantity::RelativeHumidity => Some(value * saturation_vapour_pressure_pa(air(span.from, span.to)?)),
        _ => Some(value),
    }
}
