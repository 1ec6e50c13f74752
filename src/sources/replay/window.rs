//! The window of a request: which days or instants it asks for.

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};
use serde::{Deserialize, Serialize};

/// Parameters that say how much is asked for, not what: they are left out of a recorded query.
pub const WINDOW_PARAMETERS: [&str; 18] = [
    "time",
    "start_date",
    "end_date",
    "start",
    "end",
    "Start",
    "End",
    "startDT",
    "begin",
    "dateTime[after]",
    "dateTime[before]",
    "page-size",
    "itemsPerPage",
    "endDT",
    "past_days",
    "back",
    "forecast_days",
    "limit",
];

/// First and last day or instant, both in it. A day stands for all of its 24 h.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// First.
    pub from: String,
    /// Last.
    pub to: String,
}

impl Window {
    /// The window that the parameters of a request ask for; `None` where they name none.
    pub fn of_query(query: &[(String, String)]) -> Option<Window> {
        let value = |name: &str| {
            query
                .iter()
                .find(|(key, _)| key == name)
                .map(|(_, value)| value.clone())
        };
        if let Some((from, to)) = value("time").as_deref().and_then(|text| text.split_once('/')) {
            return Some(Window {
                from: from.to_owned(),
                to: to.to_owned(),
            });
        }
        Some(Window {
            from: [
                "start_date",
                "start",
                "Start",
                "startDT",
                "begin",
                "dateTime[after]",
            ]
            .into_iter()
            .find_map(value)?,
            to: ["end_date", "end", "End", "endDT", "dateTime[before]"]
                .into_iter()
                .find_map(value)?,
        })
    }

    /// Its first and last instant; `None` where a text is neither day nor instant. `..` is open.
    pub fn span(&self) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
        let from = match self.from.as_str() {
            ".." => DateTime::<Utc>::MIN_UTC,
            text => instant(text, false)?,
        };
        let to = match self.to.as_str() {
            ".." => DateTime::<Utc>::MAX_UTC,
            text => instant(text, true)?,
        };
        Some((from, to))
    }
}

/// Seconds that both spans hold; `None` where they do not meet.
pub(super) fn overlap_s(a: (DateTime<Utc>, DateTime<Utc>), b: (DateTime<Utc>, DateTime<Utc>)) -> Option<i64> {
    let seconds = (a.1.min(b.1) - a.0.max(b.0)).num_seconds();
    (seconds >= 0).then_some(seconds)
}

fn instant(text: &str, end_of_day: bool) -> Option<DateTime<Utc>> {
    if let Ok(instant) = DateTime::parse_from_rfc3339(text) {
        return Some(instant.with_timezone(&Utc));
    }
    let day = NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()?
        .and_time(NaiveTime::MIN)
        .and_utc();
    if end_of_day {
        day.checked_add_signed(Duration::seconds(86_399))
    } else {
        Some(day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window(from: &str, to: &str) -> (DateTime<Utc>, DateTime<Utc>) {
        Window {
            from: from.into(),
            to: to.into(),
        }
        .span()
        .unwrap()
    }

    #[test]
    fn windows_that_share_a_day_meet() {
        let year = window("2014-01-01", "2014-12-31");
        assert_eq!(overlap_s(year, window("2014-12-31", "2015-03-01")), Some(86_399));
        assert_eq!(overlap_s(year, window("2015-01-01", "2015-12-31")), None);
        assert!(overlap_s(year, window("2014-06-01T00:00:00Z", "..")).is_some());
    }

    #[test]
    fn both_ways_of_asking_are_read() {
        let query = |pairs: &[(&str, &str)]| {
            Window::of_query(
                &pairs
                    .iter()
                    .map(|(k, v)| (k.to_string(), v.to_string()))
                    .collect::<Vec<_>>(),
            )
        };
        let wanted = Some(Window {
            from: "2014-01-01".into(),
            to: "2014-12-31".into(),
        });
        assert_eq!(query(&[("time", "2014-01-01/2014-12-31")]), wanted);
        assert_eq!(
            query(&[("end_date", "2014-12-31"), ("start_date", "2014-01-01")]),
            wanted
        );
        assert_eq!(query(&[("Start", "2014-01-01"), ("End", "2014-12-31")]), wanted);
        assert_eq!(query(&[("past_days", "7")]), None);
    }
}
