//! The log of the demonstration: invented trips of an invented angler, for a demonstration whose own log is empty.

use crate::error::Error;
use crate::trips::forms::read_trips_csv;
use crate::trips::{Known, StoredTrip, check_trip, faulty};

/// Its trips, as `plungeline log export` writes them (`fixtures/trips/README.md`).
const LOG: &str = include_str!("../../../fixtures/trips/season.csv");
/// What it is called in messages.
const NAME: &str = "the invented log of the demonstration";

/// The invented trips up to the clock of `known`, numbered from 1.
///
/// # Errors
/// A fault in the log that the program carries, which its tests would have found.
pub fn invented_trips(known: &Known<'_>) -> Result<Vec<StoredTrip>, Error> {
    let placed = read_trips_csv(LOG.as_bytes()).map_err(|faults| faulty(NAME, faults))?;
    let today = known.clock().civil_day(known.as_of);
    let past = placed.into_iter().filter(|placed| placed.trip.date < today);
    let trips: Vec<StoredTrip> = (1..).zip(past.map(|placed| placed.trip)).collect();
    let faults: Vec<_> = trips
        .iter()
        .flat_map(|(number, trip)| check_trip(trip, known, &format!("trip {number}")))
        .collect();
    match faults.is_empty() {
        true => Ok(trips),
        false => Err(faulty(NAME, faults).into()),
    }
}
