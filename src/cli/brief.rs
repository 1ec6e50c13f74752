//! `plungeline brief`: the chain from the store to the page.

use std::time::Duration;

use chrono::{DateTime, Utc};

use super::args::{BriefArgs, Format};
use super::progress::Tell;
use super::water::{water_of_morning, worth_telling};
use super::{failures, output, pull, session};
use crate::archive::IssuedBriefs;
use crate::error::{Error, Status};
use crate::faces::{Reader, render_html, render_json, render_markdown, render_text};
use crate::quality::flag_set;
use crate::reports::{Brief, make_brief};
use crate::series::StoreError;

/// Folder of the issued briefs inside a lake's store.
const ISSUED: &str = "issued-briefs";

/// How long a brief waits for a pull under way, which brings what it would fetch itself (project choice).
const WAIT_FOR_PULL: Duration = Duration::from_secs(10);

/// The command.
///
/// # Errors
/// No lake, a faulty lake file, a store that cannot be read at all. Services that fail are gaps.
pub fn run(args: &BriefArgs) -> Result<Status, Error> {
    let session = session::open(&args.session, args.lake.as_deref())?;
    session.lake.check_for_brief()?;
    let options = pull::Options {
        always: false,
        since: None,
        history_years: None,
        tell: Tell::Hosts,
        advance_water: false,
        wait: WAIT_FOR_PULL,
    };
    let gaps = match pull::pull(&session, options) {
        Ok(summary) => failures::gaps(&summary.failed),
        Err(Error::Store(error @ StoreError::PullRunning { .. })) => {
            output::remark(&format!(
                "nothing fetched, the brief is made from what the store holds: {error}"
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

    let archive = IssuedBriefs::new(session.store.folder().join(ISSUED));
    let previous = previous(&archive, session.as_of);
    let morning = water_of_morning(&session, &set)?;
    worth_telling(&morning.told).for_each(|said| output::remark(&said));
    let of_morning = (morning.conditions, &morning.water);
    let brief = make_brief(&session.lake, &set, of_morning, previous.as_ref())?;
    let json = render_json(&brief).map_err(|source| Error::Json { source })?;
    let reader = Reader {
        units: args.units.into(),
        zone: session.clock.zone(),
    };
    output::print(&match args.format {
        Format::Json => json.clone(),
        Format::Text => render_text(&brief, &reader, output::ink()),
        Format::Html => render_html(&brief, &reader),
        Format::Markdown => render_markdown(&brief, &reader),
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

/// The brief before this one. One that cannot be read, or that an earlier version wrote, is passed over.
fn previous(archive: &IssuedBriefs, as_of: DateTime<Utc>) -> Option<Brief> {
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
