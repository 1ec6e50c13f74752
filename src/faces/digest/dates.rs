//! The calendar of the digest: the calm hours of the week, and the turnover where it is foreseen.

use chrono::{DateTime, Datelike as _, Utc};

use super::days::best_lines;
use super::week::turnover_said;
use crate::faces::calendar::{Event, When, calendar};
use crate::faces::reader::Reader;
use crate::faces::words;
use crate::reports::Digest;

/// The calendar of `digest`, its events known as of `domain`; `None` where it has none.
pub fn digest_calendar(
    digest: &Digest,
    reader: &Reader,
    domain: &str,
    stamp: DateTime<Utc>,
) -> Option<String> {
    let lake = &digest.brief.lake;
    let lines = best_lines(digest, reader);
    let mut events: Vec<Event> = digest
        .best_hours
        .iter()
        .zip(lines)
        .map(|(best, said)| Event {
            uid: format!("{}-calm-{}@{domain}", lake.id, reader.local_day(best.from).format("%Y%m%d")),
            sequence: sequence(digest),
            when: When::Hours {
                from: best.from,
                to: best.to,
            },
            summary: format!("{}: calm hours", lake.name),
            description: format!(
                "{said}.\nBy the forecasts of {}; cautions, local rules and the forecast of the day come first.",
                reader.stamp(digest.brief.as_of)
            ),
            location: lake.name.clone(),
        })
        .collect();
    events.extend(digest.turnover.map(|turnover| {
        // What may have begun already begins today; an outlook of yesterday may end before.
        let today = reader.local_day(digest.brief.as_of).min(turnover.late);
        Event {
            uid: format!("{}-turnover-{}@{domain}", lake.id, turnover.until.year()),
            sequence: sequence(digest),
            when: When::Days {
                first: turnover.early.unwrap_or(today),
                last: turnover.late,
            },
            summary: format!("{}: turnover", lake.name),
            description: format!(
                "{}. As foreseen {}.",
                words::capitalised(&turnover_said(&turnover, reader)),
                reader.stamp(digest.brief.as_of)
            ),
            location: lake.name.clone(),
        }
    }));
    (!events.is_empty()).then(|| calendar(&events, stamp))
}

/// Higher with each week, so that a calendar takes the newer one.
fn sequence(digest: &Digest) -> u32 {
    u32::try_from(digest.week.year).unwrap_or(0) * 53 + digest.week.week
}
