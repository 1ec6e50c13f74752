//! What a lake file must say about a series of each service, for the check of the lake file.

use super::registry::{SERVICES, StationNeed};
use crate::lake::ServiceRule;

/// One rule a registered service.
pub fn service_rules() -> Vec<ServiceRule> {
    SERVICES
        .iter()
        .map(|service| ServiceRule {
            name: service.name,
            needs_station: matches!(service.station, StationNeed::Station(_)),
            needs_file: service.station == StationNeed::File,
            takes_statistic: service.takes_statistic,
            takes_ensemble_model: service.takes_ensemble_model,
            cadences: service.cadences,
            parameter_quantities: service.parameter_quantities,
        })
        .collect()
}
