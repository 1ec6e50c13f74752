//! The calls of a session's lake: kept with each brief, read for fits and scores.

use super::output;
use super::session::Session;
use crate::analysis::MorningWater;
use crate::archive::Issued;
use crate::archive::analysed::InputHash;
use crate::conditions::trip_window;
use crate::error::Error;
use crate::lake::SpeciesId;
use crate::reports::{Brief, Making, issued_call};
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

/// When and how a brief of the session is made.
pub fn making<'a>(session: &Session, (inputs, lake_file): (&'a InputHash, &'a InputHash)) -> Making<'a> {
    Making {
        made_at: session.started_at,
        replayed: matches!(session.mode, Some(Mode::Replay { .. })),
        day: trip_window(&session.lake, session.as_of).day,
        inputs,
        lake_file,
    }
}

/// Keeps the call of a brief. That it cannot be kept is said, and costs the brief nothing.
pub fn keep(session: &Session, brief: &Brief, offered: Features, making: &Making<'_>) {
    let call = issued_call(brief, offered, making);
    let kept = serde_json::to_string(&call)
        .map_err(|source| Error::Json { source })
        .and_then(|json| Ok(archive(session).keep(session.as_of, &json)?));
    if let Err(error) = kept {
        output::complain(&error);
    }
}

/// Every call up to the clock of the session, in the order of their clocks, and how many files cannot be read or are of another
/// version of the form: each is named, with what to do.
///
/// # Errors
/// The folder cannot be read.
pub fn so_far(session: &Session) -> Result<(Vec<IssuedCall>, usize), Error> {
    let mut calls = Vec::new();
    let mut unreadable = 0;
    for (path, json) in archive(session).all()? {
        let call = match json {
            Ok(json) => serde_json::from_str::<IssuedCall>(&json).map_err(|error| error.to_string()),
            Err(error) => Err(error.to_string()),
        };
        match call {
            Ok(call) if call.form == CALL_FORM && call.lake == session.lake.id => calls.push(call),
            Ok(call) => {
                unreadable += 1;
                output::remark(&format!(
                    "{}: found form {:?} of lake {:?}, wanted {CALL_FORM:?} of {:?}; it is passed over, move it away",
                    path.display(),
                    call.form,
                    call.lake,
                    session.lake.id
                ));
            }
            Err(why) => {
                unreadable += 1;
                output::remark(&format!(
                    "{}: not a call that can be read ({why}); it is passed over, move it away",
                    path.display()
                ));
            }
        }
    }
    calls.retain(|call| call.as_of <= session.as_of);
    Ok((calls, unreadable))
}
