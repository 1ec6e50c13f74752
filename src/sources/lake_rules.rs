//! What a lake file must say about a series of each service, for the check of the lake file.

use super::registry::{SERVICES, StationNeed};
use crate::lake::ServiceRule;

/// One rule a registered service.
pub fn service_rules() -> Vec<ServiceRule> {
    SERVICES
        .iter()
        .map(|service| ServiceRule {
            name: service.name,
            station_for: match service.station {
                StationNeed::Station(_) => service.cadences,
                StationNeed::StationFor(_, cadences) => cadences,
                StationNeed::Position | StationNeed::File => &[],
            },
            needs_file: service.station == StationNeed::File,
            needs_keys: service.needs_keys,
            takes_statistic: service.takes_statistic,
            takes_ensemble_model: service.takes_ensemble_model,
            serves_alerts: service.alert_job.is_some(),
            needs_contact: service.needs_contact,
            cadences: service.cadences,
            refuses_station: service.refuses_station,
            refuses_parameter: service.refuses_parameter,
            parameter_quantities: service.parameter_quantities,
        })
        .collect()
}
