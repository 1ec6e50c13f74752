//! Series that stand in for each other: which one is used, why not the ones before it, and what is joined.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::allowed_age_h;
use super::morning::Morning;
use super::seam::{BIAS_DAYS, Bias, daily_differences, is_additive, join};
use super::weather::Covered;
use crate::lake::{Cadence, Lake, SeriesId, SeriesPlace, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Daily, GapReason, SeriesSet};

/// Days back in which two series of a chain must have met: a gauge may have been down for a season (project
/// choice). Of the days that both have the newest 30 count.
const JOIN_REACH_DAYS: u64 = 365;
/// Spread of the daily difference above which two series do not measure one thing (project choices).
const MOST_SPREAD_M: f64 = 0.1;
const MOST_SPREAD_DEGC: f64 = 1.0;

/// Which of the series that stand in for each other was used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SourceChoice {
    /// What they measure.
    pub quantity: Quantity,
    /// Where.
    pub place: SeriesPlace,
    /// What it is used for.
    pub purpose: SourcePurpose,
    /// The one used; `None` where none has anything.
    pub used: Option<SeriesId>,
    /// Those before it in the order, and why each was not taken.
    pub passed_over: Vec<PassedOver>,
    /// Series whose days fill the gaps of its daily values.
    pub joined: Vec<JoinedSource>,
}

/// What a series is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SourcePurpose {
    /// Newest value and daily values.
    Observed,
    /// Forecast of the trip.
    Forecast,
}

/// A series that was not taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PassedOver {
    /// Which.
    pub series: SeriesId,
    /// Why.
    pub reason: GapReason,
}

/// A series whose days fill the gaps of another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct JoinedSource {
    /// Which.
    pub series: SeriesId,
    /// Days taken from it, each less its bias.
    pub days_taken: usize,
    /// How it reads against the series used, in the SI unit of the quantity.
    pub bias: Bias,
}

/// Daily values of the chain that `source` belongs to: of the series that a morning uses, and on the days
/// that it lacks those of the others where the two agree (see `joined`). `table` makes the daily values of one series.
pub fn daily_of_chain(
    lake: &Lake,
    set: &SeriesSet,
    source: &SeriesSource,
    table: impl Fn(&SeriesSource) -> Option<Daily>,
) -> Option<Daily> {
    let chain = chain_with(lake, source);
    if chain.len() == 1 {
        return table(source);
    }
    let used = Morning::new(lake, set).best_of(&chain).ok()?;
    joined(&chain, used, table).map(|(daily, _)| daily)
}

/// The chain that holds `source`, from its first.
pub(super) fn chain_with<'a>(lake: &'a Lake, source: &'a SeriesSource) -> Vec<&'a SeriesSource> {
    let mut first = source;
    for _ in &lake.series {
        let before = lake
            .series
            .iter()
            .find(|s| first.stands_in_for.as_ref() == Some(&s.id));
        match before {
            Some(before) if before.quantity == source.quantity && before.place == source.place => {
                first = before;
            }
            _ => break,
        }
    }
    lake.chain_of(first)
}

/// Daily values of `used`, and on the days that it lacks those of the others of its chain, each less its
/// bias against it.
///
/// Two stations are never put together unseen: a series is joined only where it has 10 days in common with
/// the one used (the newest 30 of a year), where their difference spreads by no more than 0.1 m or 1 degC
/// from day to day, and where an addition can correct it. Else the one is used alone.
pub(super) fn joined(
    chain: &[&SeriesSource],
    used: &SeriesSource,
    table: impl Fn(&SeriesSource) -> Option<Daily>,
) -> Option<(Daily, Vec<JoinedSource>)> {
    let own = table(used)?;
    if !is_additive(used.quantity) {
        return Some((own, Vec::new()));
    }
    let mut daily = own.clone();
    let mut sources = Vec::new();
    for other in chain.iter().filter(|s| s.id != used.id) {
        let Some(theirs) = table(other) else { continue };
        let Some(last) = own.last().max(theirs.last()) else {
            continue;
        };
        let mut differences = daily_differences(&theirs, &own, last, JOIN_REACH_DAYS);
        let oldest = differences.len().saturating_sub(BIAS_DAYS as usize);
        differences.drain(..oldest);
        let Some(bias) = Bias::of(&differences).filter(|b| b.spread <= most_spread(used.quantity)) else {
            continue;
        };
        let with = join(&daily, &[(&theirs, bias.reads_high)]);
        let days = |d: &Daily| d.value.iter().flatten().count();
        let days_taken = days(&with) - days(&daily);
        if days_taken > 0 {
            daily = with;
            sources.push(JoinedSource {
                series: other.id.clone(),
                days_taken,
                bias,
            });
        }
    }
    Some((daily, sources))
}

fn most_spread(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::PoolElevation => MOST_SPREAD_M,
        _ => MOST_SPREAD_DEGC,
    }
}

