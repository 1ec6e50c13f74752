//! The notices of a session's lake: judged by the brief, remembered in the store.

use chrono::NaiveDate;

use super::session::Session;
use super::{forecasts, output};
use crate::error::Error;
use crate::lake::ZoneId;
use crate::notices::{Clock, Ledger, NoticeError, NoticeReport, Track, not_remembered};
use crate::reports::{Brief, notice_readings};

/// The notices of the lake file as they stand by `brief`. That the ledger cannot be used is said; then none is told as new.
pub fn settled(session: &Session, brief: &Brief) -> Vec<NoticeReport> {
    if session.lake.notices.is_empty() {
        return Vec::new();
    }
    // No outlook of the turnover is made with a brief: that of `plungeline turnover` of the day counts.
    let outlook = forecasts::newest_outlook(session);
    let by = |zone: &ZoneId, day: NaiveDate| outlook.as_ref()?.turned_over_prob(zone, day);
    let readings = notice_readings(&session.lake, brief, &by);
    let is_replay = session.is_replay();
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
