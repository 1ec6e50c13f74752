//! The outlook of one morning: from the balance of the lake's series, else from the slope of its level.

use chrono::{DateTime, Days, Duration, NaiveDate, Utc};

use super::carry::Limits;
use super::inflow::{INFLOW_MIN_DAYS, InflowModel};
use super::project::{MemberState, ProjectionInputs, ProjectionTimes, inflow_of_member, project_member};
use super::release::{RELEASE_MIN_CHANGES, ReleaseModel};
use super::river::{Span, forecast_parts};
use super::slope::SlopeModel;
use super::total::{evaporation_m3s, newest_within, standing_release, total_inflow};
use super::{
    GaugedAhead, InflowOrigin, LevelDay, LevelOutlook, LevelProjection, OutlookBasis, RiverForecast,
};
use crate::conditions::balance::{DayValue, elevation_at_m, storage_at_m3};
use crate::conditions::flow::InflowRecord;
use crate::conditions::level::LEVEL_READING_SD_M;
use crate::conditions::morning::{Morning, left_out};
use crate::conditions::{PoolCondition, TripWindow};
use crate::lake::{Cadence, Hypsography, Lake};
use crate::math::interpolate::linear;
use crate::math::quantiles::quantile_of_sorted;
use crate::math::streams::{normal, stream};
use crate::quantity::Quantity;
use crate::series::{Consequence, Daily, Gap, GapReason};

/// Days ahead of the day of the trip (project choice: as far as weather ensembles reach).
pub const HORIZON_DAYS: u64 = 16;
/// Members of the projection (project choice: a probability of 10 % is known to 1 %).
const MEMBERS: usize = 1000;
/// Members that are kept one by one to be judged later (project choice: a score of 40 hardly differs from that of all).
const FIRST_MEMBERS: usize = 40;
/// Seed of the members, the same on every morning, so that two mornings differ by their data alone.
const SEED: u64 = 0x6C65_7665_6C73;
/// A level older than this is not carried on (project choice).
const OLDEST_START_DAYS: i64 = 7;

/// What the morning knows of the lake's water.
pub(in crate::conditions) struct KnownWater<'a> {
    /// Daily levels and what they stand for.
    pub level: Option<&'a (Daily, DayValue)>,
    /// Inflow of the whole lake by its balance.
    pub balance: Option<&'a Daily>,
    /// Inflows with a known flow.
    pub records: &'a [InflowRecord<'a>],
}

/// Where the outlook starts, and the instants that it is wanted for.
struct Start {
    level_m: f64,
    at: DateTime<Utc>,
    days: Vec<(NaiveDate, DateTime<Utc>)>,
}

/// The level of the trip's day and the 16 days after it. Pushes a gap where the balance cannot be carried on:
/// then the slope of the week stands in, or the outlook is left out.
pub(in crate::conditions) fn level_projection(
    morning: &Morning,
    trip: &TripWindow,
    pool: Option<&PoolCondition>,
    known: &KnownWater,
    gaps: &mut Vec<Gap>,
) -> Option<LevelProjection> {
    let pool = pool?;
    let start = start(morning, trip, pool, known)?;
    if let Some(reason) = too_old(morning, start.at) {
        gaps.push(left_out(
            "level ahead",
            reason,
            "level and ramps of the days ahead",
        ));
        return None;
    }
    let (what, reason) = match by_balance(morning, known, &start, gaps) {
        Ok(projection) => return Some(projection),
        Err(lacking) => lacking,
    };
    let by_slope = by_slope(morning, known, &start);
    let consequence = if by_slope.is_some() {
        Consequence::StandIn {
            stand_in: "level ahead by the slope of the last 7 days".to_owned(),
        }
    } else {
        Consequence::LeftOut {
            figure: "level and ramps of the days ahead".to_owned(),
        }
    };
    gaps.push(Gap {
        what: what.to_owned(),
        reason,
        consequence,
    });
    by_slope
}

