//! What the lake's water balance says this morning: residence, and the inflow that it implies.

use super::balance::inflow_noise_m3s;
use super::level::LEVEL_READING_SD_M;
use super::morning::{Morning, Newest};
use super::residence::residence_days;
use super::{BalanceCondition, ImpliedInflow, PoolCondition};
use crate::math::quantiles::mean;
use crate::quantity::Quantity;
use crate::series::Daily;

/// Days of the release of the residence time, and days needed of them (project choice: the release of a day swings).
const RELEASE_DAYS: i64 = 30;
const RELEASE_MIN_DAYS: usize = 20;
/// Days of the implied inflow's mean, days needed, and age beyond which it is not of this morning (project choices).
const INFLOW_DAYS: usize = 7;
const INFLOW_MIN_DAYS: usize = 6;
const OLDEST_INFLOW_DAYS: i64 = 7;

/// The figures, each where it is known.
pub(super) fn balance_condition(
    morning: &Morning,
    storage: Option<Newest>,
    pool: Option<&PoolCondition>,
    balance: Option<&Daily>,
) -> BalanceCondition {
    let release_30d_m3s = mean_release_m3s(morning);
    BalanceCondition {
        release_30d_m3s,
        residence_days: storage
            .zip(release_30d_m3s)
            .and_then(|(storage, release)| residence_days(storage.value, release)),
        implied_inflow: balance.and_then(|b| implied_inflow(morning, pool, b)),
    }
}

fn mean_release_m3s(morning: &Morning) -> Option<f64> {
    let source = morning.source(Quantity::Release, &morning.lake_places()).ok()?;
    let from = morning.today - chrono::Duration::days(RELEASE_DAYS);
    let window = morning.daily(source)?.slice(from, morning.today)?;
    let values: Vec<f64> = window.value.iter().flatten().copied().collect();
    (values.len() >= RELEASE_MIN_DAYS)
        .then(|| mean(&values))
        .flatten()
}

fn implied_inflow(morning: &Morning, pool: Option<&PoolCondition>, balance: &Daily) -> Option<ImpliedInflow> {
    let end = balance.newest_measured(morning.today)?;
    let date = balance.date(end);
    if (morning.today - date).num_days() > OLDEST_INFLOW_DAYS {
        return None;
    }
    let week = &balance.value[(end + 1).saturating_sub(INFLOW_DAYS)..=end];
    let values: Vec<f64> = week.iter().flatten().copied().collect();
    if values.len() < INFLOW_MIN_DAYS {
        return None;
    }
    let area_m2 = pool
        .zip(morning.lake.hypsography.as_ref())
        .and_then(|(pool, table)| table.area_m2(pool.elevation_m));
    Some(ImpliedInflow {
        last_day: date,
        mean_7d_m3s: mean(&values)?,
        noise_sd_m3s: area_m2.map(|a| inflow_noise_m3s(LEVEL_READING_SD_M, a, INFLOW_DAYS as u32)),
    })
}
