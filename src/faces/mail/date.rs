//! The date of a letter.

use chrono::{DateTime, Datelike, Offset, Utc};

use crate::clock::LakeClock;

/// Date and time of `instant` at the lake as RFC 5322, section 3.3, writes them:
/// `Wed, 04 Nov 2026 14:05:09 -0800`, the day with two digits.
///
/// (chrono's own `to_rfc2822` writes one digit where one is enough; both are valid.) `None` for a year
/// before 1900 or after 9999, which the form cannot say, and for an offset from UTC that is no whole number of
/// minutes, as some zones had long ago.
pub fn message_date(instant: DateTime<Utc>, clock: &LakeClock) -> Option<String> {
    let local = clock.local(instant);
    let whole_minutes = local.offset().fix().local_minus_utc() % 60 == 0;
    let sayable = (1900..=9999).contains(&local.year()) && whole_minutes;
    sayable.then(|| local.format("%a, %d %b %Y %H:%M:%S %z").to_string())
}
