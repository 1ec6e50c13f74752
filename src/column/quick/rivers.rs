//! Rivers: measured, or from air temperature and discharge.

use chrono::NaiveDate;

use super::air::AirRecord;
use super::climatology::year_frac;
use super::observed::with_newest;
use super::river_fit::{FittedRiver, PERSISTENCE, SPIN_UP_DAYS, START_DEGC, fit_river};
use crate::clock::LakeClock;
use crate::column::{RiverWater, WaterOptions};
use crate::conditions::{Conditions, daily_of_chain};
use crate::lake::{Inflow, InflowFlow, Lake, SeriesPlace, SeriesSource};
use crate::math::quantiles::mean;
use crate::math::streams::{normal, stream};
use crate::physics::river_temp::RiverDay;
use crate::quantity::Quantity;
use crate::series::daily::{daily_series, daily_series_of};
use crate::series::{Consequence, Daily, Gap, GapReason, SeriesSet};

/// Age of a measurement up to which a river counts as measured.
const FRESH_DAYS: i64 = 3;
/// Days of observations that a fit uses.
const FIT_DAYS: usize = 3 * 365;
/// Spread that a measured river without a model grows to (common practice, no source).
const UNMODELLED_DEGC: f64 = 3.0;
/// Days after the spin-up in which an observation may still pull the river.
const RECENT_DAYS: usize = 15;
/// Error of a measured day as a value for this morning's river (common practice, no source).
const MEASURED_ERROR_DEGC: f64 = 0.3;
/// Spread of the relative discharge where none is known, in its logarithm (common practice, no source).
const RATIO_SPREAD: f64 = 0.7;
/// The water of each inflow of the lake file that something is known of.
pub(super) fn rivers_at(
    lake: &Lake,
    conditions: &Conditions,
    set: &SeriesSet,
    options: &WaterOptions,
    air: Option<&AirRecord>,
    gaps: &mut Vec<Gap>,
) -> Vec<RiverWater> {
    let clock = LakeClock::new(lake.time_zone);
    let today = clock.standard_day(conditions.as_of);
    let mut rivers = Vec::new();
    for inflow in &lake.inflows {
        let seen = observed_daily(lake, inflow, conditions, set, &clock);
        let newest = seen.as_ref().and_then(|s| newest_on(s, today));
        let fresh = newest.is_some_and(|(date, _)| (today - date).num_days() <= FRESH_DAYS);
        let site = Site {
            lake,
            inflow,
            conditions,
            set,
            clock,
            today,
        };
        let model = air.and_then(|air| RiverModel::fit(&site, air, seen.as_ref()));
        let members = 0..options.members;
        let temp_degc: Vec<f64> = match (&model, newest) {
            (Some(model), _) => members
                .map(|m| model.member_degc(newest, m, options.seed))
                .collect(),
            (None, Some((date, temp_degc))) if fresh => {
                let error = UNMODELLED_DEGC * (1.0 - PERSISTENCE.powi((today - date).num_days() as i32));
                let noise = |m| {
                    normal(&mut stream(
                        options.seed,
                        &format!("water/river/{}/{m}", inflow.id),
                    ))
                };
                members
                    .map(|m| (temp_degc + error.max(MEASURED_ERROR_DEGC) * noise(m)).max(0.0))
                    .collect()
            }
            _ => {
                gaps.push(river_gap(inflow, GapReason::NoData, None));
                continue;
            }
        };
        if !fresh {
            let stand_in = "river temperature from air temperature".to_owned();
            gaps.push(river_gap(inflow, GapReason::NoData, Some(stand_in)));
        }
        rivers.push(RiverWater {
            inflow: inflow.id.clone(),
            temp_degc,
            measured: fresh,
        });
    }
    rivers
}

fn river_gap(inflow: &Inflow, reason: GapReason, stand_in: Option<String>) -> Gap {
    let consequence = match stand_in {
        Some(stand_in) => Consequence::StandIn { stand_in },
        None => Consequence::LeftOut {
            figure: format!("temperature of {}", inflow.name),
        },
    };
    Gap {
        what: format!("river temperature, {}", inflow.name),
        reason,
        consequence,
    }
}

/// One inflow on one morning.
struct Site<'a> {
    lake: &'a Lake,
    inflow: &'a Inflow,
    conditions: &'a Conditions,
    set: &'a SeriesSet,
    clock: LakeClock,
    today: NaiveDate,
}

/// The river equation fitted to one inflow, with its days up to today.
struct RiverModel {
    inflow: String,
    fitted: FittedRiver,
    today: NaiveDate,
    /// The last days of the run, today last.
    recent: Vec<RiverDay>,
    ratio_known: bool,
}

