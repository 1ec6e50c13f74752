//! `plungeline brief`: the chain from the store to the page.

use chrono::{DateTime, Utc};

use super::args::{BriefArgs, Format};
use super::morning::{beliefs, fetched_set, trips_so_far};
use super::session::Session;
use super::water::{SessionWater, water_of_morning, worth_telling};
use super::{calls, forecasts, notices, output, session};
use crate::archive::Issued;
use crate::error::{Error, Status};
use crate::faces::{
    Detail, Reader, render_hours_svg, render_html, render_json, render_markdown, render_text,
};
use crate::reports::{Brief, make_brief_by, species_of};
use crate::series::SeriesSet;
use crate::species::Species;
use crate::trips::{StoredTrip, TripError};

/// Folder of the issued briefs inside a lake's store.
pub const ISSUED: &str = "issued-briefs";

/// The command.
///
/// # Errors
/// No lake, a faulty lake file, a store that cannot be read at all. Services that fail are gaps.
pub fn run(args: &BriefArgs) -> Result<Status, Error> {
    let session = session::open(&args.session, args.lake.as_deref())?;
    let (brief, archive) = of_session(&session)?;
    let json = render_json(&brief).map_err(|source| Error::Json { source })?;
    let reader = Reader::new(args.units.into(), session.clock.zone());
    let detail = if args.why { Detail::Whole } else { Detail::Short };
    output::print(&match args.format {
        Format::Json => json.clone(),
        Format::Text => render_text(&brief, &reader, output::ink(), detail),
        Format::Html => render_html(&brief, &reader),
        Format::Markdown => render_markdown(&brief, &reader, detail),
        Format::Svg => render_hours_svg(&brief, &reader),
    })?;
    if let Err(error) = archive.keep(session.as_of, &json) {
        // The brief is made; that it cannot be kept costs only tomorrow's comparison.
        output::complain(&error.into());
    }
    Ok(if brief.trust.enough {
        Status::Good
    } else {
        Status::TooThin
    })
}

/// The brief of a session, and the archive in which it is to be kept.
///
/// # Errors
/// As [`run`].
pub(super) fn of_session(session: &Session) -> Result<(Brief, Issued), Error> {
    session.lake.check_for_brief()?;
    let set = fetched_set(session)?;
    let species = species_of(&session.lake)?;
    let archive = Issued::new(session.store.folder().join(ISSUED));
    let brief = make(session, &set, &species, &archive)?;
    Ok((brief, archive))
}

/// The brief of the session, its call and its forecast kept.
fn make(session: &Session, set: &SeriesSet, species: &[Species], archive: &Issued) -> Result<Brief, Error> {
    let previous = previous(archive, session.as_of);
    let trips: Result<Vec<StoredTrip>, TripError> = trips_so_far(session);
    let SessionWater {
        morning,
        inputs,
        lake_file,
    } = water_of_morning(session, set, &trips)?;
    worth_telling(&morning.told).for_each(|said| output::remark(&said));
    let beliefs = beliefs(session, &trips, species);
    let offered = calls::offered(session, species, &morning);
    let making = calls::making(session, (&inputs, &lake_file));
    forecasts::keep(session, &morning, &making);
    let of_morning = (morning.conditions, &morning.water);
    let mut brief = make_brief_by(
        &session.lake,
        set,
        of_morning,
        (species, &beliefs),
        previous.as_ref(),
    );
    brief.notices = notices::settled(session, &brief);
    forecasts::show(
        session,
        set,
        &morning.water.days_ahead,
        &mut brief.water.surface_outlook,
    );
    calls::keep(session, &brief, offered, &making);
    Ok(brief)
}

/// The brief before this one. One that cannot be read, or that an earlier version wrote, is passed over.
fn previous(archive: &Issued, as_of: DateTime<Utc>) -> Option<Brief> {
    let json = match archive.newest_before(as_of) {
        Ok(json) => json?,
        Err(error) => {
            output::complain(&error.into());
            return None;
        }
    };
    match serde_json::from_str(&json) {
        Ok(brief) => Some(brief),
        Err(error) => {
            tracing::warn!(%error, "the brief before cannot be read; nothing is compared");
            None
        }
    }
}
