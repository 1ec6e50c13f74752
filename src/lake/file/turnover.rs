//! The season of the turnover outlook.

use super::block::{Block, quote};
use crate::lake::{MonthDay, TurnoverSeason};

/// The season; `None` where it is faulty.
pub(super) fn read_turnover(block: &Block<'_, '_>) -> Option<TurnoverSeason> {
    let day = |stem: &str| {
        let text = block.text(stem)?;
        let day = MonthDay::read(&text.value);
        if day.is_none() {
            block.fault(
                &text.span,
                format!("{stem} = {}", quote(&text.value)),
                "a day of the year as month and day",
                "write it as \"MM-DD\", such as \"07-01\"",
            );
        }
        day
    };
    let (from, until) = (day("from"), day("until"));
    Some(TurnoverSeason {
        from: from?,
        until: until?,
    })
}
