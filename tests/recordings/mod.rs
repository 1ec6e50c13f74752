//! Every parser on every recording of its service (validation data, not in the repository).

mod csv;
mod nws;
mod open_meteo;
mod usgs_ogc;

use chrono::{DateTime, Utc};
use plungeline::lake::{Cadence, SeriesId, SeriesPlace, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::Want;

fn at(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().with_timezone(&Utc)
}

/// What a recording is read for.
fn want(quantity: Quantity, cadence: Cadence, service: &str, station: &str, parameter: &str) -> Want {
    let series = SeriesSource {
        id: SeriesId::new("recorded"),
        quantity,
        place: SeriesPlace::Lake,
        depth_m: None,
        service: service.to_owned(),
        station: station.to_owned(),
        parameter: parameter.to_owned(),
        statistic: None,
        ensemble_model: None,
        cadences: vec![cadence],
        daily_from: None,
        daily_until: None,
        continuous_from: None,
        unit: None,
        datum_offset_m: None,
        datum_source: None,
        late_after_h: None,
        csv: None,
        stands_in_for: None,
    };
    Want {
        series,
        cadence,
        from: None,
    }
}