/// What was chosen in every chain of the lake file that has more than one series, from `from` to `to` of the
/// trip. The past of air temperature is put together by the column, which says how.
pub(super) fn source_choices(morning: &Morning, from: DateTime<Utc>, to: DateTime<Utc>) -> Vec<SourceChoice> {
    let lake = morning.lake;
    let firsts = lake.series.iter().filter(|s| s.stands_in_for.is_none());
    let mut choices = Vec::new();
    for first in firsts {
        let chain = lake.chain_of(first);
        let with = |wanted: fn(&Cadence) -> bool| -> Vec<&SeriesSource> {
            let has = |s: &&&SeriesSource| s.cadences.iter().any(wanted);
            chain.iter().filter(has).copied().collect()
        };
        let observed = with(|c| *c != Cadence::Forecast);
        if observed.len() > 1 && first.quantity != Quantity::AirTemp {
            choices.push(observed_choice(morning, first, &observed));
        }
        let forecast = with(|c| *c == Cadence::Forecast);
        if forecast.len() > 1 {
            choices.push(forecast_choice(morning, first, &forecast, from, to));
        }
    }
    choices
}

fn observed_choice(morning: &Morning, first: &SeriesSource, chain: &[&SeriesSource]) -> SourceChoice {
    let used = chain_best(morning, chain);
    let before = chain
        .iter()
        .take_while(|s| used.is_none_or(|used| used.id != s.id));
    let reason = |source: &SeriesSource| match morning.newest(source) {
        Some(_) => morning.silent(source),
        None => morning.best_of(&[source]).err(),
    };
    let passed_over = before.map(|source| PassedOver {
        series: source.id.clone(),
        // A series in time is never passed over.
        reason: reason(source).unwrap_or(GapReason::NoData),
    });
    let joined = used.and_then(|used| joined(chain, used, |s| morning.own_daily(s)));
    SourceChoice {
        quantity: first.quantity,
        place: first.place.clone(),
        purpose: SourcePurpose::Observed,
        used: used.map(|s| s.id.clone()),
        passed_over: passed_over.collect(),
        joined: joined.map_or_else(Vec::new, |(_, joined)| joined),
    }
}

fn chain_best<'a>(morning: &Morning, chain: &[&'a SeriesSource]) -> Option<&'a SeriesSource> {
    let id = morning.best_of(chain).ok()?.id.clone();
    chain.iter().find(|s| s.id == id).copied()
}

/// Of series that stand in for each other the one whose forecast to take: the first that covers the trip
/// and is not late, else the newest that covers it.
pub(super) fn forecast_to_take<'a>(
    morning: &Morning<'a>,
    chain: &[&'a SeriesSource],
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Option<(&'a SeriesSource, Covered<'a>)> {
    let mut covering: Vec<(&SeriesSource, Covered)> = chain
        .iter()
        .filter_map(|s| Some((*s, Covered::of(morning.set.forecast(&s.id)?, from, to)?)))
        .collect();
    let in_time = covering
        .iter()
        .position(|(source, covered)| late_forecast(morning, source, covered.issued_at()).is_none());
    let newest = || {
        let issued = covering.iter().map(|(_, covered)| covered.issued_at());
        let newest = issued.max();
        covering
            .iter()
            .position(|(_, covered)| Some(covered.issued_at()) == newest)
    };
    let at = in_time.or_else(newest)?;
    Some(covering.swap_remove(at))
}

/// The gap of a forecast that is later than it may be; `None` where it is in time.
pub(super) fn late_forecast(
    morning: &Morning,
    source: &SeriesSource,
    issued: DateTime<Utc>,
) -> Option<GapReason> {
    let (age_h, allowed_h) = (morning.age_h(issued), allowed_age_h(source, Cadence::Forecast));
    (age_h > allowed_h).then_some(GapReason::Late {
        newest: issued,
        age_h,
        allowed_h,
    })
}

fn forecast_choice(
    morning: &Morning,
    first: &SeriesSource,
    chain: &[&SeriesSource],
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> SourceChoice {
    let described: Vec<&SeriesSource> = chain
        .iter()
        .filter_map(|s| morning.lake.series.iter().find(|own| own.id == s.id))
        .collect();
    let used = forecast_to_take(morning, &described, from, to).map(|(source, _)| source);
    let before = chain
        .iter()
        .take_while(|s| used.is_none_or(|used| used.id != s.id));
    let passed_over = before.map(|source| PassedOver {
        series: source.id.clone(),
        reason: match morning.set.forecast(&source.id) {
            None => GapReason::NoData,
            Some(batch) => {
                let holds = |t: &&DateTime<Utc>| (from..=to).contains(*t);
                let too_few = GapReason::TooFew {
                    found: batch.time.iter().filter(holds).count(),
                    wanted: usize::try_from((to - from).num_hours() + 1).unwrap_or(0),
                };
                late_forecast(morning, source, batch.issued_at).unwrap_or(too_few)
            }
        },
    });
    SourceChoice {
        quantity: first.quantity,
        place: first.place.clone(),
        purpose: SourcePurpose::Forecast,
        used: used.map(|s| s.id.clone()),
        passed_over: passed_over.collect(),
        joined: Vec::new(),
    }
}
