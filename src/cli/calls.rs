//! The calls of a session's lake: kept with each brief, read for fits and scores.

use std::path::PathBuf;

use super::output;
use super::session::Session;
use crate::analysis::MorningWater;
use crate::archive::Issued;
use crate::archive::analysed::InputHash;
use crate::conditions::trip_window;
use crate::error::Error;
use crate::lake::SpeciesId;
use crate::reports::{Brief, issued_call};
use crate::sources::Mode;
use crate::species::Species;
use crate::whereabouts::learn::{Features, features_of};
use crate::whereabouts::{CALL_FORM, IssuedCall};

/// Folder of the calls inside a lake's store.
const CALLS: &str = "calls";

fn archive(session: &Session) -> Issued {
    Issued::new(session.store.folder().join(CALLS))
}

/// What each of `species` is offered on the session's morning.
pub fn offered(session: &Session, species: &[Species], morning: &MorningWater) -> Features {
    let day = session.clock.civil_day(session.as_of);
    let of = |one: &Species| {
        let features = features_of(&session.lake, one, &morning.conditions, &morning.water, day);
        (SpeciesId::new(one.id.clone()), features)
    };
    species.iter().map(of).collect()
}

/// Keeps the call of a brief. That it cannot be kept is said, and costs the brief nothing.
pub fn keep(session: &Session, brief: &Brief, offered: Features, hashes: (&InputHash, &InputHash)) {
    // A replayed morning is played as it was: its clock is the time at which it was made.
    let made_at = match session.mode {
        Some(Mode::Replay { .. }) => session.as_of,
        _ => session.started_at,
    };
    let day = trip_window(&session.lake, session.as_of).day;
    let call = issued_call(brief, offered, (made_at, day), hashes);
    let kept = serde_json::to_string(&call)
        .map_err(|source| Error::Json { source })
        .and_then(|json| Ok(archive(session).keep(session.as_of, &json)?));
    if let Err(error) = kept {
        output::complain(&error);
    }
}

/// Every call up to the clock of the session, in the order of their clocks, and the files of those that cannot be read or are of
/// another version of the form.
///
/// # Errors
/// The folder cannot be read.
pub fn so_far(session: &Session) -> Result<(Vec<IssuedCall>, Vec<PathBuf>), Error> {
    let (mut calls, mut unreadable) = (Vec::new(), Vec::new());
    for (path, json) in archive(session).all()? {
        let call = json
            .ok()
            .and_then(|json| serde_json::from_str::<IssuedCall>(&json).ok())
            .filter(|call| call.form == CALL_FORM && call.lake == session.lake.id);
        match call {
            Some(call) => calls.push(call),
            None => unreadable.push(path),
        }
    }
    calls.retain(|call| call.as_of <= session.as_of);
    Ok((calls, unreadable))
}
