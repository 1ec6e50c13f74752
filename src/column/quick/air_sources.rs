//! Air temperature of one scale: the station, the weather archive and the forecast, each less its bias.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::conditions::allowed_age_h;
use crate::conditions::seam::{
    BIAS_DAYS, BIAS_FEWEST_DAYS, Bias, Hours, Seam, SeamBasis, SeamOutcome, SeamPart, daily_differences,
    hour_of, hourly_differences, join,
};
use crate::lake::{Cadence, Lake, SeriesPlace, SeriesSource};
use crate::math::quantiles::mean;
use crate::quantity::Quantity;
use crate::series::daily::daily_series_of;
use crate::series::{Daily, ForecastBatch, SeriesSet};

/// Measured days from which a station carries the equation alone: a year has all seasons (project choice).
const LONG_RECORD_DAYS: usize = 365;
const HOUR_S: i64 = 3600;

/// What air temperature there is.
pub(super) struct AirSources<'a> {
    /// The past, joined.
    pub past: Daily,
    /// Hourly means measured from the beginning of today on, by hour since 1970, joined.
    pub hours_today: BTreeMap<i64, f64>,
    /// The forecast.
    pub forecast: Option<AirForecast<'a>>,
    /// How each source was fitted to the one that the rest is measured by.
    pub seams: Vec<Seam>,
}

/// A forecast of air temperature, and how it reads.
pub(super) struct AirForecast<'a> {
    pub batch: &'a ForecastBatch,
    /// To be taken off: how high it reads; 0 where that is not known.
    pub reads_high_degc: f64,
    /// Standard error of it; 0 where nothing is taken off.
    pub error_degc: f64,
}

/// One source with a past, and its bias against the base.
struct Past<'a> {
    source: &'a SeriesSource,
    daily: Daily,
    bias: Option<Bias>,
}

impl<'a> AirSources<'a> {
    /// The sources of the lake file, brought to the scale of one of them, the base. `None` when no series
    /// has a past.
    ///
    /// The base is the first station that has 10 of the last 30 days, and either a year of its own or 10 of
    /// those days in common with a weather archive that lengthens it; without one the first series with a
    /// past. The others fill the days that the base lacks, each less its own bias of the last 30 days; one
    /// whose bias is not known is left out. The forecast is the first that is not late; it is used with its
    /// bias not known, for there is nothing else of the days ahead. (Project choices.)
    pub fn read(
        lake: &'a Lake,
        set: &'a SeriesSet,
        clock: &LakeClock,
        today: NaiveDate,
    ) -> Option<AirSources<'a>> {
        let sources: Vec<&SeriesSource> = lake.series_of(Quantity::AirTemp, &SeriesPlace::Lake).collect();
        let mut pasts: Vec<Past<'a>> = sources
            .iter()
            .filter_map(|source| {
                Some(Past {
                    source,
                    daily: daily_series_of(set, source, clock)?,
                    bias: None,
                })
            })
            .collect();
        let base = pasts.remove(base_of(&pasts, today)?);
        let mut seams = Vec::new();
        for other in &mut pasts {
            let differences = daily_differences(&other.daily, &base.daily, today, BIAS_DAYS);
            other.bias = Bias::of(&differences);
            let found = Found {
                bias: other.bias.map(|bias| (bias, SeamBasis::DailyValues)),
                days: differences.len(),
            };
            seams.push(found.seam(other.source, SeamPart::Past, base.source));
        }
        let known: Vec<(&Past, f64)> = pasts
            .iter()
            .filter_map(|p| Some((p, p.bias?.reads_high)))
            .collect();
        let joined: Vec<(&Daily, f64)> = known.iter().map(|(p, high)| (&p.daily, *high)).collect();
        let start = clock.standard_day_start(today);
        let mut hours_today = BTreeMap::new();
        for (past, reads_high) in known.iter().rev().copied().chain([(&base, 0.0)]) {
            let own = observed_hours(set, past.source, start);
            hours_today.extend(own.value.into_iter().map(|(hour, v)| (hour, v - reads_high)));
        }
        let batch = forecast_of(base.source, &sources, set);
        let forecast = batch.map(|(source, batch)| {
            let found = forecast_bias(source, batch, &base, &pasts, set, clock);
            let bias = found.bias.map(|(bias, _)| bias);
            seams.push(found.seam(source, SeamPart::Forecast, base.source));
            AirForecast {
                batch,
                reads_high_degc: bias.map_or(0.0, |b| b.reads_high),
                error_degc: bias.map_or(0.0, |b| b.error()),
            }
        });
        Some(AirSources {
            past: join(&base.daily, &joined),
            hours_today,
            forecast,
            seams,
        })
    }
}

