//! Asking the catalogues: one that fails is told, and the others stand.

use super::error::DraftError;
use crate::cli::output;
use crate::error::Error;
use crate::faces::words;
use crate::lake::distance_m;
use crate::sources::{Client, FINDERS, Finder, Found, Place, Search, SourceError, service};

/// Places of one name that lie this near each other are one lake, metres (project choice).
const ONE_LAKE_M: f64 = 5_000.0;

/// What all catalogues have near a position, in the order of the catalogues.
pub async fn near(client: &Client, search: &Search) -> Found {
    let mut all = Found::default();
    for finder in FINDERS.iter().filter(|finder| is_asked(client, finder)) {
        match (finder.near)(client, search).await {
            Ok(found) => {
                tell_left_out(finder, &found);
                found.failed.iter().for_each(|error| tell(finder, error));
                all.candidates.extend(found.candidates);
                all.time_zone = all.time_zone.or(found.time_zone);
            }
            Err(error) => tell(finder, &error),
        }
    }
    all
}

/// The one place that bears a name.
///
/// # Errors
/// [`DraftError::NoPlace`], [`DraftError::SeveralPlaces`].
pub async fn place_named(client: &Client, name: &str) -> Result<Place, Error> {
    let mut places: Vec<Place> = Vec::new();
    let mut failed = Vec::new();
    for finder in FINDERS.iter().filter(|finder| is_asked(client, finder)) {
        let Some(named) = finder.named else { continue };
        match named(client, name).await {
            Ok(found) => places.extend(found),
            Err(error) => {
                tell(finder, &error);
                failed.push(finder.service);
            }
        }
    }
    let mut lakes: Vec<Place> = Vec::new();
    for place in places {
        let position = (place.latitude_deg, place.longitude_deg);
        let known =
            |lake: &Place| distance_m((lake.latitude_deg, lake.longitude_deg), position) <= ONE_LAKE_M;
        if !lakes.iter().any(known) {
            lakes.push(place);
        }
    }
    match lakes.len() {
        0 => Err(DraftError::NoPlace {
            name: name.to_owned(),
            failed: if failed.is_empty() {
                String::new()
            } else {
                format!(" ({} did not answer)", failed.join(", "))
            },
        }
        .into()),
        1 => Ok(lakes.remove(0)),
        _ => Err(DraftError::SeveralPlaces {
            name: name.to_owned(),
            places: lakes,
        }
        .into()),
    }
}

/// Whether a catalogue is asked: one that refuses nameless requests is not, unless nothing goes out at all.
fn is_asked(client: &Client, finder: &Finder) -> bool {
    let needs_contact = service(finder.service).is_ok_and(|s| s.needs_contact);
    let asked = !needs_contact || client.is_replay() || client.settings().contact.is_some();
    if !asked {
        output::remark(&format!(
            "not asked: {}: it refuses requests without a contact; give your mail address with --contact",
            words::service(finder.service)
        ));
    }
    asked
}

fn tell(finder: &Finder, error: &SourceError) {
    output::remark(&format!(
        "not answered: {}: {error}",
        words::service(finder.service)
    ));
}

fn tell_left_out(finder: &Finder, found: &Found) {
    if let Some(first) = found.faults.first() {
        output::remark(&format!(
            "left out: {}: entries of its catalogue: {}; the first: {first}",
            words::service(finder.service),
            found.faults.len()
        ));
    }
}
