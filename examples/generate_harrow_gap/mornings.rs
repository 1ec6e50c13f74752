//! The four demonstration mornings.

use chrono::{DateTime, Duration, NaiveDate, Utc};
use chrono_tz::America::Los_Angeles;

use super::hours::{date, hour_of};

/// One demonstration morning.
#[derive(Clone, Copy)]
pub struct DemoMorning {
    /// Day at the lake.
    pub day: NaiveDate,
    /// Number of its random streams.
    pub stream: u64,
    /// What it shows.
    pub what: &'static str,
}

/// The mornings, in order.
pub fn mornings() -> [DemoMorning; 4] {
    [
        DemoMorning {
            day: date(2025, 7, 24),
            stream: 1,
            what: "dead of summer",
        },
        DemoMorning {
            day: date(2025, 10, 9),
            stream: 2,
            what: "cooling",
        },
        DemoMorning {
            day: date(2026, 1, 17),
            stream: 3,
            what: "winter, radiation fog",
        },
        DemoMorning {
            day: date(2026, 3, 12),
            stream: 4,
            what: "rain pulse on the Sorrel",
        },
    ]
}

impl DemoMorning {
    /// 04:30 at the lake.
    pub fn as_of(&self) -> DateTime<Utc> {
        let civil = self.day.and_hms_opt(4, 30, 0).expect("04:30 is a time of day");
        let local = civil.and_local_timezone(Los_Angeles).single();
        local
            .expect("no clock change happens at 04:30")
            .with_timezone(&Utc)
    }

    /// Until when its replies are given: an hour later.
    pub fn until(&self) -> DateTime<Utc> {
        self.as_of() + Duration::hours(1)
    }

    /// The full hour before.
    pub fn hour(&self) -> usize {
        hour_of(self.as_of())
    }
}