/// A bias, or how many days there were for one.
struct Found {
    bias: Option<(Bias, SeamBasis)>,
    days: usize,
}

impl Found {
    fn seam(&self, source: &SeriesSource, part: SeamPart, base: &SeriesSource) -> Seam {
        let bias = self.bias.map(|(bias, _)| bias);
        Seam {
            series: source.id.clone(),
            part,
            against: base.id.clone(),
            against_station: base.station.clone(),
            basis: self.bias.map(|(_, basis)| basis),
            reads_high_degc: bias.map(|b| b.reads_high),
            spread_degc: bias.map(|b| b.spread),
            days: bias.map_or(self.days, |b| b.days),
            days_wanted: BIAS_FEWEST_DAYS,
            of_days: BIAS_DAYS,
            outcome: match (bias, part) {
                (Some(_), _) => SeamOutcome::Corrected,
                (None, SeamPart::Forecast) => SeamOutcome::AsIssued,
                (None, SeamPart::Past) => SeamOutcome::NotUsed,
            },
        }
    }
}

/// Whether a series was observed: it goes by station, or by a file without forecasts. One that goes by
/// position is a model's.
fn is_observed(source: &SeriesSource) -> bool {
    let file = source.csv.is_some() && !source.cadences.contains(&Cadence::Forecast);
    !source.station.is_empty() || file
}

/// Position of the base among `pasts`; `None` when there are none.
fn base_of(pasts: &[Past], today: NaiveDate) -> Option<usize> {
    let measured = |daily: &Daily| (0..daily.value.len()).filter(|&i| daily.is_measured(i)).count();
    let common = |a: &Past, b: &Past| daily_differences(&a.daily, &b.daily, today, BIAS_DAYS).len();
    let carries = |station: &&Past| {
        let mut archives = pasts.iter().filter(|p| !is_observed(p.source)).peekable();
        let alone = archives.peek().is_none() || measured(&station.daily) >= LONG_RECORD_DAYS;
        is_observed(station.source)
            && common(station, station) >= BIAS_FEWEST_DAYS
            && (alone || archives.any(|archive| common(archive, station) >= BIAS_FEWEST_DAYS))
    };
    let station = pasts.iter().find(carries);
    let model = || pasts.iter().find(|p| !is_observed(p.source));
    let base = station.or_else(model).or(pasts.first())?;
    pasts.iter().position(|p| p.source.id == base.source.id)
}

/// The forecast to take: the base's own, else in the order of the file; of these the first that is not
/// late, else the first.
fn forecast_of<'a>(
    base: &'a SeriesSource,
    sources: &[&'a SeriesSource],
    set: &'a SeriesSet,
) -> Option<(&'a SeriesSource, &'a ForecastBatch)> {
    let mut found = std::iter::once(base)
        .chain(sources.iter().copied())
        .filter_map(|source| Some((source, set.forecast(&source.id)?)));
    let in_time = |(source, batch): &(&SeriesSource, &ForecastBatch)| {
        let age_h = (set.as_of - batch.issued_at).num_seconds() as f64 / HOUR_S as f64;
        age_h <= allowed_age_h(source, Cadence::Forecast)
    };
    found.clone().find(in_time).or_else(|| found.next())
}

