//! The calendar of the digest: the calm hours of the week, and the turnover where it is foreseen.

use chrono::{DateTime, Datelike as _, Utc};

use super::days::best_lines;
use crate::faces::calendar::{Event, When, calendar};
use crate::faces::reader::Reader;
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
    events.extend(digest.turnover.map(|turnover| Event {
        uid: format!("{}-turnover-{}@{domain}", lake.id, turnover.median.year()),
        sequence: sequence(digest),
        when: When::Days {
            first: turnover.early,
            last: turnover.late,
        },
        summary: format!("{}: turnover, 8 of 10 weathers", lake.name),
        description: format!(
            "About {}, as foreseen {}.",
            reader.day(turnover.median),
            reader.stamp(digest.brief.as_of)
        ),
        location: lake.name.clone(),
    }));
    (!events.is_empty()).then(|| calendar(&events, stamp))
}

/// Higher with each week, so that a calendar takes the newer one.
fn sequence(digest: &Digest) -> u32 {
    u32::try_from(digest.week.year).unwrap_or(0) * 53 + digest.week.week
}
