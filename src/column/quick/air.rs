//! Daily air temperature of the lake: measured, then forecast by member, climatology where there is none.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use super::air_sources::{AirForecast, AirSources, common_step_h};
use super::climatology::Climatology;
use crate::clock::LakeClock;
use crate::conditions::seam::{Seam, hour_of};
use crate::lake::Lake;
use crate::math::quantiles::mean;
use crate::math::streams::{normal, stream};
use crate::series::daily::MEAN_COVERAGE_FRAC;
use crate::series::{Daily, SeriesSet};

/// Correlation of the air-temperature anomaly from one day to the next (common practice, no source).
const ANOMALY_PERSISTENCE: f64 = 0.75;
/// Spread of the anomaly where the record is too short to tell, degC (common practice, no source).
const ANOMALY_SPREAD_DEGC: f64 = 4.0;
/// Error of a daily mean forecast without members: at day 0, and more a day (common practice, no source).
const SINGLE_RUN_ERROR_DEGC: (f64, f64) = (0.6, 0.25);

/// What the air temperature of one day rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::column) enum AirDay {
    /// Measured (or from a weather archive).
    Known(f64),
    /// Forecast; the members are in [`AirRecord::forecast`].
    Forecast,
    /// Neither: climatology stands in.
    Missing,
}

/// Air temperature day by day, from the first day of the record to the last of the outlook.
#[derive(Debug, Clone)]
pub(in crate::column) struct AirRecord {
    /// First day.
    pub first: NaiveDate,
    /// Shape `[day]`.
    pub days: Vec<AirDay>,
    /// Mean for each day's date, which stands in where nothing is known. Shape `[day]`.
    normal_degc: Vec<f64>,
    /// Spread of a day about it.
    spread_degc: f64,
    /// Forecast daily means by member: `(index of the first day, [member][day])`.
    forecast: Option<(usize, Vec<Vec<Option<f64>>>)>,
    /// Standard error of the bias that was taken off the forecast.
    forecast_error_degc: f64,
    /// How the sources were joined.
    pub seams: Vec<Seam>,
}

impl AirRecord {
    /// The record from `first` (or its own first day, if later) to `outlook_days` from `today`.
    ///
    /// Of several series see [`AirSources::read`]. `None` when no series has a past.
    pub fn read(
        lake: &Lake,
        set: &SeriesSet,
        clock: &LakeClock,
        today: NaiveDate,
        span: Span,
    ) -> Option<AirRecord> {
        let AirSources {
            past,
            hours_today,
            forecast,
            seams,
        } = AirSources::read(lake, set, clock, today)?;
        let first = past.first.max(today.checked_sub_days(Days::new(span.past_days))?);
        let count = usize::try_from((today - first).num_days()).ok()? + 1 + span.outlook_days;
        let (normal_degc, spread_degc) = normals(&past, first, count)?;
        let forecast_error_degc = forecast.as_ref().map_or(0.0, |f| f.error_degc);
        let forecast = forecast.and_then(|forecast| {
            let start = usize::try_from((today - first).num_days()).ok()?;
            let means = members_by_day(&forecast, &hours_today, clock, today);
            let means: Vec<Vec<Option<f64>>> = means
                .into_iter()
                .map(|by_day| {
                    (0..=span.outlook_days as u64)
                        .map(|ahead| by_day.get(&(today + Days::new(ahead))).copied())
                        .collect()
                })
                .collect();
            Some((start, means))
        });
        let days = (0..count)
            .map(|i| match past.get(first + Days::new(i as u64)) {
                Some(value) => AirDay::Known(value),
                None if forecast_has(forecast.as_ref(), i) => AirDay::Forecast,
                None => AirDay::Missing,
            })
            .collect();
        Some(AirRecord {
            first,
            days,
            normal_degc,
            spread_degc,
            forecast,
            forecast_error_degc,
            seams,
        })
    }

    /// Day number `index` of the record.
    pub fn date(&self, index: usize) -> NaiveDate {
        self.first + Days::new(index as u64)
    }

    /// Position of `date`, where the record holds it.
    pub fn index(&self, date: NaiveDate) -> Option<usize> {
        usize::try_from((date - self.first).num_days())
            .ok()
            .filter(|&i| i < self.days.len())
    }

    /// What was measured, day by day; `None` where nothing was. Shape `[day]`.
    pub fn measured_degc(&self) -> Vec<Option<f64>> {
        let measured = |day: &AirDay| match day {
            AirDay::Known(value) => Some(*value),
            AirDay::Forecast | AirDay::Missing => None,
        };
        self.days.iter().map(measured).collect()
    }

    /// Best single guess: measured, the mean of the forecast members, or the mean for the date.
    pub fn best_degc(&self) -> Vec<f64> {
        (0..self.days.len())
            .map(|i| match self.days[i] {
                AirDay::Known(value) => value,
                _ => mean(&self.forecasts_degc(i)).unwrap_or(self.normal_degc[i]),
            })
            .collect()
    }