impl RiverModel {
    fn fit(site: &Site<'_>, air: &AirRecord, seen: Option<&Daily>) -> Option<RiverModel> {
        let now = air.index(site.today)?;
        let from = now.saturating_sub(FIT_DAYS + SPIN_UP_DAYS);
        let air_degc = air.best_degc();
        let (ratio, ratio_known) = ratios(site, air.date(from), now - from + 1);
        let days: Vec<RiverDay> = (from..=now)
            .zip(ratio)
            .map(|(i, discharge_ratio)| RiverDay {
                air_temp_degc: air_degc[i],
                discharge_ratio,
                year_frac: year_frac(air.date(i)),
            })
            .collect();
        let observed: Vec<(usize, f64)> = (0..days.len())
            .filter_map(|i| Some((i, seen?.get(air.date(from + i))?)))
            .collect();
        let fitted = fit_river(site.inflow.thermal_regime, &days, &observed)?;
        Some(RiverModel {
            inflow: site.inflow.id.to_string(),
            fitted,
            today: site.today,
            recent: days[days.len().saturating_sub(SPIN_UP_DAYS + RECENT_DAYS)..].to_vec(),
            ratio_known,
        })
    }

    /// This morning's temperature of one member; the error on the last observed day persists.
    fn member_degc(&self, newest: Option<(NaiveDate, f64)>, member: usize, seed: u64) -> f64 {
        let mut numbers = stream(seed, &format!("water/river/{}/{member}", self.inflow));
        let parameters = self.fitted.draw(&mut numbers);
        let factor = (RATIO_SPREAD * normal(&mut numbers)).exp();
        let factor = if self.ratio_known { 1.0 } else { factor };
        let days: Vec<RiverDay> = self
            .recent
            .iter()
            .map(|day| RiverDay {
                discharge_ratio: day.discharge_ratio * factor,
                ..*day
            })
            .collect();
        let run = parameters.run_degc(START_DEGC, &days);
        let Some(&last) = run.last() else {
            return START_DEGC;
        };
        let noise = normal(&mut numbers);
        let seen = newest.and_then(|(date, value)| {
            let age = usize::try_from((self.today - date).num_days()).ok()?;
            Some((value - run.get(run.len().checked_sub(age + 1)?)?, age))
        });
        let error = match seen {
            Some((residual, age)) => {
                let kept = PERSISTENCE.powi(age as i32);
                let fresh = (self.fitted.residual_degc * (1.0 - kept * kept).sqrt()).max(MEASURED_ERROR_DEGC);
                kept * residual + fresh * noise
            }
            None => self.fitted.residual_degc * noise,
        };
        (last + error).max(0.0)
    }
}

/// Discharge over its mean, day by day, and whether it is known; 1 where it is not. A gap holds the last
/// value; readings of no flow or less are gaps, for the equation needs water in the river.
fn ratios(site: &Site<'_>, first: NaiveDate, count: usize) -> (Vec<f64>, bool) {
    let Some(flow) = flow_daily(site) else {
        return (vec![1.0; count], false);
    };
    let positive: Vec<f64> = flow
        .value
        .iter()
        .copied()
        .flatten()
        .filter(|q| *q > 0.0)
        .collect();
    let stated_m3s = match site.inflow.flow {
        InflowFlow::Series => site.inflow.mean_flow_m3s,
        // The series is the gauge's, so its own mean must divide it.
        InflowFlow::FromGauge { .. } => None,
    };
    let Some(mean_m3s) = stated_m3s.or_else(|| mean(&positive)).filter(|m| *m > 0.0) else {
        return (vec![1.0; count], false);
    };
    let mut held = 1.0;
    let ratios = first.iter_days().take(count).map(|date| {
        if let Some(q) = flow.get(date).filter(|q| *q > 0.0) {
            held = q / mean_m3s;
        }
        held
    });
    (ratios.collect(), true)
}

fn flow_daily(site: &Site<'_>) -> Option<Daily> {
    let gauged = match &site.inflow.flow {
        InflowFlow::Series => &site.inflow.id,
        InflowFlow::FromGauge { gauge, .. } => gauge,
    };
    let place = SeriesPlace::Inflow(gauged.clone());
    let mut sources = site.lake.series_of(Quantity::Inflow, &place);
    let own = |source: &SeriesSource| daily_series_of(site.set, source, &site.clock);
    let mut series = sources.find_map(|source| daily_of_chain(site.lake, site.set, source, own))?;
    // This morning's flow, where the conditions have it newer than the last full day.
    let now = site.conditions.inflows.iter().find(|i| i.inflow == *gauged);
    if let (Some(now), Some(last)) = (now, series.last()) {
        let date = site.clock.standard_day(now.observed_at);
        if (date - last).num_days() == 1 {
            series = with_newest(Some(series), date, now.discharge_m3s);
        }
    }
    Some(series)
}

fn observed_daily(
    lake: &Lake,
    inflow: &Inflow,
    conditions: &Conditions,
    set: &SeriesSet,
    clock: &LakeClock,
) -> Option<Daily> {
    let place = SeriesPlace::Inflow(inflow.id.clone());
    let mut sources = lake.series_of(Quantity::RiverTemp, &place);
    let own = |source: &SeriesSource| daily_series(set, &source.id, clock);
    let series = sources.find_map(|source| daily_of_chain(lake, set, source, own));
    let condition = conditions.river_temps.iter().find(|r| r.inflow == inflow.id);
    let Some(condition) = condition else { return series };
    let date = clock.standard_day(condition.observed_at);
    Some(with_newest(series, date, condition.temp_degc))
}

fn newest_on(series: &Daily, today: NaiveDate) -> Option<(NaiveDate, f64)> {
    let index = series.newest_measured(today)?;
    Some((series.date(index), series.value[index]?))
}
