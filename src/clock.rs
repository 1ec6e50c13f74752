//! Instants, the lake's civil day, and its standard-time day.
//!
//! Everything inside is UTC. Two kinds of local day exist and are never mixed: the **civil** day of
//! the people at the lake (23 or 25 h long at a clock change), and the **standard** day, midnight to
//! midnight in local standard time all year, which gauges and climate stations use.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Utc};
use chrono_tz::{OffsetComponents, Tz};

/// The lake's clock: its time zone, and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LakeClock {
    zone: Tz,
}

impl LakeClock {
    /// The clock of a lake in time zone `zone`.
    pub fn new(zone: Tz) -> Self {
        LakeClock { zone }
    }

    /// The time zone.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// `instant` in the lake's civil time.
    pub fn local(&self, instant: DateTime<Utc>) -> DateTime<Tz> {
        instant.with_timezone(&self.zone)
    }

    /// The offset of local standard time at `instant`, daylight saving left out.
    pub fn standard_offset(&self, instant: DateTime<Utc>) -> FixedOffset {
        let base = self
            .zone
            .offset_from_utc_datetime(&instant.naive_utc())
            .base_utc_offset();
        FixedOffset::east_opt(base.num_seconds() as i32).unwrap_or_else(|| Utc.fix())
    }

    /// The standard-time day that holds `instant`.
    pub fn standard_day(&self, instant: DateTime<Utc>) -> NaiveDate {
        instant.with_timezone(&self.standard_offset(instant)).date_naive()
    }

    /// The instant at which standard-time day `date` begins.
    pub fn standard_day_start(&self, date: NaiveDate) -> DateTime<Utc> {
        let midnight = date.and_time(NaiveTime::MIN);
        let offset = self.standard_offset(Utc.from_utc_datetime(&midnight));
        Utc.from_utc_datetime(&(midnight - Duration::seconds(i64::from(offset.local_minus_utc()))))
    }

    /// The civil day that holds `instant`.
    pub fn civil_day(&self, instant: DateTime<Utc>) -> NaiveDate {
        self.local(instant).date_naive()
    }

    /// The instant at which civil day `date` begins. Where a clock change skips midnight, the first
    /// instant that exists.
    pub fn civil_day_start(&self, date: NaiveDate) -> DateTime<Utc> {
        self.instant(date.and_time(NaiveTime::MIN))
    }

    /// The instant of a civil date-time at the lake. Of an hour that occurs twice, the first; of one
    /// that a clock change skips, the instant that stands an hour later on the clock.
    pub fn instant(&self, civil: NaiveDateTime) -> DateTime<Utc> {
        for shift_h in 0..=3 {
            let candidate = civil + Duration::hours(shift_h);
            if let Some(found) = self.zone.from_local_datetime(&candidate).earliest() {
                return found.with_timezone(&Utc);
            }
        }
        Utc.from_utc_datetime(&civil)
    }

    /// Length of the civil day `date` in hours: 23, 24 or 25 where clocks change by one hour.
    pub fn civil_day_length_h(&self, date: NaiveDate) -> f64 {
        let next = date.succ_opt().unwrap_or(date);
        (self.civil_day_start(next) - self.civil_day_start(date)).num_seconds() as f64 / 3600.0
    }
}
