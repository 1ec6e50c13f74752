//! What a brief says of the figures that notices wait for. A figure that rests on a late or missing feed is not known.

use chrono::{DateTime, Days, NaiveDate, Utc};

use super::brief::{Brief, Lacking};
use crate::column::ProfileBasis;
use crate::lake::{BandEdge, Lake, Notice, NoticeCondition, SpeciesId, ZoneId};
use crate::notices::{Lack, NoticeFigure, Reading};
use crate::plan::RampDay;

/// Chance of too little water from which on a ramp counts as out of use.
const OUT_PROB: f64 = 0.5;
/// A flow older than this is late for a notice, hours (project choice: two daily values missed).
const FLOW_LATE_H: f64 = 72.0;

/// The chance that a zone has turned over by the end of a day, where an outlook gives it.
pub type TurnoverProb<'o> = dyn Fn(&ZoneId, NaiveDate) -> Option<f64> + 'o;

/// What `brief` says of each notice of the lake file, in its order. Pure: the same brief gives the same readings.
pub fn notice_readings<'l>(
    lake: &'l Lake,
    brief: &Brief,
    turnover: &TurnoverProb<'_>,
) -> Vec<(&'l Notice, Reading)> {
    let of = |notice: &'l Notice| {
        let read = reading(lake, brief, &notice.condition, turnover);
        (notice, read.unwrap_or_else(Reading::NotKnown))
    };
    lake.notices.iter().map(of).collect()
}

fn reading(
    lake: &Lake,
    brief: &Brief,
    condition: &NoticeCondition,
    turnover: &TurnoverProb<'_>,
) -> Result<Reading, Lack> {
    let lacks = |wanted: fn(&Lacking) -> bool| brief.trust.lacking.iter().any(wanted);
    let has_level = !lacks(|lacking| matches!(lacking, Lacking::Level { .. }));
    let has_water = !lacks(|lacking| matches!(lacking, Lacking::WaterTemperature));
    match condition {
        NoticeCondition::Turnover {
            zone,
            within_days,
            at_least_prob,
            ..
        } => {
            let today = day_of(lake, brief.as_of);
            let last = today.checked_add_days(Days::new(u64::from(*within_days)));
            let chance_prob = last.and_then(|last| turnover(zone, last));
            let chance_prob = chance_prob.ok_or(Lack::TurnoverOutlook)?;
            // Mixed already, there is nothing left to tell of in advance.
            let over = turnover(zone, today).is_some_and(|now| now >= *at_least_prob);
            let figure = NoticeFigure::Chance {
                chance_prob,
                date: None,
            };
            Ok(Reading::Known { figure, over })
        }
        NoticeCondition::RampOut {
            ramp,
            within_days,
            at_least_prob,
            ..
        } => {
            let days = ramp_days(brief, ramp, has_level)?;
            let is_out = days[0].below_prob >= OUT_PROB;
            chance(&days, *within_days, *at_least_prob, |day| day.below_prob, is_out)
        }
        NoticeCondition::RampBack {
            ramp,
            within_days,
            at_least_prob,
            ..
        } => {
            let days = ramp_days(brief, ramp, has_level)?;
            let is_back = days[0].below_prob < OUT_PROB;
            chance(
                &days,
                *within_days,
                *at_least_prob,
                |day| 1.0 - day.below_prob,
                is_back,
            )
        }
        NoticeCondition::Pulse { inflow, .. } => {
            let is_late =
                |lacking: &Lacking| matches!(lacking, Lacking::Inflow { inflow: late, .. } if late == inflow);
            let found = brief.inflows.iter().find(|found| &found.inflow == inflow);
            let found = found.ok_or(Lack::Inflow)?;
            let age_h = (brief.as_of - found.observed_at).num_seconds() as f64 / 3600.0;
            if brief.trust.lacking.iter().any(is_late) || age_h > FLOW_LATE_H {
                return Err(Lack::Inflow);
            }
            Ok(waiting(NoticeFigure::Flow {
                ratio: found.ratio.ok_or(Lack::Baseflow)?,
                discharge_m3s: found.discharge_m3s,
            }))
        }
        NoticeCondition::Depth { species, edge, .. } => {
            let call = brief.whereabouts.get(species).ok_or(Lack::Depth)?;
            if !has_water || !has_level || call.band_basis == ProfileBasis::SeasonOnly {
                return Err(Lack::Depth);
            }
            // Where none of the band is water that the species can live in, its depth tells nothing of where it is.
            if !call.band_reaches_limits() {
                return Err(Lack::OutsideLimits);
            }
            let depth_m = match edge {
                BandEdge::Top => call.band_top_m,
                BandEdge::Best => call.band_best_m,
                BandEdge::Bottom => call.band_bottom_m,
            };
            let depth_m = depth_m.ok_or(Lack::Depth)?;
            Ok(waiting(NoticeFigure::Depth { depth_m }))
        }
        NoticeCondition::SurfaceTemp { zone, .. } => surface(brief, zone),
        NoticeCondition::Level { .. } => {
            let pool = brief.pool.as_ref().filter(|_| has_level).ok_or(Lack::Level)?;
            Ok(waiting(NoticeFigure::Level {
                elevation_m: pool.elevation_m,
            }))
        }
        NoticeCondition::Share { species, zone, .. } => {
            let has_flows = !lacks(|lacking| matches!(lacking, Lacking::Inflow { .. }));
            let known = has_water && has_level && has_flows;
            let share_frac = known.then(|| share(brief, species, zone)).flatten();
            let share_frac = share_frac.ok_or(Lack::Shares)?;
            Ok(waiting(NoticeFigure::Share { share_frac }))
        }
    }
}

