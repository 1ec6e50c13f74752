//! What the lake file must say about a series of each service. `sources` supplies the list, so that
//! the check of a lake file knows the services without knowing how to call them.

use super::model::Cadence;
use crate::quantity::Quantity;

/// What a series of one service needs and may have.
#[derive(Debug, Clone, Copy)]
pub struct ServiceRule {
    /// Name in lake files (`usgs-ogc`).
    pub name: &'static str,
    /// Whether a series must name a station; a service without stations goes by position.
    pub needs_station: bool,
    /// Whether a series must name a file, its columns and its unit (`csv`).
    pub needs_file: bool,
    /// Whether daily values are asked for by a statistic code.
    pub takes_statistic: bool,
    /// Whether an ensemble model may be chosen.
    pub takes_ensemble_model: bool,
    /// Cadences that the service has.
    pub cadences: &'static [Cadence],
    /// Quantities that a parameter of the service may stand for; none for a parameter it does not
    /// have. `None` where any parameter goes, as with columns of a file.
    pub parameter_quantities: Option<fn(&str) -> &'static [Quantity]>,
}
