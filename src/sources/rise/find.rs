//! The list of locations searched: reservoirs near a position or of a name, and the items they have.
//!
//! The service has no search by position that is documented; its list of locations comes a hundred a page, some seconds
//! each, and is gone through whole, once a run.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use super::get::{get_location, on_host};
use super::item::{Item, RiseLocation, read_locations};
use super::result::step_cadence;
use super::table::quantity_of;
use super::{HOST, NAME};
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::sources::client::{Client, Request};
use crate::sources::error::{FetchError, SourceError};
use crate::sources::find::{Candidate, Found, Place, Search, Site, datum_word, telling_words};
use crate::sources::job::RowFault;
use crate::sources::stamp::read_day;
use crate::sources::unit::conversion;

/// Most pages of the list: it has some thousand locations.
const PAGES: usize = 60;
/// Reservoirs whose items are asked for, the nearest first: each is a slow request (project choice).
const RESERVOIRS: usize = 2;
/// Kind of location that is a lake.
const RESERVOIR: &str = "Lake/Reservoir";

/// The items of the reservoirs nearest to a position. Where those of one do not come, the rest stands.
pub(super) async fn near(client: &Client, search: &Search) -> Result<Found, SourceError> {
    let (locations, faults) = locations(client).await?;
    let mut reservoirs: Vec<(f64, String)> = locations
        .into_iter()
        .filter_map(|location| {
            let position = location
                .station
                .latitude_deg
                .zip(location.station.longitude_deg)?;
            let away_m = search.distance_m(position);
            (away_m <= search.within_m).then_some((away_m, location.station.id))
        })
        .collect();
    reservoirs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found = Found {
        faults,
        ..Found::default()
    };
    for (away_m, id) in reservoirs.into_iter().take(RESERVOIRS) {
        match get_location(client, &id).await {
            Ok((location, faults)) => {
                found.faults.extend(faults);
                found.candidates.extend(
                    location
                        .items
                        .iter()
                        .filter_map(|item| candidate(item, &location, away_m)),
                );
            }
            Err(error) => found.failed.push(error),
        }
    }
    Ok(found)
}

/// Reservoirs whose name holds the words of `name` that tell it from others.
pub(super) async fn named(client: &Client, name: &str) -> Result<Vec<Place>, SourceError> {
    let wanted = telling_words(name);
    let place = |location: RiseLocation| {
        let title = location.station.name?;
        let words = telling_words(&title);
        let bears = !wanted.is_empty() && wanted.iter().all(|word| words.contains(word));
        let (latitude_deg, longitude_deg) = location
            .station
            .latitude_deg
            .zip(location.station.longitude_deg)?;
        bears.then_some(Place {
            service: NAME,
            station: location.station.id,
            name: title,
            latitude_deg,
            longitude_deg,
        })
    };
    Ok(locations(client).await?.0.into_iter().filter_map(place).collect())
}

/// All reservoirs.
async fn locations(client: &Client) -> Result<(Vec<RiseLocation>, Vec<RowFault>), SourceError> {
    let mut path = "/rise/api/location".to_owned();
    let mut query = vec![("itemsPerPage".to_owned(), "100".to_owned())];
    let mut seen = BTreeSet::new();
    let (mut all, mut faults) = (Vec::new(), Vec::new());
    loop {
        let request = Request {
            service: NAME,
            host: HOST,
            path: &path,
            query: &query,
        };
        if !seen.insert(request.url()) || seen.len() > PAGES {
            let fault = FetchError::Endless {
                what: "the chain of pages",
                count: seen.len(),
            };
            return Err(SourceError::Fetch {
                service: NAME,
                url: request.url(),
                fault,
            });
        }
        let reply = client.get_shared(request).await?;
        let page = read_locations(&reply.bytes).map_err(|fault| request.read_error(fault))?;
        let lakes = page
            .locations
            .into_iter()
            .filter(|location| location.kind.as_deref() == Some(RESERVOIR));
        all.extend(lakes);
        faults.extend(page.faults);
        match page.next {
            Some(link) => (path, query) = client.follow(request, &reply, &on_host(&link))?,
            None => return Ok((all, faults)),
        }
    }
}

/// An item as a candidate; nothing for one whose step is neither a day nor within it.
fn candidate(item: &Item, location: &RiseLocation, away_m: f64) -> Option<Candidate> {
    let cadence = step_cadence(item.time_step.as_deref()?)?;
    let unit = item.unit.clone().unwrap_or_default();
    let reads = |q: &Quantity| conversion(*q, cadence, &unit, &item.name).is_ok();
    let quantities: Vec<Quantity> = quantity_of(&item.name).into_iter().filter(reads).collect();
    let day =
        |text: &Option<String>| -> Option<NaiveDate> { read_day(text.as_deref()?.get(..10)?, &["%Y-%m-%d"]) };
    Some(Candidate {
        service: NAME,
        station: location.station.id.clone(),
        name: location.station.name.clone().unwrap_or_default(),
        position: location.station.latitude_deg.zip(location.station.longitude_deg),
        distance_m: Some(away_m),
        site: Site::Reservoir,
        what: item.name.clone(),
        datum: quantities
            .contains(&Quantity::PoolElevation)
            .then(|| location.station.vertical_datum.as_deref().map(datum_word))
            .flatten(),
        quantities,
        unit,
        cadence,
        statistic: None,
        series: None,
        since: day(&item.extent.0),
        until: day(&item.extent.1),
        primary: cadence == Cadence::Daily,
        sublocation: None,
        parameter: item.id.clone(),
    })
}
