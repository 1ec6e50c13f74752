//! The flows that a projection starts from: all inflow together, release, evaporation.

use chrono::{Duration, NaiveDate};

use super::InflowOrigin;
use crate::conditions::balance::{HIGHEST_EVAPORATION_M, centred_mean};
use crate::conditions::flow::InflowRecord;
use crate::conditions::morning::{Morning, left_out};
use crate::math::quantiles::{mean, root_mean_square};
use crate::quantity::Quantity;
use crate::series::{Daily, Gap, GapReason};
use crate::units::S_PER_DAY;

/// Days over which the gauges are held against the balance, and days needed of them (project choices).
const CLOSURE_DAYS: i64 = 90;
const CLOSURE_MIN_DAYS: usize = 30;
/// Share of the lake's inflow by its balance that the gauges must have, and the most they may have: outside,
/// they do not describe it, and the balance alone is taken (project choice).
const GAUGED_FRAC: (f64, f64) = (0.5, 1.5);
/// Days of the means that the balance is left open by (project choice).
const BLOCK_DAYS: usize = 7;
/// Days of the balance's centred mean where it stands for the gauges.
const BALANCE_MEAN_DAYS: usize = 3;
/// Newest evaporation that still counts, and days of its mean (project choices).
const OLDEST_EVAPORATION_DAYS: i64 = 10;
const EVAPORATION_MEAN_DAYS: usize = 7;

/// All inflow of the lake.
pub(super) struct TotalInflow {
    pub daily: Daily,
    pub from: InflowOrigin,
    /// Deviation of what it leaves open of the balance, in means of a week; 0 where nothing is known of it.
    pub closure_sd_m3s: f64,
}

/// Entry of the newest measured day, no more than `oldest_days` before today.
///
/// # Errors
/// Why there is none.
pub(super) fn newest_within(morning: &Morning, daily: &Daily, oldest_days: i64) -> Result<usize, GapReason> {
    let end = daily.newest_measured(morning.today).ok_or(GapReason::NoData)?;
    let newest = morning.clock.standard_day_start(daily.date(end));
    let allowed_h = (oldest_days * 24) as f64;
    let age_h = morning.age_h(newest);
    if (morning.today - daily.date(end)).num_days() > oldest_days {
        return Err(GapReason::Late {
            newest,
            age_h,
            allowed_h,
        });
    }
    Ok(end)
}

/// Release of the lake, this morning's mean of 24 h as today's.
///
/// # Errors
/// Why there is none.
pub(super) fn standing_release(morning: &Morning) -> Result<Daily, GapReason> {
    let source = morning.source(Quantity::Release, &morning.lake_places())?;
    let mut daily = morning.daily(source).ok_or(GapReason::NoData)?;
    if let Some(running) = morning.last_24h(source) {
        set_day(
            &mut daily,
            morning.clock.standard_day(running.time),
            running.value,
        );
    }
    Ok(daily)
}

/// All inflow of the lake: the gauges together, raised to the lake's balance of the last 90 days, so that streams
/// without a gauge, rain and seepage are in it; where the gauges do not describe it, the balance alone, as its
/// 3-day mean. `None` where there is neither.
pub(super) fn total_inflow(
    morning: &Morning,
    records: &[InflowRecord],
    balance: Option<&Daily>,
) -> Option<TotalInflow> {
    let is_whole = !records.is_empty() && records.len() == morning.lake.inflows.len();
    if is_whole && let Some(gauged) = sum_of(morning, records) {
        let Some(closure) = balance.and_then(|b| closure(morning, &gauged, b)) else {
            // Nothing to hold the gauges against: they count as the whole.
            return Some(TotalInflow {
                daily: gauged,
                from: InflowOrigin::GaugesAlone,
                closure_sd_m3s: 0.0,
            });
        };
        if let Some((factor, closure_sd_m3s)) = closure {
            let mut daily = gauged;
            daily.value.iter_mut().flatten().for_each(|q| *q *= factor);
            return Some(TotalInflow {
                daily,
                from: InflowOrigin::Gauges { factor },
                closure_sd_m3s,
            });
        }
    }
    let mut daily = centred_mean(balance?, BALANCE_MEAN_DAYS)?;
    daily.value.iter_mut().for_each(|q| *q = q.filter(|q| *q > 0.0));
    Some(TotalInflow {
        daily,
        from: InflowOrigin::Balance,
        closure_sd_m3s: 0.0,
    })
}

