//! What a brief and a fit begin with: what is new fetched, the series loaded and flagged, the log and the newest fit.

use std::time::Duration;

use super::progress::Tell;
use super::session::Session;
use super::{failures, output, pull};
use crate::archive::Issued;
use crate::archive::analysed::{hash_of, in_hexadecimal};
use crate::error::Error;
use crate::quality::flag_set;
use crate::series::{SeriesSet, StoreError};
use crate::species::Species;
use crate::trips::{StoredTrip, TripError, TripLog};
use crate::whereabouts::RulesWhy;
use crate::whereabouts::learn::{Beliefs, KeptFit};

/// Folder of the kept fits inside a lake's store.
const FITS: &str = "fits";
/// How long a brief waits for a pull under way, which brings what it would fetch itself (project choice).
const WAIT_FOR_PULL: Duration = Duration::from_secs(10);

/// The flagged series of the session's clock, after what is new has been fetched. A service that fails is a gap among them.
///
/// # Errors
/// The network cannot be used at all.
pub fn fetched_set(session: &Session) -> Result<SeriesSet, Error> {
    let options = pull::Options {
        always: false,
        since: None,
        history_years: None,
        tell: Tell::Hosts,
        advance_water: false,
        wait: WAIT_FOR_PULL,
    };
    let gaps = match pull::pull(session, options) {
        Ok(summary) => failures::gaps(&summary.failed),
        Err(Error::Store(error @ StoreError::PullRunning { .. })) => {
            output::remark(&format!(
                "nothing fetched, the answer is made from what the store holds: {error}"
            ));
            Vec::new()
        }
        // A store that cannot be written still holds what it held: an older answer beats none.
        Err(error @ Error::Store(_)) => {
            output::complain(&error);
            Vec::new()
        }
        Err(error) => return Err(error),
    };
    let mut set = session.store.load(&session.lake, session.as_of);
    set.gaps.extend(gaps);
    flag_set(&mut set, &session.lake, &session.thresholds);
    Ok(set)
}

/// The trips of the log up to the clock of the session; none where there is no log.
///
/// # Errors
/// A log that cannot be read.
pub fn trips_so_far(session: &Session) -> Result<Vec<StoredTrip>, TripError> {
    let log = TripLog::open_if_there(session.store.folder())?;
    let mut trips = log.map_or(Ok(Vec::new()), |log| log.trips())?;
    let today = session.clock.civil_day(session.as_of);
    trips.retain(|(_, trip)| {
        let begun = trip.legs.iter().filter_map(|leg| leg.start).min();
        trip.date <= today && begun.is_none_or(|begun| begun <= session.as_of)
    });
    Ok(trips)
}

/// The fits of the session's lake, as they were kept.
pub fn fits(session: &Session) -> Issued {
    Issued::new(session.store.folder().join(FITS))
}

/// What the brief goes by: the newest fit, where it still stands for the log, else the rules. That a log or a fit cannot be read costs what
/// was learned and no brief: it is said, and stands in the answer.
pub fn beliefs(
    session: &Session,
    trips: &Result<Vec<StoredTrip>, TripError>,
    species: &[Species],
) -> Beliefs {
    let unreadable = || Beliefs::rules(Some(RulesWhy::Unreadable));
    // The reading of the water has said why the log cannot be read.
    let Ok(trips) = trips else { return unreadable() };
    if trips.is_empty() {
        return Beliefs::rules(None);
    }
    let kept = match fits(session).newest_until(session.as_of) {
        Ok(json) => json
            .map(|json| {
                let sha256 = in_hexadecimal(&hash_of(json.as_bytes()));
                serde_json::from_str::<KeptFit>(&json).map(|kept| (kept, sha256))
            })
            .transpose(),
        Err(error) => {
            output::complain(&error.into());
            return unreadable();
        }
    };
    match kept {
        Ok(kept) => {
            let kept = kept.as_ref().map(|(kept, sha256)| (kept, sha256.as_str()));
            Beliefs::of(kept, trips, species)
        }
        Err(error) => {
            output::remark(&format!(
                "the newest fit of the log cannot be read ({error}); `plungeline fit` makes it anew"
            ));
            unreadable()
        }
    }
}
