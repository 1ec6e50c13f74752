//! A series with the least that it needs.

use super::model::{SeriesId, SeriesPlace, SeriesSource};
use crate::quantity::Quantity;

impl SeriesSource {
    /// A series of the lake itself by a service's parameter, at no cadence yet and with nothing optional.
    pub fn of(id: &str, quantity: Quantity, service: &str, parameter: &str) -> SeriesSource {
        SeriesSource {
            id: SeriesId::new(id),
            quantity,
            place: SeriesPlace::Lake,
            depth_m: None,
            service: service.to_owned(),
            station: String::new(),
            parameter: parameter.to_owned(),
            statistic: None,
            ensemble_model: None,
            cadences: Vec::new(),
            daily_from: None,
            daily_until: None,
            continuous_from: None,
            unit: None,
            datum_offset_m: None,
            datum_source: None,
            late_after_h: None,
            file: None,
            stamp_zone: None,
            csv: None,
            stands_in_for: None,
        }
    }
}
