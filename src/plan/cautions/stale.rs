//! A forecast that is too old shows no danger because it knows of none: it fails closed.

use super::note::{Scene, not_known};
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{Caution, Hazard};
use crate::quantity::Quantity;

const SOURCE: &str = "project choice: an old forecast says nothing of a danger that has come up since";

/// Cautions judged by a forecast, and the quantities they rest on.
const BY_FORECAST: [(Hazard, &[Quantity]); 6] = [
    (Hazard::Wind, &[Quantity::WindSpeed, Quantity::WindGust]),
    (Hazard::Waves, &[Quantity::WindSpeed, Quantity::WindGust]),
    (Hazard::Thunder, &[Quantity::ThunderProbability]),
    (Hazard::Fog, &[Quantity::Visibility]),
    (Hazard::Heat, &[Quantity::AirTemp]),
    (Hazard::ColdAir, &[Quantity::AirTemp, Quantity::WindSpeed]),
];

/// "Not known" for every hazard of which `found` says nothing although its forecast is late. A danger
/// that even an old forecast shows stays as it is.
pub(super) fn cautions_of(scene: Scene, found: &[Caution]) -> Vec<Caution> {
    BY_FORECAST
        .into_iter()
        .filter(|(hazard, _)| found.iter().all(|caution| caution.hazard != *hazard))
        .filter_map(|(hazard, quantities)| {
            let late: Vec<&Quantity> = quantities
                .iter()
                .filter(|q| is_late(scene.lake, scene.conditions, **q))
                .collect();
            let names: Vec<String> = late.iter().map(|q| q.word().to_owned()).collect();
            let threshold = "not known: the forecast is too old to judge by; check an official one";
            (!late.is_empty()).then(|| not_known(hazard, names, threshold, SOURCE))
        })
        .collect()
}

/// Whether a forecast of the quantity is described, and each one there is has come late.
pub(in crate::plan) fn is_late(lake: &Lake, conditions: &Conditions, quantity: Quantity) -> bool {
    let mut forecasts = conditions
        .inputs
        .iter()
        .filter(|input| input.cadence == "forecast")
        .filter(|input| {
            lake.series
                .iter()
                .any(|s| s.id.as_str() == input.series && s.quantity == quantity)
        })
        .peekable();
    forecasts.peek().is_some() && forecasts.all(|input| input.late)
}
