//! One morning's view of the series: which source to take, its newest value, its daily table.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::choice::{chain_with, joined};
use super::inputs::allowed_age_h;
use crate::clock::LakeClock;
use crate::lake::{Cadence, InflowId, Lake, SeriesPlace, SeriesSource};
use crate::quantity::Quantity;
use crate::series::daily::{GapRule, clean_steps, daily_series_of, fill_steps, mean_of_last_24h};
use crate::series::{Consequence, Daily, Flag, Gap, GapReason, Observation, SeriesSet};

/// Everything that the features below look at.
pub(super) struct Morning<'a> {
    pub lake: &'a Lake,
    pub set: &'a SeriesSet,
    pub clock: LakeClock,
    /// Standard day that holds the clock of the brief.
    pub today: NaiveDate,
}

/// The newest value of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Newest {
    pub value: f64,
    /// Its time; of a daily value the beginning of its day.
    pub time: DateTime<Utc>,
}

impl<'a> Morning<'a> {
    pub fn new(lake: &'a Lake, set: &'a SeriesSet) -> Morning<'a> {
        let clock = LakeClock::new(lake.time_zone);
        Morning {
            lake,
            set,
            clock,
            today: clock.standard_day(set.as_of),
        }
    }

    /// Places of a quantity of the lake as a whole: the lake, then its main body.
    pub fn lake_places(&self) -> [SeriesPlace; 2] {
        [
            SeriesPlace::Lake,
            SeriesPlace::Zone(self.lake.main_body().id.clone()),
        ]
    }

    /// The source to take for `quantity` at the first of `places` that has one with values: the first in
    /// their order whose newest usable value is not late ([`Morning::silent`]); failing that, the freshest.
    ///
    /// # Errors
    /// Why there is none: not described, no value, or every value refused.
    pub fn source(&self, quantity: Quantity, places: &[SeriesPlace]) -> Result<&'a SeriesSource, GapReason> {
        let sources: Vec<&SeriesSource> = places
            .iter()
            .flat_map(|place| self.lake.series_of(quantity, place))
            .collect();
        self.best_of(&sources)
    }

    /// As [`Morning::source`], among sources already chosen.
    pub fn best_of(&self, sources: &[&'a SeriesSource]) -> Result<&'a SeriesSource, GapReason> {
        let newest: Vec<(&SeriesSource, Newest)> = sources
            .iter()
            .filter_map(|s| Some((*s, self.newest(s)?)))
            .collect();
        let in_time = newest.iter().find(|(source, _)| self.silent(source).is_none());
        let freshest = newest.iter().max_by_key(|(_, newest)| newest.time);
        if let Some((source, _)) = in_time.or(freshest) {
            return Ok(source);
        }
        let rows = sources.iter().flat_map(|s| self.observations(s));
        let (mut refused, mut of) = (0, 0);
        for row in rows {
            of += 1;
            refused += usize::from(row.flag == Flag::Fail);
        }
        Err(match (sources.is_empty(), refused) {
            (true, _) => GapReason::NotDescribed,
            (false, 0) => GapReason::NoData,
            (false, _) => GapReason::Refused { refused, of },
        })
    }

    fn observations(&self, source: &SeriesSource) -> impl Iterator<Item = &'a Observation> {
        let continuous = self.set.observations(&source.id, Cadence::Continuous);
        continuous
            .iter()
            .chain(self.set.observations(&source.id, Cadence::Daily))
    }

    /// Newest usable value (flags 1 and 2) of a source; of several depths the shallowest. A daily value
    /// counts as new as the end of its day.
    pub fn newest(&self, source: &SeriesSource) -> Option<Newest> {
        let of = |cadence, lag_h| {
            let rows = self.set.observations(&source.id, cadence);
            let usable = rows
                .iter()
                .filter(|o| o.flag.is_usable() && o.time <= self.set.as_of);
            usable
                .filter_map(|o| {
                    Some((
                        o.time + Duration::hours(lag_h),
                        o,
                        o.value.filter(|v| v.is_finite())?,
                    ))
                })
                .max_by(|(a_time, a, _), (b_time, b, _)| {
                    let depth = |o: &Observation| o.depth_m.unwrap_or(f64::NEG_INFINITY);
                    a_time.cmp(b_time).then(depth(b).total_cmp(&depth(a)))
                })
        };
        let newest = [of(Cadence::Daily, 24), of(Cadence::Continuous, 0)];
        let (_, row, value) = newest
            .into_iter()
            .flatten()
            .max_by_key(|(effective, _, _)| *effective)?;
        Some(Newest {
            value,
            time: row.time,
        })
    }

    /// Mean of the last 24 h of the continuous values, and the time of the newest of them, where that is
    /// no later than the series is allowed to be.
    pub fn last_24h(&self, source: &SeriesSource) -> Option<Newest> {
        let horizon = self.set.as_of - Duration::days(8);
        let rows = self.set.observations(&source.id, Cadence::Continuous);
        let recent: Vec<Observation> = rows
            .iter()
            .filter(|o| o.time > horizon && o.time <= self.set.as_of)
            .cloned()
            .collect();
        let newest = recent
            .iter()
            .filter(|o| o.flag.is_usable() && o.value.is_some())
            .map(|o| o.time)
            .max()?;
        if self.age_h(newest) > allowed_age_h(source, Cadence::Continuous) {
            return None;
        }
        let steps = fill_steps(&clean_steps(&recent), GapRule::of(source.quantity));
        mean_of_last_24h(&steps, newest).map(|value| Newest { value, time: newest })
    }

    /// Daily series of a source, without the day that is still running unless it is covered; days that it
    /// lacks from the series that stand in for it or that it stands in for, as [`joined`] has it.
    pub fn daily(&self, source: &SeriesSource) -> Option<Daily> {
        let chain = chain_with(self.lake, source);
        if chain.len() == 1 {
            return self.own_daily(source);
        }
        joined(&chain, source, |s| self.own_daily(s)).map(|(daily, _)| daily)
    }

    /// As [`Morning::daily`], of the source alone.
    pub fn own_daily(&self, source: &SeriesSource) -> Option<Daily> {
        daily_series_of(self.set, source, &self.clock)
    }

    /// Age at the clock of the brief.
    pub fn age_h(&self, time: DateTime<Utc>) -> f64 {
        (self.set.as_of - time).num_seconds() as f64 / 3600.0
    }

    /// The gap of a value that is later than its source may be; `None` where it is in time.
    pub fn late(&self, source: &SeriesSource, time: DateTime<Utc>) -> Option<GapReason> {
        let (age_h, allowed_h) = (self.age_h(time), source_age_h(source));
        (age_h > allowed_h).then_some(GapReason::Late {
            newest: time,
            age_h,
            allowed_h,
        })
    }

    /// Why a source that has a value is not the one to take while another is in time: its newest value is
    /// later than the cadence that brought it may be, or the freshest of its cadences has fallen silent.
    /// Stricter than [`Morning::late`], which lets the slowest cadence speak for the source.
    pub fn silent(&self, source: &SeriesSource) -> Option<GapReason> {
        let value = self.newest(source)?;
        let of = |cadence: Cadence| {
            let rows = self.set.observations(&source.id, cadence).iter();
            let usable = rows.filter(|o| o.flag.is_usable() && o.value.is_some_and(f64::is_finite));
            let newest = usable.map(|o| o.time).filter(|t| *t <= self.set.as_of).max()?;
            Some((newest, self.age_h(newest), allowed_age_h(source, cadence)))
        };
        let observed = source.cadences.iter().filter(|c| **c != Cadence::Forecast);
        let aged: Vec<(DateTime<Utc>, f64, f64)> = observed.filter_map(|c| of(*c)).collect();
        let own = aged.iter().filter(|(newest, ..)| *newest == value.time);
        let own = own.max_by(|a, b| a.2.total_cmp(&b.2));
        let freshest = aged.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        let (newest, age_h, allowed_h) = match (own, freshest) {
            (Some(own), Some(freshest)) if own.1 - own.2 < freshest.1 - freshest.2 => *freshest,
            (Some(own), _) => *own,
            (None, _) => return self.late(source, value.time),
        };
        (age_h > allowed_h).then_some(GapReason::Late {
            newest,
            age_h,
            allowed_h,
        })
    }

    /// The place of an inflow.
    pub fn inflow_place(id: &InflowId) -> SeriesPlace {
        SeriesPlace::Inflow(id.clone())
    }
}