fn waiting(figure: NoticeFigure) -> Reading {
    Reading::Known { figure, over: false }
}

fn day_of(lake: &Lake, at: DateTime<Utc>) -> NaiveDate {
    at.with_timezone(&lake.time_zone).date_naive()
}

/// The days ahead of a ramp, at least one.
fn ramp_days(brief: &Brief, id: &str, has_level: bool) -> Result<Vec<RampDay>, Lack> {
    let ramp = brief.ramps.iter().find(|ramp| ramp.id == id && has_level);
    let outlook = ramp.ok_or(Lack::Level)?.outlook.as_ref();
    let days = outlook.map(|outlook| outlook.days.clone());
    days.filter(|days| !days.is_empty()).ok_or(Lack::LevelOutlook)
}

/// The highest chance of the days up to `within_days` after the first.
fn chance(
    days: &[RampDay],
    within_days: u32,
    at_least_prob: f64,
    prob: impl Fn(&RampDay) -> f64,
    over: bool,
) -> Result<Reading, Lack> {
    let first = days.first().ok_or(Lack::LevelOutlook)?.date;
    let is_within = |day: &&RampDay| (day.date - first).num_days() <= i64::from(within_days);
    let reaches = days
        .last()
        .is_some_and(|day| (day.date - first).num_days() >= i64::from(within_days));
    let chances = || days.iter().filter(is_within);
    let chance_prob = chances().map(&prob).fold(0.0, f64::max);
    if !reaches && chance_prob < at_least_prob {
        return Err(Lack::LevelOutlook);
    }
    let reached = chances().find(|day| prob(day) >= at_least_prob);
    Ok(Reading::Known {
        figure: NoticeFigure::Chance {
            chance_prob,
            date: reached.map(|day| day.date),
        },
        over,
    })
}

fn surface(brief: &Brief, zone: &ZoneId) -> Result<Reading, Lack> {
    let found = brief.water.zones.iter().find(|found| &found.zone == zone);
    let found = found.filter(|found| !found.closed && found.basis != ProfileBasis::SeasonOnly);
    let top = found.and_then(|found| found.temps.first()).ok_or(Lack::Water)?;
    Ok(waiting(NoticeFigure::Temp {
        temp_degc: top.median_degc,
    }))
}

fn share(brief: &Brief, species: &SpeciesId, zone: &ZoneId) -> Option<f64> {
    let call = brief.whereabouts.get(species)?;
    call.zones.get(zone).map(|share| share.share)
}
