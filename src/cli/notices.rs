//! The notices of a session's lake: judged by the brief, remembered in the store.

use super::output;
use super::session::Session;
use crate::error::Error;
use crate::notices::{Clock, Ledger, NoticeError, NoticeReport, Track, not_remembered};
use crate::reports::{Brief, notice_readings};
use crate::sources::Mode;

/// The notices of the lake file as they stand by `brief`. That the ledger cannot be used is said; then none is told as new.
pub fn settled(session: &Session, brief: &Brief) -> Vec<NoticeReport> {
    // No outlook of the turnover is made with a brief.
    let readings = notice_readings(&session.lake, brief, &|_, _| None);
    if readings.is_empty() {
        return Vec::new();
    }
    let is_replay = session.demo || matches!(session.mode, Some(Mode::Replay { .. }));
    let clock = Clock {
        as_of: session.as_of,
        made_at: session.started_at,
        track: if is_replay { Track::Replay } else { Track::Live },
        keep: is_replay || session.as_of == session.started_at,
    };
    let settled = Ledger::open(session.store.folder())
        .and_then(|mut ledger| ledger.settle(&readings, clock))
        .map_err(|error: NoticeError| Error::from(error));
    match settled {
        Ok(reports) => reports,
        Err(error) => {
            output::complain(&error);
            not_remembered(&readings)
        }
    }
}