/// Sum of the records on the days that all have, with the mean of the last 24 h as today's where all give one.
fn sum_of(morning: &Morning, records: &[InflowRecord]) -> Option<Daily> {
    let first = records.iter().map(|r| r.daily.first).max()?;
    let last = records.iter().filter_map(|r| r.daily.last()).min()?;
    let day_sum = |date: NaiveDate| records.iter().map(|r| r.daily.get(date)).sum::<Option<f64>>();
    let value = first
        .iter_days()
        .take_while(|d| *d <= last)
        .map(day_sum)
        .collect();
    let mut sum = Daily::new(first, value);
    let running: Option<Vec<(f64, NaiveDate)>> = records
        .iter()
        .map(|r| r.running.map(|(q, time)| (q, morning.clock.standard_day(time))))
        .collect();
    if let Some(running) = running
        && let Some(day) = running.iter().map(|(_, day)| *day).min()
    {
        set_day(&mut sum, day, running.iter().map(|(q, _)| q).sum());
    }
    sum.value.iter().any(Option::is_some).then_some(sum)
}

/// Factor from the gauges to the balance over the last 90 days, and the deviation of what is left in means of a
/// week. The outer `None`: too few common days. The inner: the gauges do not describe the inflow.
fn closure(morning: &Morning, gauged: &Daily, balance: &Daily) -> Option<Option<(f64, f64)>> {
    let from = morning.today - Duration::days(CLOSURE_DAYS);
    let pairs: Vec<(f64, f64)> = from
        .iter_days()
        .take_while(|d| *d <= morning.today)
        .filter_map(|d| Some((gauged.get(d)?, balance.get(d)?)))
        .collect();
    if pairs.len() < CLOSURE_MIN_DAYS {
        return None;
    }
    let gauged_sum: f64 = pairs.iter().map(|p| p.0).sum();
    let balance_sum: f64 = pairs.iter().map(|p| p.1).sum();
    let share = gauged_sum / balance_sum;
    if !(GAUGED_FRAC.0..=GAUGED_FRAC.1).contains(&share) {
        return Some(None);
    }
    let blocks: Vec<f64> = pairs
        .chunks_exact(BLOCK_DAYS)
        .filter_map(|week| mean(&week.iter().map(|(g, b)| b - g / share).collect::<Vec<_>>()))
        .collect();
    Some(Some((1.0 / share, root_mean_square(&blocks)?)))
}

/// Evaporation to hold: the mean of the last 7 days with a believable value, none of them older than 10 days.
/// `None` where the lake file names no series (the inflow is then net of it), and, with a gap, where the series
/// has nothing.
pub(super) fn evaporation_m3s(morning: &Morning, area_m2: f64, gaps: &mut Vec<Gap>) -> Option<f64> {
    let source = match morning.source(Quantity::Evaporation, &morning.lake_places()) {
        Ok(source) => source,
        Err(GapReason::NotDescribed) => return None,
        Err(reason) => {
            gaps.push(left_out("evaporation", reason, "its part of the level ahead"));
            return None;
        }
    };
    let highest_m3s = HIGHEST_EVAPORATION_M * area_m2 / S_PER_DAY;
    let recent = morning.daily(source).and_then(|daily| {
        let from = morning.today - Duration::days(OLDEST_EVAPORATION_DAYS);
        let window = daily.slice(from, morning.today)?;
        let believed = window.value.iter().flatten().copied();
        let believed: Vec<f64> = believed.filter(|e| (0.0..=highest_m3s).contains(e)).collect();
        mean(&believed[believed.len().saturating_sub(EVAPORATION_MEAN_DAYS)..])
    });
    if recent.is_none() {
        let reason = GapReason::TooFew { found: 0, wanted: 1 };
        gaps.push(left_out(
            source.id.as_str(),
            reason,
            "its part of the level ahead",
        ));
    }
    recent
}

/// Sets the value of `date`, lengthening the series where it ends before.
fn set_day(daily: &mut Daily, date: NaiveDate, flow_m3s: f64) {
    let Ok(index) = usize::try_from((date - daily.first).num_days()) else {
        return;
    };
    if index >= daily.value.len() {
        daily.value.resize(index + 1, None);
        daily.filled.resize(index + 1, false);
        daily.suspect.resize(index + 1, false);
    }
    daily.value[index] = Some(flow_m3s);
    daily.filled[index] = false;
}