/// Age that a source's newest value may have, whichever cadence brings it.
fn source_age_h(source: &SeriesSource) -> f64 {
    let observed = source.cadences.iter().filter(|c| **c != Cadence::Forecast);
    observed
        .map(|c| allowed_age_h(source, *c))
        .fold(f64::NEG_INFINITY, f64::max)
        .max(
            // A source that declares forecasts only has no age to keep; its values count as continuous.
            if source.cadences.iter().all(|c| *c == Cadence::Forecast) {
                allowed_age_h(source, Cadence::Continuous)
            } else {
                f64::NEG_INFINITY
            },
        )
}

/// A gap that leaves a figure out.
pub(super) fn left_out(what: &str, reason: GapReason, figure: &str) -> Gap {
    Gap {
        what: what.to_owned(),
        reason,
        consequence: Consequence::LeftOut {
            figure: figure.to_owned(),
        },
    }
}

/// A gap that makes a figure's interval wider.
pub(super) fn wider(what: &str, reason: GapReason, figure: &str) -> Gap {
    Gap {
        what: what.to_owned(),
        reason,
        consequence: Consequence::Wider {
            figure: figure.to_owned(),
        },
    }
}

/// A gap that leaves a danger unjudged, so that its caution is given.
pub(super) fn caution_given(what: &str, reason: GapReason, caution: &str) -> Gap {
    Gap {
        what: what.to_owned(),
        reason,
        consequence: Consequence::CautionGiven {
            caution: caution.to_owned(),
        },
    }
}
