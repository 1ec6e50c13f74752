//! What the service has for a position: its time zone, the forecast, and the stations near it.

use super::point::{read_point, read_stations};
use super::table::{LAYERS, plain_unit};
use super::{HOST, NAME};
use crate::lake::Cadence;
use crate::sources::client::{Client, Request};
use crate::sources::error::SourceError;
use crate::sources::find::{Candidate, Found, Search, Site};
use crate::sources::job::Station;

/// Stations that are shown: they come nearest first, and weather farther off is another's (project choice).
const STATIONS: usize = 3;

/// The forecast for the position, and the nearest stations. Where the stations do not come, the rest stands.
pub(super) async fn near(client: &Client, search: &Search) -> Result<Found, SourceError> {
    let path = super::request::point_path_of(search.position());
    let reply = client.get_shared(request(&path)).await?;
    let point = read_point(&reply.bytes).map_err(|fault| request(&path).read_error(fault))?;
    let mut found = Found {
        time_zone: point.time_zone.clone(),
        candidates: LAYERS.iter().map(forecast).collect(),
        ..Found::default()
    };
    let path = point.stations_path();
    let stations = match client.get_shared(request(&path)).await {
        Ok(reply) => read_stations(&reply.bytes).map_err(|fault| request(&path).read_error(fault)),
        Err(error) => Err(error),
    };
    match stations {
        Ok((stations, faults)) => {
            found.faults = faults;
            let near = stations.iter().filter_map(|station| {
                let position = station.latitude_deg.zip(station.longitude_deg)?;
                let away_m = search.distance_m(position);
                (away_m <= search.within_m).then_some((station, position, away_m))
            });
            for (station, position, away_m) in near.take(STATIONS) {
                found.candidates.extend(observed(station, position, away_m));
            }
        }
        Err(error) => found.failed.push(error),
    }
    Ok(found)
}

fn forecast(layer: &super::Layer) -> Candidate {
    Candidate {
        service: NAME,
        station: String::new(),
        name: "forecast for the position".to_owned(),
        position: None,
        distance_m: None,
        site: Site::Weather,
        parameter: layer.name.to_owned(),
        what: format!("{} of the raw grid", layer.name),
        quantities: vec![layer.quantity],
        unit: layer
            .unit_if_unstated
            .map(plain_unit)
            .unwrap_or_default()
            .to_owned(),
        cadence: Cadence::Forecast,
        statistic: None,
        series: None,
        since: None,
        until: None,
        primary: true,
        sublocation: None,
        datum: None,
    }
}

/// What a station reports. Since when, the service does not say: it holds about a week (from memory).
fn observed(station: &Station, position: (f64, f64), away_m: f64) -> Vec<Candidate> {
    let reported = LAYERS.iter().filter(|layer| layer.observed.is_some());
    reported
        .map(|layer| Candidate {
            station: station.id.clone(),
            name: station.name.clone().unwrap_or_else(|| station.id.clone()),
            position: Some(position),
            distance_m: Some(away_m),
            what: format!("{} of the station", layer.name),
            cadence: Cadence::Continuous,
            unit: String::new(),
            ..forecast(layer)
        })
        .collect()
}

fn request(path: &str) -> Request<'_> {
    Request {
        service: NAME,
        host: HOST,
        path,
        query: &[],
    }
}
