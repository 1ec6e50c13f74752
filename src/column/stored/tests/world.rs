//! An invented climate, and series that measure it.

use std::f64::consts::TAU;
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Duration, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::column::stored::{StoredForcing, StoredForcingError, StoredOptions, stored_forcing};
use crate::lake::{Cadence, Lake, SeriesId, read_lake};
use crate::series::{Approval, Flag, ForecastBatch, Member, Observation, Provenance, SeriesKey, SeriesSet};

/// An instant.
pub fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

/// 4:30 of a morning of late September at the lake.
pub fn morning() -> DateTime<Utc> {
    at("2025-09-25T11:30:00Z")
}

/// Days since 2020, for the formulas.
fn days(t: DateTime<Utc>) -> f64 {
    (t - at("2020-01-01T00:00:00Z")).num_seconds() as f64 / 86_400.0
}

/// Air temperature: coldest in mid-January, warmest at 22 h UTC.
pub fn air(t: DateTime<Utc>) -> f64 {
    let d = days(t);
    12.0 - 10.0 * (TAU * (d - 15.0) / 365.25).cos() + 5.0 * (TAU * (d - 22.0 / 24.0)).cos()
}

pub fn dew(t: DateTime<Utc>) -> f64 {
    3.0 - 3.0 * (TAU * (days(t) - 15.0) / 365.25).cos()
}

pub fn wind(t: DateTime<Utc>) -> f64 {
    3.0 + 1.5 * (TAU * days(t)).sin() + 0.5 * (TAU * days(t) / 5.0).sin()
}

/// Mean sunlight of the hour before: a crude day.
pub fn light(t: DateTime<Utc>) -> f64 {
    (700.0 * (TAU * (days(t) - 0.5 / 24.0 - 20.0 / 24.0)).cos()).max(0.0)
}

pub fn flow(t: DateTime<Utc>) -> f64 {
    20.0 + 10.0 * (TAU * (days(t) - 120.0) / 365.25).cos() + (TAU * days(t) / 9.0).sin()
}

pub fn level(t: DateTime<Utc>) -> f64 {
    245.0 + 3.0 * (TAU * (days(t) - 140.0) / 365.25).cos()
}

/// The demonstration lake and a set of its series.
pub struct World {
    pub lake: Lake,
    pub set: SeriesSet,
    provenance: Arc<Provenance>,
}

/// Something that a series measures.
type Truth = dyn Fn(DateTime<Utc>) -> f64;

impl World {
    /// A set without series at the morning.
    pub fn empty() -> World {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let text = std::fs::read_to_string(&file).unwrap();
        let set = SeriesSet {
            as_of: morning(),
            ..SeriesSet::default()
        };
        let provenance = Arc::new(Provenance {
            service: "csv".into(),
            station: String::new(),
            parameter: "p".into(),
            original_unit: String::new(),
            retrieved_at: DateTime::UNIX_EPOCH,
        });
        World {
            lake: read_lake(&text, &file, &crate::sources::service_rules()).unwrap(),
            set,
            provenance,
        }
    }

    /// Hours of the weather that must be known, from `from` to the clock.
    pub fn hourly(from: &str) -> World {
        let mut world = World::empty();
        for (id, truth) in WEATHER {
            world.hours(id, at(from), morning(), &truth);
        }
        world
    }

    /// Days of it.
    pub fn daily(from: &str) -> World {
        let mut world = World::empty();
        for (id, truth) in WEATHER {
            world.days(id, at(from), morning(), &truth);
        }
        world
    }

    pub fn clock(&self) -> LakeClock {
        LakeClock::new(self.lake.time_zone)
    }

    pub fn row(&self, time: DateTime<Utc>, value: f64) -> Observation {
        Observation {
            time,
            depth_m: None,
            value: Some(value),
            original_value: None,
            approval: Approval::Unstated,
            qualifier: None,
            flag: Flag::Pass,
            provenance: self.provenance.clone(),
        }
    }

