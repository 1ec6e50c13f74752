//! What the lake file must say about a series of each service. `sources` supplies the list, so that
//! the check of a lake file knows the services without knowing how to call them.

use super::series_source::Cadence;
use crate::quantity::Quantity;

/// What a series of one service needs and may have.
#[derive(Debug, Clone, Copy)]
pub struct ServiceRule {
    /// Name in lake files (`usgs-ogc`).
    pub name: &'static str,
    /// Cadences at which a series must name a station; at the others the service goes by position.
    pub station_for: &'static [Cadence],
    /// Whether a series must name a file, its columns and its unit (`csv`).
    pub needs_file: bool,
    /// Further keys of a series that it needs and that other services have no use for: `file`, `stamp_zone`.
    pub needs_keys: &'static [&'static str],
    /// Whether daily values are asked for by a statistic code.
    pub takes_statistic: bool,
    /// Whether an ensemble model may be chosen.
    pub takes_ensemble_model: bool,
    /// Whether it serves official alerts.
    pub serves_alerts: bool,
    /// Whether it refuses requests that name no contact.
    pub needs_contact: bool,
    /// Cadences that the service has.
    pub cadences: &'static [Cadence],
    /// Quantities that a parameter of the service may stand for; none for a parameter it does not
    /// have. `None` where any parameter goes, as with columns of a file.
    pub parameter_quantities: Option<fn(&str) -> &'static [Quantity]>,
    /// Whether a text cannot be one of its stations, and what one looks like; `None` where any text goes.
    pub refuses_station: Option<fn(&str) -> Option<&'static str>>,
    /// What the service has instead of a parameter at a cadence; `None` where it has every parameter at all
    /// its cadences.
    pub refuses_parameter: Option<fn(&str, Cadence) -> Option<String>>,
}