/// How high a forecast reads against the base: by the forecasts issued before it, at most 24 h ahead; else
/// by its own hours that have passed; else, of a model with a past of its own, as that past does.
fn forecast_bias(
    source: &SeriesSource,
    batch: &ForecastBatch,
    base: &Past,
    others: &[Past],
    set: &SeriesSet,
    clock: &LakeClock,
) -> Found {
    let from = set.as_of - chrono::Duration::days(BIAS_DAYS as i64 + 1);
    let observed = observed_hours(set, base.source, from);
    let passed = |batches: &[ForecastBatch]| hours_of(batches, from, set.as_of);
    let issued = differences(&passed(set.earlier_runs(&source.id)), &observed, base, clock);
    let own = differences(&passed(std::slice::from_ref(batch)), &observed, base, clock);
    let of = |d: &[f64], basis| Bias::of(d).map(|bias| (bias, basis));
    let same_past = || {
        let past = others.iter().find(|p| p.source.id == source.id)?;
        Some((past.bias?, SeamBasis::SamePast))
    };
    Found {
        bias: of(&issued, SeamBasis::IssuedForecasts)
            .or_else(|| of(&own, SeamBasis::PassedHours))
            .or_else(same_past),
        days: issued.len().max(own.len()),
    }
}

/// Differences by day from the hours that both have; where the base has daily values alone, of whole days.
fn differences(run: &Hours, observed: &Hours, base: &Past, clock: &LakeClock) -> Vec<f64> {
    let by_hour = hourly_differences(run, observed, clock);
    if !by_hour.is_empty() {
        return by_hour;
    }
    let mut days: BTreeMap<NaiveDate, (f64, u32)> = BTreeMap::new();
    for (hour, value) in &run.value {
        if let Some(time) = DateTime::from_timestamp(hour * HOUR_S, 0) {
            let slot = days.entry(clock.standard_day(time)).or_default();
            *slot = (slot.0 + value, slot.1 + 1);
        }
    }
    let whole = days
        .into_iter()
        .filter(|(_, (_, n))| f64::from(*n) * run.step_h >= 24.0);
    whole
        .filter_map(|(date, (sum, n))| Some(sum / f64::from(n) - base.daily.get(date)?))
        .collect()
}

/// Means over members by hour, from `from` to `to`; where runs overlap the later one's.
fn hours_of(runs: &[ForecastBatch], from: DateTime<Utc>, to: DateTime<Utc>) -> Hours {
    let mut value = BTreeMap::new();
    let mut step_h: f64 = 1.0;
    for run in runs {
        step_h = step_h.max(common_step_h(&run.time));
        for (step, time) in run.time.iter().enumerate() {
            let members = run.value.iter().filter_map(|m| m.get(step).copied().flatten());
            let members: Vec<f64> = members.filter(|v| v.is_finite()).collect();
            if let Some(mean) = mean(&members).filter(|_| (from..=to).contains(time)) {
                value.insert(hour_of(*time), mean);
            }
        }
    }
    Hours { value, step_h }
}

/// Hourly means measured from `from` on.
fn observed_hours(set: &SeriesSet, source: &SeriesSource, from: DateTime<Utc>) -> Hours {
    let rows = set.observations(&source.id, Cadence::Continuous);
    let rows = &rows[rows.partition_point(|o| o.time < from)..];
    let mut hours: BTreeMap<i64, (f64, u32)> = BTreeMap::new();
    for row in rows.iter().filter(|o| o.flag.is_usable()) {
        if let Some(value) = row.value {
            let slot = hours.entry(hour_of(row.time)).or_default();
            *slot = (slot.0 + value, slot.1 + 1);
        }
    }
    Hours {
        value: hours
            .into_iter()
            .map(|(hour, (sum, n))| (hour, sum / f64::from(n)))
            .collect(),
        step_h: 1.0,
    }
}

/// The step of a forecast in hours: the median of its spacings; one hour when it has a single time.
pub(super) fn common_step_h(times: &[DateTime<Utc>]) -> f64 {
    let mut steps: Vec<i64> = times.windows(2).map(|t| (t[1] - t[0]).num_seconds()).collect();
    steps.sort_unstable();
    steps
        .get(steps.len() / 2)
        .map_or(1.0, |s| *s as f64 / HOUR_S as f64)
}