    /// Air temperature of one member from `from` on: its own forecast run; where nothing is known, the
    /// mean for the date and an anomaly that fades from the last known one and is stirred at random.
    pub fn member_degc(&self, from: usize, member: usize, seed: u64) -> Vec<f64> {
        let mut numbers = stream(seed, &format!("water/air/{member}"));
        let fresh = (1.0 - ANOMALY_PERSISTENCE * ANOMALY_PERSISTENCE).sqrt() * self.spread_degc;
        // A wrong bias is wrong on all days of the outlook alike.
        let bias_degc = if self.forecast_error_degc > 0.0 {
            self.forecast_error_degc * normal(&mut stream(seed, &format!("water/air-bias/{member}")))
        } else {
            0.0
        };
        let mut anomaly_degc = 0.0;
        (from..self.days.len())
            .map(|i| {
                // One number a day, used or not: the stream stays in step with the calendar.
                let noise = normal(&mut numbers);
                let value = match self.days[i] {
                    AirDay::Known(value) => Some(value),
                    AirDay::Forecast => self
                        .forecast_member_degc(i, member, noise)
                        .map(|value| value + bias_degc),
                    AirDay::Missing => None,
                };
                let stirred = ANOMALY_PERSISTENCE * anomaly_degc + fresh * noise;
                let value = value.unwrap_or(self.normal_degc[i] + stirred);
                anomaly_degc = value - self.normal_degc[i];
                value
            })
            .collect()
    }

    /// How many of the days `from..to` have neither a measurement nor a forecast.
    pub fn missing(&self, from: usize, to: usize) -> usize {
        self.days[from.min(to)..to]
            .iter()
            .filter(|d| **d == AirDay::Missing)
            .count()
    }

    fn forecasts_degc(&self, index: usize) -> Vec<f64> {
        let Some((start, members)) = &self.forecast else {
            return Vec::new();
        };
        let Some(ahead) = index.checked_sub(*start) else {
            return Vec::new();
        };
        members
            .iter()
            .filter_map(|m| m.get(ahead).copied().flatten())
            .collect()
    }

    fn forecast_member_degc(&self, index: usize, member: usize, noise: f64) -> Option<f64> {
        let (start, members) = self.forecast.as_ref()?;
        let ahead = index.checked_sub(*start)?;
        let value = members
            .get(member % members.len().max(1))?
            .get(ahead)
            .copied()
            .flatten()?;
        if members.len() > 1 {
            return Some(value);
        }
        let (at_once, a_day) = SINGLE_RUN_ERROR_DEGC;
        Some(value + noise * (at_once + a_day * ahead as f64).min(self.spread_degc))
    }
}

/// How far back and ahead a record reaches.
#[derive(Debug, Clone, Copy)]
pub(in crate::column) struct Span {
    pub past_days: u64,
    pub outlook_days: usize,
}

fn forecast_has(forecast: Option<&(usize, Vec<Vec<Option<f64>>>)>, index: usize) -> bool {
    forecast.is_some_and(|(start, members)| {
        let day = index.checked_sub(*start);
        day.is_some_and(|day| members.iter().any(|m| m.get(day).is_some_and(Option::is_some)))
    })
}

/// Means for the dates of the record, and the spread about them. A record shorter than a year has no
/// means: its own last value then stands in, with a wide spread.
fn normals(past: &Daily, first: NaiveDate, count: usize) -> Option<(Vec<f64>, f64)> {
    if let Some(climatology) = Climatology::of(past) {
        let dates = first.iter_days().take(count);
        return Some((
            dates.map(|d| climatology.at(d)).collect(),
            climatology.spread_degc,
        ));
    }
    let mut last = past.value.iter().copied().flatten().next()?;
    let held = first.iter_days().take(count).map(|date| {
        last = past.get(date).unwrap_or(last);
        last
    });
    Some((held.collect(), ANOMALY_SPREAD_DEGC))
}

/// Daily means of each member by standard day, from `today`, less how high the forecast reads; the hours of today before the forecast
/// begins are those measured. A day needs three quarters of its hours.
fn members_by_day(
    forecast: &AirForecast<'_>,
    observed: &BTreeMap<i64, f64>,
    clock: &LakeClock,
    today: NaiveDate,
) -> Vec<BTreeMap<NaiveDate, f64>> {
    let batch = forecast.batch;
    let days: Vec<NaiveDate> = batch.time.iter().map(|t| clock.standard_day(*t)).collect();
    let step_h = common_step_h(&batch.time);
    let begins = batch.time.first().map_or(i64::MAX, |t| hour_of(*t));
    let before: Vec<f64> = observed.range(..begins).map(|(_, v)| *v).collect();
    batch
        .value
        .iter()
        .map(|values| {
            // Sum, weight in hours.
            let mut sums: BTreeMap<NaiveDate, (f64, f64)> = BTreeMap::new();
            for (day, value) in days.iter().zip(values) {
                if let Some(value) = value.filter(|v| v.is_finite() && *day >= today) {
                    let slot = sums.entry(*day).or_default();
                    *slot = (
                        slot.0 + (value - forecast.reads_high_degc) * step_h,
                        slot.1 + step_h,
                    );
                }
            }
            if let Some(slot) = sums.get_mut(&today) {
                *slot = (slot.0 + before.iter().sum::<f64>(), slot.1 + before.len() as f64);
            }
            sums.into_iter()
                .filter(|(_, (_, hours))| *hours >= MEAN_COVERAGE_FRAC * 24.0)
                .map(|(day, (sum, hours))| (day, sum / hours))
                .collect()
        })
        .collect()
}
