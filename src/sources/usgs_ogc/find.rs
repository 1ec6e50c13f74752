//! The catalogue searched: time series in a box, the locations they belong to, and reservoirs by name.

use std::collections::{BTreeMap, BTreeSet};

use super::catalog::{CatalogPage, Location, TimeSeries, read_locations, read_time_series};
use super::table::{PARAMETERS, parameter};
use crate::lake::Cadence;
use crate::sources::client::{Answer, Client, Request};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::find::{Candidate, Found, Place, Search, Site, telling_words};
use crate::sources::job::RowFault;
use crate::sources::unit::conversion;

/// Most rows of a page (service documentation: at most 50 000; these replies are wide).
const LIMIT: &str = "10000";
/// Most pages of a search: a box of 100 km has some thousand time series.
const PAGES: usize = 20;
/// Kinds of site asked for: lakes and reservoirs, streams. Each in a request of its own, since the service
/// takes one value of it a request (from memory, unverified).
const SITE_TYPES: [&str; 2] = ["LK", "ST"];
/// All time series in the box that the program has a use for, with the names of their stations.
pub(super) async fn near(client: &Client, search: &Search) -> Result<Found, SourceError> {
    let codes: Vec<&str> = PARAMETERS.iter().map(|p| p.code).collect();
    let path = "/ogcapi/v0/collections/time-series-metadata/items";
    let bbox = search.bounding_box();
    let query = query(&[
        ("bbox", &bbox),
        ("parameter_code", &codes.join(",")),
        ("limit", LIMIT),
    ]);
    let (series, mut faults) = pages(client, path, query, read_time_series).await?;
    let mut locations = BTreeMap::new();
    let mut failed = Vec::new();
    for site_type in SITE_TYPES.iter().filter(|_| !series.is_empty()) {
        // Without its location a series still stands, under its number.
        match locations_of(
            client,
            &[("bbox", &bbox), ("site_type_code", site_type), ("limit", LIMIT)],
        )
        .await
        {
            Ok((found, more)) => {
                faults.extend(more);
                locations.extend(found.into_iter().map(|location| (location.id.clone(), location)));
            }
            Err(error) => failed.push(error),
        }
    }
    let candidates = series
        .into_iter()
        .map(|series| candidate(series, &locations, search))
        .filter(|c| c.distance_m.is_none_or(|away_m| away_m <= search.within_m))
        .collect();
    Ok(Found {
        candidates,
        time_zone: None,
        faults,
        failed,
    })
}

/// Lakes and reservoirs whose name holds the words of `name` that tell it from others.
pub(super) async fn named(client: &Client, name: &str) -> Result<Vec<Place>, SourceError> {
    let filter = format!("monitoring_location_name LIKE '%{}%'", telling(name));
    let (locations, _) = locations_of(
        client,
        &[
            ("site_type_code", "LK"),
            ("filter-lang", "cql-text"),
            ("filter", &filter),
            ("limit", LIMIT),
        ],
    )
    .await?;
    let place = |location: Location| {
        let (latitude_deg, longitude_deg) = location.position?;
        Some(Place {
            service: super::NAME,
            station: location.id,
            name: location.name,
            latitude_deg,
            longitude_deg,
        })
    };
    Ok(locations.into_iter().filter_map(place).collect())
}

/// The words of a name as the service writes them, common words left out unless there are no others. What a
/// pattern or a text of the query language would read otherwise is a blank.
fn telling(name: &str) -> String {
    telling_words(name).join(" ")
}

async fn locations_of(
    client: &Client,
    further: &[(&str, &str)],
) -> Result<(Vec<Location>, Vec<RowFault>), SourceError> {
    let path = "/ogcapi/v0/collections/monitoring-locations/items";
    pages(client, path, query(further), read_locations).await
}

fn query(further: &[(&str, &str)]) -> Vec<(String, String)> {
    [("f", "json")]
        .iter()
        .chain(further)
        .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
        .collect()
}

/// All pages of a search.
async fn pages<T>(
    client: &Client,
    path: &str,
    mut query: Vec<(String, String)>,
    read: fn(&[u8]) -> Result<CatalogPage<T>, ReadError>,
) -> Result<(Vec<T>, Vec<RowFault>), SourceError> {
    let mut path = path.to_owned();
    let mut seen = BTreeSet::new();
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    loop {
        let request = Request {
            service: super::NAME,
            host: super::HOST,
            path: &path,
            query: &query,
        };
        let count = seen.len();
        if !seen.insert(request.url()) || count >= PAGES {
            return Err(SourceError::Fetch {
                service: super::NAME,
                url: request.url(),
                fault: FetchError::Endless {
                    what: "the chain of pages",
                    count,
                },
            });
        }
        let Answer::Reply(reply) = client.get(request, false).await? else {
            return Err(request.read_error(ReadError::Empty {
                wanted: "a reply, since no validator was sent",
            }));
        };
        let page = read(&reply.bytes).map_err(|fault| request.read_error(fault))?;
        let is_empty = page.rows.is_empty() && page.faults.is_empty();
        rows.extend(page.rows);
        faults.extend(page.faults);
        match page.next {
            Some(link) if !is_empty => (path, query) = client.follow(request, &reply, &link)?,
            _ => return Ok((rows, faults)),
        }
    }
}

fn candidate(series: TimeSeries, locations: &BTreeMap<String, Location>, search: &Search) -> Candidate {
    let location = locations.get(&series.station);
    let position = series.position.or(location.and_then(|l| l.position));
    let known = parameter(&series.parameter);
    let reads = |q: &crate::quantity::Quantity| {
        conversion(*q, series.cadence, &series.unit, &series.parameter).is_ok()
    };
    let quantities = known.map_or(&[][..], |p| p.quantities);
    Candidate {
        service: super::NAME,
        name: location.map_or_else(|| series.station.clone(), |l| l.name.clone()),
        position,
        distance_m: position.map(|position| search.distance_m(position)),
        site: match location.and_then(|l| l.site_type.as_deref()) {
            Some("LK") => Site::Reservoir,
            Some(text) if text.starts_with("ST") => Site::River,
            _ => Site::Other,
        },
        what: if series.description.is_empty() {
            known.map_or(String::new(), |p| p.what.to_owned())
        } else {
            series.description
        },
        quantities: quantities.iter().copied().filter(reads).collect(),
        unit: series.unit.clone(),
        cadence: series.cadence,
        statistic: series.statistic.filter(|_| series.cadence == Cadence::Daily),
        series: Some(series.id),
        since: series.since,
        until: series.until,
        primary: series.primary,
        sublocation: series.sublocation,
        datum: known.and_then(|p| p.datum).map(str::to_owned),
        parameter: series.parameter.clone(),
        station: series.station,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_asked_for_by_the_words_that_tell_it_from_others() {
        assert_eq!(telling("Harrow Gap Reservoir"), "HARROW GAP");
        assert_eq!(telling("The Lake"), "THE LAKE");
        // What would end the text of the query, or match anything in it, goes.
        assert_eq!(telling("O'Dell's 100% Lake"), "O DELL S 100");
    }
}
