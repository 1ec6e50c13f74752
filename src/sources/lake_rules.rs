//! What a lake file must say about a series of each service, for the check of the lake file.

use super::open_meteo::table::variable_of;
use super::registry::{SERVICES, StationNeed};
use super::usgs_ogc::table::parameter;
use crate::lake::ServiceRule;
use crate::quantity::Quantity;

/// One rule a registered service.
pub fn service_rules() -> Vec<ServiceRule> {
    SERVICES
        .iter()
        .map(|service| ServiceRule {
            name: service.name,
            needs_station: matches!(service.station, StationNeed::Station(_)),
            needs_file: service.station == StationNeed::File,
            takes_statistic: service.name == "usgs-ogc",
            takes_ensemble_model: service.name == "open-meteo",
            cadences: service.cadences,
            parameter_quantities: match service.name {
                "usgs-ogc" => Some(usgs_quantities),
                "open-meteo" => Some(open_meteo_quantities),
                _ => None,
            },
        })
        .collect()
}

/// A code outside the table may be anything: its unit, which every reply states, decides.
fn usgs_quantities(code: &str) -> &'static [Quantity] {
    let code = code.split('/').next().unwrap_or(code).trim();
    parameter(code).map_or(&Quantity::ALL, |p| p.quantities)
}

fn open_meteo_quantities(name: &str) -> &'static [Quantity] {
    variable_of(name).map_or(&[], |v| std::slice::from_ref(&v.quantity))
}