    /// Values on the whole hours `from <= t <= to`.
    pub fn hours(&mut self, id: &str, from: DateTime<Utc>, to: DateTime<Utc>, truth: &Truth) {
        let count = (to - from).num_hours();
        let rows: Vec<Observation> = (0..=count)
            .map(|h| from + Duration::hours(h))
            .map(|t| self.row(t, truth(t)))
            .collect();
        self.add(id, Cadence::Continuous, rows);
    }

    /// Means of the standard days that are over by `to`.
    pub fn days(&mut self, id: &str, from: DateTime<Utc>, to: DateTime<Utc>, truth: &Truth) {
        let clock = self.clock();
        let first = clock.standard_day(from);
        let over = |date: &NaiveDate| clock.standard_day_start(*date + Duration::days(1)) <= to;
        let rows: Vec<Observation> = first
            .iter_days()
            .take_while(over)
            .map(|date| {
                let start = clock.standard_day_start(date);
                let hours = (0..24).map(|h| truth(start + Duration::hours(h)));
                self.row(start, hours.sum::<f64>() / 24.0)
            })
            .collect();
        self.add(id, Cadence::Daily, rows);
    }

    fn add(&mut self, id: &str, cadence: Cadence, rows: Vec<Observation>) {
        let key = SeriesKey {
            id: SeriesId::new(id),
            cadence,
        };
        self.set.observations.entry(key).or_default().extend(rows);
    }

    pub fn rows(&mut self, id: &str, cadence: Cadence) -> &mut Vec<Observation> {
        let key = SeriesKey {
            id: SeriesId::new(id),
            cadence,
        };
        self.set.observations.get_mut(&key).unwrap()
    }

    /// A forecast of `members` from `from` on, three-hourly.
    pub fn forecast(
        &mut self,
        id: &str,
        (from, days, members): (DateTime<Utc>, i64, u16),
        truth: &dyn Fn(u16, DateTime<Utc>) -> f64,
    ) {
        let time: Vec<DateTime<Utc>> = (0..=8 * days).map(|k| from + Duration::hours(3 * k)).collect();
        let batch = ForecastBatch {
            key: SeriesKey {
                id: SeriesId::new(id),
                cadence: Cadence::Forecast,
            },
            issued_at: from + Duration::hours(4),
            provenance: self.provenance.clone(),
            members: (0..members).map(Member).collect(),
            value: (0..members)
                .map(|m| time.iter().map(|t| Some(truth(m, *t))).collect())
                .collect(),
            time,
        };
        self.set.forecasts.insert(SeriesId::new(id), batch);
    }

    /// Forecasts of the weather that must be known; each member is a degree warmer than the one before.
    pub fn ensemble(&mut self, members: u16) {
        let from = at("2025-09-25T00:00:00Z");
        self.forecast("air-temp", (from, 10, members), &|m, t| air(t) + f64::from(m));
        self.forecast("dew-point", (from, 10, members), &|_, t| dew(t));
        self.forecast("wind-speed", (from, 10, members), &|m, t| {
            wind(t) + 0.1 * f64::from(m)
        });
        self.forecast("shortwave", (from, 10, members), &|_, t| {
            (0..3).map(|h| light(t - Duration::hours(h))).sum::<f64>() / 3.0
        });
    }

    pub fn options(&self, from: &str, members: usize) -> StoredOptions {
        StoredOptions {
            from: at(from),
            as_of: morning(),
            members,
            seed: 7,
            ahead_days: 16,
        }
    }

    pub fn made(&self, from: &str, members: usize) -> Result<StoredForcing, StoredForcingError> {
        stored_forcing(&self.lake, &self.set, &self.options(from, members))
    }

    pub fn stored(&self, from: &str, members: usize) -> StoredForcing {
        self.made(from, members).unwrap()
    }
}

/// A series and what it measures.
type Measured = (&'static str, fn(DateTime<Utc>) -> f64);

/// The weather that must be known.
pub const WEATHER: [Measured; 4] = [
    ("air-temp", air),
    ("dew-point", dew),
    ("wind-speed", wind),
    ("shortwave", light),
];
