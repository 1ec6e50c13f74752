// The services of the demonstration lake, as far as the check of a lake file knows them.

use plungeline::lake::{Cadence, ServiceRule};
use plungeline::quantity::Quantity;

/// Rules like those of the program's services.
pub const SERVICES: &[ServiceRule] = &[
    ServiceRule {
        name: "usgs-ogc",
        needs_station: true,
        needs_file: false,
        takes_statistic: true,
        takes_ensemble_model: false,
        cadences: &[Cadence::Daily, Cadence::Continuous],
        parameter_quantities: Some(usgs_quantities),
    },
    ServiceRule {
        name: "open-meteo",
        needs_station: false,
        needs_file: false,
        takes_statistic: false,
        takes_ensemble_model: true,
        cadences: &[Cadence::Daily, Cadence::Continuous, Cadence::Forecast],
        parameter_quantities: None,
    },
    ServiceRule {
        name: "csv",
        needs_station: false,
        needs_file: true,
        takes_statistic: false,
        takes_ensemble_model: false,
        cadences: &[Cadence::Daily, Cadence::Continuous],
        parameter_quantities: None,
    },
];

fn usgs_quantities(parameter: &str) -> &'static [Quantity] {
    match parameter {
        "62614" => &[Quantity::PoolElevation],
        "00054" => &[Quantity::Storage],
        "00060" => &[Quantity::Inflow, Quantity::Release],
        "00010" => &[Quantity::WaterTemp, Quantity::RiverTemp],
        "63680" => &[Quantity::Turbidity],
        _ => &[],
    }
}
