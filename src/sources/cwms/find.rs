//! The catalogues searched: projects (dams and their lakes) near a position or of a name, and the series they have.

use chrono::{DateTime, Utc};

use super::catalog::{CatalogLocation, CatalogSeries, Catalogue, read_catalogue};
use super::name::SeriesName;
use super::{HOST, NAME};
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::sources::client::{Client, Request};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::find::{Candidate, Found, Place, Search, Site, datum_word, telling_words};
use crate::sources::unit::conversion;

/// Entries a page.
const PAGE_SIZE: &str = "5000";
/// Most pages of a catalogue.
const PAGES: usize = 20;
/// Kind of location that is a dam with its lake (from memory, unverified, as the parameter that asks for it).
const PROJECT: &str = "PROJECT";
/// Projects whose series are asked for, the nearest first: each is a request (project choice).
const PROJECTS: usize = 3;

/// The series of the projects nearest to a position. Where the series of one do not come, the rest stands.
pub(super) async fn near(client: &Client, search: &Search) -> Result<Found, SourceError> {
    let mut projects: Vec<(f64, (f64, f64), CatalogLocation)> = projects(client)
        .await?
        .into_iter()
        .filter_map(|location| {
            let position = location
                .station
                .latitude_deg
                .zip(location.station.longitude_deg)?;
            let away_m = search.distance_m(position);
            (away_m <= search.within_m).then_some((away_m, position, location))
        })
        .collect();
    projects.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found = Found {
        time_zone: None,
        ..Found::default()
    };
    for (away_m, position, location) in projects.into_iter().take(PROJECTS) {
        match series_of(client, &location).await {
            Ok(series) => {
                let own = series
                    .iter()
                    .filter_map(|series| candidate(series, &location, (position, away_m)));
                found.candidates.extend(own);
            }
            Err(error) => found.failed.push(error),
        }
    }
    Ok(found)
}

/// Projects whose public name or own name holds the words of `name` that tell it from others.
pub(super) async fn named(client: &Client, name: &str) -> Result<Vec<Place>, SourceError> {
    let wanted = telling_words(name);
    let place = |location: CatalogLocation| {
        let title = location
            .station
            .name
            .clone()
            .unwrap_or_else(|| location.station.id.clone());
        let words = telling_words(&title);
        let bears = !wanted.is_empty() && wanted.iter().all(|word| words.contains(word));
        let (latitude_deg, longitude_deg) = location
            .station
            .latitude_deg
            .zip(location.station.longitude_deg)?;
        bears.then_some(Place {
            service: NAME,
            station: location.office,
            name: title,
            latitude_deg,
            longitude_deg,
        })
    };
    Ok(projects(client).await?.into_iter().filter_map(place).collect())
}

/// All projects of all offices.
async fn projects(client: &Client) -> Result<Vec<CatalogLocation>, SourceError> {
    let query = [("location-kind-like", PROJECT), ("page-size", PAGE_SIZE)];
    let pages = pages(client, "/cwms-data/catalog/LOCATIONS", &query).await?;
    let locations = pages.into_iter().flat_map(|page| page.locations);
    // A service that does not know the parameter gives all kinds.
    Ok(locations
        .filter(|location| location.kind.as_deref().is_none_or(|kind| kind == PROJECT))
        .collect())
}

/// The series of a location and of its sub-locations.
async fn series_of(client: &Client, location: &CatalogLocation) -> Result<Vec<CatalogSeries>, SourceError> {
    let plain = |c: char| {
        if c.is_alphanumeric() || c == '_' {
            c.to_string()
        } else {
            format!("\\{c}")
        }
    };
    let like = format!(
        "^{}([.-].*)$",
        location.station.id.chars().map(plain).collect::<String>()
    );
    let query = [
        ("office", location.office.as_str()),
        ("like", &like),
        ("page-size", PAGE_SIZE),
    ];
    let pages = pages(client, "/cwms-data/catalog/TIMESERIES", &query).await?;
    Ok(pages.into_iter().flat_map(|page| page.series).collect())
}

async fn pages(client: &Client, path: &str, query: &[(&str, &str)]) -> Result<Vec<Catalogue>, SourceError> {
    let first: Vec<(String, String)> = query
        .iter()
        .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
        .collect();
    let mut query = first.clone();
    let mut pages: Vec<Catalogue> = Vec::new();
    loop {
        let request = Request {
            service: NAME,
            host: HOST,
            path,
            query: &query,
        };
        let read_error = |fault: ReadError| SourceError::Read {
            service: NAME,
            origin: request.url(),
            fault,
        };
        let reply = client.get_shared(request).await?;
        let page = read_catalogue(&reply.bytes).map_err(read_error)?;
        let next = page.next.clone();
        pages.push(page);
        let Some(mark) = next else { return Ok(pages) };
        if pages.len() >= PAGES {
            let fault = FetchError::Endless {
                what: "the chain of pages",
                count: pages.len(),
            };
            return Err(SourceError::Fetch {
                service: NAME,
                url: request.url(),
                fault,
            });
        }
        query = first.clone();
        query.push(("page".to_owned(), mark));
    }
}

/// A series as a candidate; nothing for values by the week or longer.
fn candidate(
    series: &CatalogSeries,
    location: &CatalogLocation,
    (position, away_m): ((f64, f64), f64),
) -> Option<Candidate> {
    let name = SeriesName::read(&series.name)?;
    let cadence = name.cadence()?;
    let reads = |q: &Quantity| conversion(*q, cadence, &series.unit, &series.name).is_ok();
    let quantities: Vec<Quantity> = name.quantities().iter().copied().filter(reads).collect();
    let day = |time: DateTime<Utc>| time.date_naive();
    Some(Candidate {
        service: NAME,
        station: series.office.clone(),
        name: location
            .station
            .name
            .clone()
            .unwrap_or_else(|| location.station.id.clone()),
        position: Some(position),
        distance_m: Some(away_m),
        site: Site::Reservoir,
        what: format!("{} {} by {}", name.kind, name.parameter, name.interval),
        datum: quantities
            .contains(&Quantity::PoolElevation)
            .then(|| location.station.vertical_datum.as_deref().map(datum_word))
            .flatten(),
        quantities,
        unit: series.unit.clone(),
        cadence,
        statistic: None,
        series: None,
        since: series.extent.map(|(first, _)| day(first)),
        until: series.extent.map(|(_, last)| day(last)),
        primary: cadence == Cadence::Continuous,
        sublocation: (name.location != location.station.id).then(|| name.location.to_owned()),
        parameter: series.name.clone(),
    })
}
