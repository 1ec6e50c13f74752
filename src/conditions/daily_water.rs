//! Daily flows and levels as a morning knows them, for the models that are driven by them.

use super::assemble::{balance, bridge_level, states_of};
use super::balance::DayValue;
use super::flow::inflow_records;
use super::morning::Morning;
use crate::lake::{InflowFlow, InflowId, Lake, SeriesId};
use crate::quantity::Quantity;
use crate::series::{Daily, Gap, GapReason, SeriesSet};

/// Daily discharge of an inflow.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyInflow {
    /// Inflow.
    pub inflow: InflowId,
    /// Discharge of each day, m3/s.
    pub daily: Daily,
    /// Series of the gauge and the factor on its flow; `None` where the discharge is computed from a balance, so that values
    /// within the day are noise.
    pub gauge: Option<(SeriesId, f64)>,
}

/// Daily levels.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyLevel {
    /// Level of each day, m.
    pub daily: Daily,
    /// Series that the lake goes by.
    pub series: SeriesId,
    /// Whether a value is the reading at the end of its day; else it is the day's mean.
    pub at_end_of_day: bool,
}

/// What is known of the lake's water day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyWater {
    /// Inflows with a known flow, in the order of the lake file.
    pub inflows: Vec<DailyInflow>,
    /// Level; holes bridged by the balance where all flows are known.
    pub level: Option<DailyLevel>,
    /// Release of all outlets together, m3/s, and its series.
    ///
    /// # Errors
    /// Why it is not known.
    pub release: Result<(Daily, SeriesId), GapReason>,
    /// What is not known, and what stands in.
    pub gaps: Vec<Gap>,
}

/// Flows and levels day by day, chosen and joined as for the conditions of the morning of `set.as_of`.
pub fn daily_water(lake: &Lake, set: &SeriesSet) -> DailyWater {
    let morning = Morning::new(lake, set);
    let mut gaps = Vec::new();
    let mut level = states_of(&morning, Quantity::PoolElevation);
    let level_series = morning.source(Quantity::PoolElevation, &morning.lake_places());
    let balance = balance(&morning, level.as_ref());
    let records = inflow_records(&morning, balance.as_ref(), &mut gaps);
    if let Some(level) = level.as_mut() {
        bridge_level(&morning, level, &records);
    }
    let gauge = |record: &super::flow::InflowRecord<'_>| {
        let (gauged, factor) = match &record.inflow.flow {
            InflowFlow::Series => (&record.inflow.id, 1.0),
            InflowFlow::FromGauge { gauge, factor } => (gauge, *factor),
        };
        let source = morning
            .source(Quantity::Inflow, &[Morning::inflow_place(gauged)])
            .ok()?;
        (!record.is_computed()).then(|| (source.id.clone(), factor))
    };
    let inflows = records.iter().map(|record| DailyInflow {
        inflow: record.inflow.id.clone(),
        daily: record.daily.clone(),
        gauge: gauge(record),
    });
    let inflows = inflows.collect();
    let release = morning
        .source(Quantity::Release, &morning.lake_places())
        .and_then(|source| {
            let daily = morning.daily(source).ok_or(GapReason::NoData)?;
            Ok((daily, source.id.clone()))
        });
    DailyWater {
        inflows,
        level: level
            .zip(level_series.ok())
            .map(|((daily, is), source)| DailyLevel {
                daily,
                series: source.id.clone(),
                at_end_of_day: is == DayValue::EndOfDay,
            }),
        release,
        gaps,
    }
}
