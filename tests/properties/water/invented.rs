//! Invented series of the demonstration lake.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::sync::Arc;

use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};
use plungeline::clock::LakeClock;
use plungeline::column::{Water, WaterOptions, water_at};
use plungeline::conditions::conditions_at;
use plungeline::lake::{Cadence, Lake, SeriesId, ServiceRule, read_lake_file};
use plungeline::math::streams::{normal, stream};
use plungeline::physics::air_water::AirWater;
use plungeline::series::{
    Approval, Flag, ForecastBatch, Member, Observation, Provenance, SeriesKey, SeriesSet,
};
use plungeline::units::M_PER_FT;

const EVERY: &[Cadence] = &[Cadence::Daily, Cadence::Continuous, Cadence::Forecast];

/// The demonstration lake.
fn harrow_gap() -> Lake {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let rule = |name, needs_station, needs_file| ServiceRule {
        needs_keys: &[],
        name,
        station_for: if needs_station { EVERY } else { &[] },
        needs_file,
        takes_statistic: needs_station,
        takes_ensemble_model: !needs_station && !needs_file,
        serves_alerts: name == "nws",
        needs_contact: false,
        cadences: EVERY,
        parameter_quantities: None,
        refuses_station: None,
        refuses_parameter: None,
    };
    let rules = [
        rule("usgs-ogc", true, false),
        rule("open-meteo", false, false),
        rule("nws", false, false),
        rule("csv", false, true),
    ];
    read_lake_file(&path, &rules).unwrap_or_else(|e| panic!("{e:?}"))
}

/// Invented series of the demonstration lake: a foothill climate whose lake never falls below 7 degC.
pub struct Invented {
    pub lake: Lake,
    pub as_of: DateTime<Utc>,
    pub air: Vec<(NaiveDate, f64)>,
    pub surface: Vec<(NaiveDate, f64)>,
}

impl Invented {
    /// Seven years up to 04:30 lake time of the given day.
    pub fn until(year: i32, month: u32, day: u32) -> Invented {
        let lake = harrow_gap();
        let last = NaiveDate::from_ymd_opt(year, month, day).unwrap();
        let as_of = LakeClock::new(lake.time_zone).instant(last.and_hms_opt(4, 30, 0).unwrap());
        let first = last - Duration::days(7 * 365);
        let mut numbers = stream(1, "invented air");
        let mut anomaly_degc = 0.0;
        let air: Vec<(NaiveDate, f64)> = first
            .iter_days()
            .take_while(|d| *d <= last + Duration::days(16))
            .map(|date| {
                anomaly_degc = 0.75 * anomaly_degc + 2.3 * normal(&mut numbers);
                let t = f64::from(date.ordinal0()) / 365.0;
                (date, 13.0 - 9.5 * (TAU * (t - 0.04)).cos() + anomaly_degc)
            })
            .collect();
        let truth = AirWater {
            threshold_degc: 7.0,
            ..AirWater::first_guess_6(20.0, 4.0)
        };
        let truth = AirWater {
            a1_degc_per_day: truth.a1_degc_per_day + 0.03,
            ..truth
        };
        let temps: Vec<f64> = air.iter().map(|(_, t)| *t).collect();
        let years: Vec<f64> = air
            .iter()
            .map(|(d, _)| (f64::from(d.ordinal0()) + 0.5) / 365.0)
            .collect();
        let mut error_degc = 0.0;
        let surface = truth
            .run_degc(8.0, &temps, &years)
            .into_iter()
            .zip(&air)
            .map(|(t, (date, _))| {
                error_degc = 0.9 * error_degc + 0.2 * normal(&mut numbers);
                (*date, t + error_degc)
            })
            .collect();
        Invented {
            lake,
            as_of,
            air,
            surface,
        }
    }

    pub fn today(&self) -> NaiveDate {
        LakeClock::new(self.lake.time_zone).standard_day(self.as_of)
    }

    pub fn provenance() -> Arc<Provenance> {
        Arc::new(Provenance {
            service: "invented".to_owned(),
            station: "invented".to_owned(),
            parameter: "invented".to_owned(),
            original_unit: "SI".to_owned(),
            retrieved_at: DateTime::UNIX_EPOCH,
        })
    }

    pub fn observation(&self, date: NaiveDate, depth_m: Option<f64>, value: f64) -> Observation {
        Observation {
            time: LakeClock::new(self.lake.time_zone).standard_day_start(date),
            depth_m,
            value: Some(value),
            original_value: Some(value),
            approval: Approval::Approved,
            qualifier: None,
            flag: Flag::Pass,
            provenance: Invented::provenance(),
        }
    }

    fn daily(&self, values: &[(NaiveDate, f64)]) -> Vec<Observation> {
        let before = values.iter().filter(|(date, _)| *date < self.today());
        before
            .map(|(date, value)| self.observation(*date, None, *value))
            .collect()
    }

    /// The set with the series of the given ids only.
    pub fn set(&self, ids: &[&str]) -> SeriesSet {
        let constant = |value: f64| self.air.iter().map(|(d, _)| (*d, value)).collect::<Vec<_>>();
        let mut observations = BTreeMap::new();
        for id in ids {
            let values = match *id {
                "air-temp" => self.air.clone(),
                "surface" => self.surface.clone(),
                "pool" => constant(800.0 * M_PER_FT),
                "sorrel-flow" => constant(12.0),
                _ => continue,
            };
            let key = SeriesKey {
                id: SeriesId::new(*id),
                cadence: Cadence::Daily,
            };
            observations.insert(key, self.daily(&values));
        }
        SeriesSet {
            as_of: self.as_of,
            observations,
            forecasts: BTreeMap::new(),
            alerts: None,
            earlier_runs: BTreeMap::new(),
            gaps: Vec::new(),
        }
    }

    /// Hourly forecast from as_of on with `members` members.
    fn forecast(&self, members: u16) -> ForecastBatch {
        let clock = LakeClock::new(self.lake.time_zone);
        let time: Vec<DateTime<Utc>> = (0..16 * 24).map(|h| self.as_of + Duration::hours(h)).collect();
        let by_date: BTreeMap<NaiveDate, f64> = self.air.iter().copied().collect();
        let value = (0..members)
            .map(|m| {
                let mut numbers = stream(u64::from(m), "invented forecast");
                let error = normal(&mut numbers);
                let at = |(hour, t): (usize, &DateTime<Utc>)| {
                    by_date
                        .get(&clock.standard_day(*t))
                        .map(|v| v + error * hour as f64 / 100.0)
                };
                time.iter().enumerate().map(at).collect()
            })
            .collect();
        ForecastBatch {
            key: SeriesKey {
                id: SeriesId::new("air-temp"),
                cadence: Cadence::Forecast,
            },
            issued_at: self.as_of,
            provenance: Invented::provenance(),
            time,
            members: (0..members).map(Member).collect(),
            value,
        }
    }

    pub fn whole(&self) -> SeriesSet {
        let mut set = self.set(&["air-temp", "surface", "pool", "sorrel-flow"]);
        set.forecasts.insert(SeriesId::new("air-temp"), self.forecast(31));
        set
    }

    pub fn water(&self, set: &SeriesSet, members: usize) -> Water {
        let conditions = conditions_at(&self.lake, set);
        water_at(&self.lake, &conditions, set, &WaterOptions { members, seed: 5 })
    }
}