fn start(morning: &Morning, trip: &TripWindow, pool: &PoolCondition, known: &KnownWater) -> Option<Start> {
    let local = morning.clock.local(trip.from).naive_local();
    let days = (0..=HORIZON_DAYS)
        .map(|k| {
            let later = local.checked_add_days(Days::new(k))?;
            let at = if k == 0 {
                trip.from
            } else {
                morning.clock.instant(later)
            };
            Some((later.date(), at))
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Start {
        level_m: pool.elevation_m,
        at: state_time(morning, pool.observed_at, known),
        days,
    })
}

/// Instant at which the lake stood at the newest level: of a reading its own; of a daily value, stamped with the
/// beginning of its day, noon or the day's end, but not after the clock of the brief.
fn state_time(morning: &Morning, observed_at: DateTime<Utc>, known: &KnownWater) -> DateTime<Utc> {
    let is_reading = morning
        .source(Quantity::PoolElevation, &morning.lake_places())
        .is_ok_and(|source| {
            let rows = morning.set.observations(&source.id, Cadence::Continuous);
            rows.iter().any(|row| row.time == observed_at)
        });
    let lag_h = match known.level.map(|(_, is)| is) {
        _ if is_reading => 0,
        Some(DayValue::EndOfDay) => 24,
        Some(DayValue::Mean) | None => 12,
    };
    (observed_at + Duration::hours(lag_h)).min(morning.set.as_of)
}

fn too_old(morning: &Morning, at: DateTime<Utc>) -> Option<GapReason> {
    let (age_h, allowed_h) = (morning.age_h(at), (OLDEST_START_DAYS * 24) as f64);
    (age_h > allowed_h).then_some(GapReason::Late {
        newest: at,
        age_h,
        allowed_h,
    })
}

/// The projection through the balance, or what is lacking for it and why.
fn by_balance(
    morning: &Morning,
    known: &KnownWater,
    start: &Start,
    gaps: &mut Vec<Gap>,
) -> Result<LevelProjection, (&'static str, GapReason)> {
    let table = morning.lake.hypsography.as_ref();
    let table = table.ok_or(("hypsography", GapReason::NotDescribed))?;
    let outside = ("hypsography", GapReason::NotDescribed);
    let storage_m3 = storage_at_m3(table, start.level_m).ok_or(outside.clone())?;
    let area_m2 = table.area_m2(start.level_m).ok_or(outside.clone())?;
    let (crest_m, dead_pool_m) = held_between_m(morning.lake, Some(table), start.level_m);
    let limits = Limits {
        dead_pool_m3: storage_at_m3(table, dead_pool_m).ok_or(outside.clone())?,
        crest_m3: storage_at_m3(table, crest_m).ok_or(outside)?,
    };
    let release = standing_release(morning).map_err(|reason| ("release", reason))?;
    let inflow = total_inflow(morning, known.records, known.balance);
    let inflow = inflow.ok_or(("inflow", GapReason::NoData))?;
    let newest_of = |what, daily: &Daily| {
        let end = newest_within(morning, daily, OLDEST_START_DAYS).map_err(|reason| (what, reason))?;
        Ok((end, daily.date(end)))
    };
    let (inflow_end, inflow_day) = newest_of("inflow", &inflow.daily)?;
    let (release_end, release_day) = newest_of("release", &release)?;
    let origin = morning.clock.standard_day_start(inflow_day);
    let days_of = |at: DateTime<Utc>| (at - origin).num_seconds() as f64 / 86_400.0;
    let times = ProjectionTimes {
        start_days: days_of(start.at),
        wanted_days: start.days.iter().map(|(_, at)| days_of(*at)).collect(),
    };
    let leads = times.wanted_days.last().map_or(0, |t| t.max(0.0).ceil() as usize);
    let too_few = |daily: &Daily, wanted: usize| GapReason::TooFew {
        found: daily.value.iter().flatten().count(),
        wanted,
    };
    let inflow_model = InflowModel::fit(&inflow.daily, inflow_end, leads)
        .ok_or_else(|| ("inflow", too_few(&inflow.daily, INFLOW_MIN_DAYS)))?;
    let release_after_inflow = (release_day - inflow_day).num_days();
    let release_leads = usize::try_from(leads as i64 - release_after_inflow).unwrap_or(0);
    let plans = &morning.lake.planned_release;
    let release_model = ReleaseModel::fit(&release, release_end)
        .map(|model| model.with_plan(plans, release_day, release_leads));
    let release_model = release_model.ok_or_else(|| ("release", too_few(&release, RELEASE_MIN_CHANGES)))?;
    let span = Span {
        newest_day: inflow_day,
        leads,
    };
    let (parts, river_forecasts) = forecast_parts(morning, known.records, &inflow, span, gaps);
    let evaporation_m3s = evaporation_m3s(morning, area_m2, gaps);
    let inputs = ProjectionInputs {
        storage_m3,
        storage_sd_m3: LEVEL_READING_SD_M * area_m2,
        inflow: inflow_model.with_forecasts(parts),
        release: release_model,
        release_after_inflow,
        evaporation_m3s: evaporation_m3s.unwrap_or(0.0),
        closure_sd_m3s: inflow.closure_sd_m3s,
        limits,
    };
    let members: Vec<Vec<(f64, bool, bool)>> = (0..MEMBERS)
        .map(|m| project_member(&inputs, &times, SEED, m))
        .map(|states| {
            states
                .iter()
                .map(|s| at_level(table, s))
                .collect::<Option<Vec<_>>>()
        })
        .collect::<Option<_>>()
        .ok_or(("hypsography", GapReason::NotDescribed))?;
    let basis = OutlookBasis::WaterBalance {
        inflow_m3s: inputs.inflow.newest_m3s,
        inflow_from: inflow.from,
        release_m3s: inputs.release.newest_m3s,
        planned_days: start
            .days
            .iter()
            .filter(|(date, _)| *date > release_day)
            .filter(|(date, _)| plans.iter().any(|p| (p.from..=p.until).contains(date)))
            .count(),
        evaporation_m3s,
        inflow_persistence: inputs.inflow.departure.rho,
        crest_m,
        dead_pool_m,
    };
    let gauged = gauged_ahead(&inputs.inflow, inflow.from, (inflow_day, leads));
    Ok(LevelProjection {
        gauged,
        ..projection(basis, river_forecasts, start, &members)
    })
}

/// The inflow of the first members, as drawn for their levels, in the reading of the gauges.
fn gauged_ahead(
    model: &InflowModel,
    from: InflowOrigin,
    (newest_day, leads): (NaiveDate, usize),
) -> Option<GaugedAhead> {
    let factor = match from {
        InflowOrigin::Gauges { factor } => factor,
        InflowOrigin::GaugesAlone => 1.0,
        InflowOrigin::Balance => return None,
    };
    let paths_m3s: Vec<Vec<f64>> = (0..FIRST_MEMBERS)
        .map(|member| inflow_of_member(model, SEED, member))
        .collect();
    let day = |lead: usize| {
        let of_member = |path_m3s: &Vec<f64>| path_m3s.get(lead).map(|flow_m3s| flow_m3s / factor);
        let date = newest_day.checked_add_days(Days::new(lead as u64))?;
        Some((
            date,
            paths_m3s.iter().map(of_member).collect::<Option<Vec<f64>>>()?,
        ))
    };
    Some(GaugedAhead {
        newest_day,
        newest_m3s: model.newest_m3s / factor,
        days: (1..=leads).filter_map(day).collect(),
    })
}

fn at_level(table: &Hypsography, state: &MemberState) -> Option<(f64, bool, bool)> {
    let level_m = elevation_at_m(table, state.storage_m3)?;
    Some((level_m, state.was_at_crest, state.was_at_dead_pool))
}

/// Crest and dead pool that members are held between: full and minimum pool of the lake file, moved to today's
/// level where that lies beyond, within the table.
fn held_between_m(lake: &Lake, table: Option<&Hypsography>, level_m: f64) -> (f64, f64) {
    let top_m = table
        .and_then(Hypsography::top_elevation_m)
        .unwrap_or(f64::INFINITY);
    let bed_m = table
        .and_then(Hypsography::bed_elevation_m)
        .unwrap_or(f64::NEG_INFINITY);
    (
        lake.full_pool_elevation_m.max(level_m).min(top_m),
        lake.minimum_pool_elevation_m.min(level_m).max(bed_m),
    )
}

/// The slope of the week carried on; each member errs to one side on all days, as much as its normal number says.
fn by_slope(morning: &Morning, known: &KnownWater, start: &Start) -> Option<LevelProjection> {
    let (level, _) = known.level?;
    let end = newest_within(morning, level, OLDEST_START_DAYS).ok()?;
    let lead_days = |at: DateTime<Utc>| (at - start.at).num_seconds() as f64 / 86_400.0;
    let last_days = start.days.last().map(|(_, at)| lead_days(*at))?;
    let model = SlopeModel::fit(level, end, last_days.max(0.0).ceil() as usize)?;
    let leads: Vec<f64> = (0..model.sd_m.len()).map(|k| k as f64).collect();
    let (crest_m, dead_pool_m) = held_between_m(morning.lake, None, start.level_m);
    let member = |m: usize| -> Option<Vec<(f64, bool, bool)>> {
        let mut numbers = stream(SEED, &format!("level/slope/{m}"));
        let (side, reading) = (normal(&mut numbers), normal(&mut numbers));
        let (mut was_at_crest, mut was_at_dead_pool) = (false, false);
        let level_at = |(_, at): &(NaiveDate, DateTime<Utc>)| {
            let ahead_days = lead_days(*at);
            let free_m = start.level_m
                + LEVEL_READING_SD_M * reading
                + model.slope_m_per_day * ahead_days
                + linear(&leads, &model.sd_m, ahead_days)? * side;
            was_at_crest |= free_m > crest_m;
            was_at_dead_pool |= free_m < dead_pool_m;
            Some((
                free_m.max(dead_pool_m).min(crest_m),
                was_at_crest,
                was_at_dead_pool,
            ))
        };
        start.days.iter().map(level_at).collect()
    };
    let members = (0..MEMBERS).map(member).collect::<Option<Vec<_>>>()?;
    let basis = OutlookBasis::SlopePersistence {
        slope_m_per_day: model.slope_m_per_day,
    };
    Some(projection(basis, Vec::new(), start, &members))
}

/// Figures and sorted levels of members with their flags. Shape of `members` `[member, day]`.
fn projection(
    basis: OutlookBasis,
    river_forecasts: Vec<RiverForecast>,
    start: &Start,
    members: &[Vec<(f64, bool, bool)>],
) -> LevelProjection {
    let count = members.len() as f64;
    let (mut sorted_m, mut first_members_m) = (Vec::new(), Vec::new());
    let mut days = Vec::new();
    for (i, (date, at)) in start.days.iter().enumerate() {
        let mut levels_m: Vec<f64> = members.iter().map(|m| m[i].0).collect();
        levels_m.sort_by(f64::total_cmp);
        let quantile = |prob| quantile_of_sorted(&levels_m, prob);
        if let (Some(low_m), Some(median_m), Some(high_m)) = (quantile(0.1), quantile(0.5), quantile(0.9)) {
            days.push(LevelDay {
                date: *date,
                at: *at,
                median_m,
                low_m,
                high_m,
                at_crest_frac: members.iter().filter(|m| m[i].1).count() as f64 / count,
                at_dead_pool_frac: members.iter().filter(|m| m[i].2).count() as f64 / count,
            });
            sorted_m.push(levels_m);
            first_members_m.push(members.iter().take(FIRST_MEMBERS).map(|m| m[i].0).collect());
        }
    }
    LevelProjection {
        outlook: LevelOutlook {
            basis,
            river_forecasts,
            members: members.len(),
            days,
        },
        sorted_m,
        first_members_m,
        gauged: None,
    }
}
