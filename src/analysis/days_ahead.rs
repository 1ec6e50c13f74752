//! The water of coming mornings: the members run on under their own weather, and read off at the clock of each.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};

use super::advance::{AdvanceOptions, MEMBERS, advance};
use super::error::AnalysisError;
use super::morning::{MorningSource, basis};
use crate::clock::LakeClock;
use crate::column::forcing::{Forcing, RiverFlow};
use crate::column::reservoir::zone_waters;
use crate::column::{RiverWater, WaterAhead, WaterOfDay};
use crate::conditions::FlowAhead;
use crate::lake::Lake;
use crate::math::quantiles::median;
use crate::series::SeriesSet;

/// Hours of the day before a morning that a river's temperature is the mean of.
const RIVER_HOURS: usize = 24;

/// The water at each of `mornings`, in the order of time and after the clock of `set`; mornings beyond the forecast are left out.
///
/// # Errors
/// [`AnalysisError`]: the columns cannot be run.
pub fn water_ahead(
    lake: &Lake,
    (set, newest_level_m): (&SeriesSet, Option<f64>),
    source: &MorningSource<'_>,
    mornings: &[DateTime<Utc>],
) -> Result<WaterAhead, AnalysisError> {
    let last = mornings.iter().max().copied().unwrap_or(set.as_of);
    let ahead_days = u32::try_from((last - set.as_of).num_days() + 2).unwrap_or(0);
    let options = AdvanceOptions {
        lake_file: source.lake_file,
        own: source.own,
        ahead_days,
    };
    let mut advanced = advance(lake, set, newest_level_m, source.states, &options)?;
    let ahead = std::mem::take(&mut advanced.forcing.ahead);
    let forcings: Vec<&Forcing> = ahead.iter().collect();
    let Some(first) = forcings.first() else {
        return Ok(WaterAhead::default());
    };
    let hours = forcings.iter().map(|f| f.weather.len()).min().unwrap_or(0);
    let mut days = Vec::new();
    let mut run = 0;
    for at in mornings {
        let hour = usize::try_from((*at - first.start).num_hours()).unwrap_or(0);
        if hour < run || hour == 0 || hour > hours {
            continue;
        }
        advanced.ensemble.run(&forcings, run..hour)?;
        run = hour;
        let rivers: Vec<RiverFlow> = (first.rivers.iter())
            .filter_map(|river| river.get(hour - 1).copied())
            .collect();
        days.push(WaterOfDay {
            at: *at,
            zones: zone_waters(lake, &advanced.ensemble, &rivers, |zone| basis(&advanced, zone)),
            rivers: river_waters(lake, &forcings, hour),
        });
    }
    Ok(WaterAhead {
        days,
        flows: flows(lake, &forcings, hours),
    })
}

/// Temperature of each river by member: the mean of the day before `hour`.
fn river_waters(lake: &Lake, forcings: &[&Forcing], hour: usize) -> Vec<RiverWater> {
    let hours = hour.saturating_sub(RIVER_HOURS)..hour;
    let of = |river: usize| -> Option<Vec<f64>> {
        (0..MEMBERS)
            .map(|member| {
                let own = forcings[member % forcings.len()].rivers.get(river)?;
                let day = own.get(hours.clone())?;
                let sum: f64 = day.iter().map(|flow| flow.temp_degc).sum();
                (!day.is_empty()).then(|| sum / day.len() as f64)
            })
            .collect()
    };
    lake.inflows
        .iter()
        .enumerate()
        .filter_map(|(i, inflow)| {
            Some(RiverWater {
                inflow: inflow.id.clone(),
                temp_degc: of(i)?,
                measured: false,
            })
        })
        .collect()
}

/// Daily means of each river, the median over members.
fn flows(lake: &Lake, forcings: &[&Forcing], hours: usize) -> Vec<FlowAhead> {
    let clock = LakeClock::new(lake.time_zone);
    let mut found = Vec::new();
    for (river, inflow) in lake.inflows.iter().enumerate() {
        let mut days: BTreeMap<NaiveDate, Vec<f64>> = BTreeMap::new();
        for forcing in forcings {
            let mut own: BTreeMap<NaiveDate, (f64, usize)> = BTreeMap::new();
            let steps = forcing.rivers.get(river).map_or(&[][..], Vec::as_slice);
            for (hour, flow) in steps.iter().take(hours).enumerate() {
                let (sum, count) = own
                    .entry(clock.standard_day(forcing.step_start(hour)))
                    .or_default();
                *sum += flow.discharge_m3s;
                *count += 1;
            }
            for (date, (sum, count)) in own {
                days.entry(date).or_default().push(sum / count as f64);
            }
        }
        found.extend(days.into_iter().filter_map(|(date, means)| {
            Some(FlowAhead {
                inflow: inflow.id.clone(),
                date,
                mean_m3s: median(&means)?,
            })
        }));
    }
    found
}
