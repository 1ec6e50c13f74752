//! The notices of a session's lake: judged by the brief, remembered in the store.

use chrono::{Duration, NaiveDate};

use super::session::Session;
use super::{forecasts, output};
use crate::error::Error;
use crate::lake::ZoneId;
use crate::notices::{Clock, Ledger, NoticeError, NoticeReport, Track, not_remembered};
use crate::reports::{Brief, FiredNotice, notice_readings};

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
        track: track(session),
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

/// The notices that were told in the seven days up to the clock, by the names that the lake file gives them. That the ledger cannot be
/// read is said.
pub fn fired_in_week(session: &Session) -> Vec<FiredNotice> {
    if session.lake.notices.is_empty() {
        return Vec::new();
    }
    let told = Ledger::open(session.store.folder())
        .and_then(|ledger| ledger.fired(track(session), session.as_of - Duration::days(7), session.as_of))
        .map_err(|error: NoticeError| Error::from(error));
    let told = told.unwrap_or_else(|error| {
        output::complain(&error);
        Vec::new()
    });
    told.into_iter()
        .map(|(fired_at, id)| {
            let notice = session.lake.notices.iter().find(|notice| notice.id == id);
            let name = notice.and_then(|notice| notice.note.clone()).unwrap_or(id);
            FiredNotice { name, fired_at }
        })
        .collect()
}

fn track(session: &Session) -> Track {
    if session.is_replay() {
        Track::Replay
    } else {
        Track::Live
    }
}
