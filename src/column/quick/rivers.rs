//! Rivers: measured, or from air temperature and discharge.

use chrono::{Days, NaiveDate};

use super::air::AirRecord;
use super::climatology::year_frac;
use crate::clock::LakeClock;
use crate::column::{RiverWater, WaterOptions};
use crate::conditions::Conditions;
use crate::lake::{Inflow, InflowFlow, Lake, SeriesPlace, ThermalRegime};
use crate::math::map_fit::{MapFit, Prior, Search, fit_map};
use crate::math::quantiles::{mean, root_mean_square};
use crate::math::streams::{normal, stream};
use crate::physics::river_temp::{LOWLAND, REGULATED, RiverDay, RiverTemp, SNOW_FED};
use crate::quantity::Quantity;
use crate::series::daily::{daily_series, daily_series_of};
use crate::series::{Consequence, Daily, Gap, GapReason, SeriesSet};

/// Age of a measurement up to which a river counts as measured.
const FRESH_DAYS: i64 = 3;
/// Days of observations that a fit uses.
const FIT_DAYS: usize = 3 * 365;
/// Fewest observed days for a fit.
const FIT_FEWEST: usize = 30;
/// Days that a river runs before it is believed: its rate is near 1 a day.
const SPIN_UP_DAYS: usize = 30;
/// Spread of the published sets as priors: equilibrium offset (degC), and as shares a2, a3, a6, and of a
/// year a7 (common practice, no source: three rivers stand for all).
const SCATTER: [f64; 5] = [2.0, 0.20, 0.20, 0.30, 0.04];
/// Residual of an unfitted and of a fitted river before any is seen (published daily RMSE in validation
/// 0.6 to 1.1 degC on rivers that the sets were fitted to; doubled for another river).
const RESIDUAL_GUESS_DEGC: f64 = 2.0;
/// Residual that weighs an observation in the fit (published daily RMSE in validation: 0.6 to 1.1 degC).
const FIT_RESIDUAL_DEGC: f64 = 1.0;
/// Day-to-day correlation of the residual (common practice, no source).
const PERSISTENCE: f64 = 0.85;
/// Error of a measured day as a value for this morning's river (common practice, no source).
const MEASURED_ERROR_DEGC: f64 = 0.3;
/// Spread of the relative discharge where none is known, in its logarithm (common practice, no source).
const RATIO_SPREAD: f64 = 0.7;
/// Temperature that a river starts a run with (common practice, no source); forgotten within the spin-up.
const START_DEGC: f64 = 8.0;

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
        let site = Site { lake, inflow, conditions, set, clock, today };
        let model = air.and_then(|air| RiverModel::fit(&site, air, seen.as_ref()));
        let members = 0..options.members;
        let temp_degc: Vec<f64> = match (&model, newest) {
            (Some(model), _) => members.map(|m| model.member_degc(newest, m, options.seed)).collect(),
            (None, Some((date, temp_degc))) if fresh => {
                let error = RESIDUAL_GUESS_DEGC * (1.0 - PERSISTENCE.powi((today - date).num_days() as i32));
                let noise = |m| normal(&mut stream(options.seed, &format!("water/river/{}/{m}", inflow.id)));
                members.map(|m| (temp_degc + error.max(MEASURED_ERROR_DEGC) * noise(m)).max(0.0)).collect()
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
        rivers.push(RiverWater { inflow: inflow.id.clone(), temp_degc, measured: fresh });
    }
    rivers
}

fn river_gap(inflow: &Inflow, reason: GapReason, stand_in: Option<String>) -> Gap {
    let consequence = match stand_in {
        Some(stand_in) => Consequence::StandIn { stand_in },
        None => Consequence::LeftOut { figure: format!("temperature of {}", inflow.name) },
    };
    Gap { what: format!("river temperature, {}", inflow.name), reason, consequence }
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
    form: RiverForm,
    found: MapFit,
    residual_degc: f64,
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
        let form = RiverForm { guess: published(site.inflow.thermal_regime) };
        let observed: Vec<(usize, f64)> = (SPIN_UP_DAYS.min(days.len())..days.len())
            .filter_map(|i| Some((i, seen?.get(air.date(from + i))?)))
            .collect();
        let prior = Prior { mean: vec![0.0; SCATTER.len()], spread: SCATTER.to_vec() };
        let alike = (1.0 - PERSISTENCE) / (1.0 + PERSISTENCE);
        let mut residual_degc = RESIDUAL_GUESS_DEGC;
        let mut found = fit_map(&prior, Search { weight: 1.0, steps: 1, tolerance: 1e-3 }, |_, r| r.clear())?;
        if observed.len() >= FIT_FEWEST {
            let fill = |p: &[f64], residuals: &mut Vec<f64>| {
                let run = form.parameters(p).run_degc(START_DEGC, &days);
                residuals.clear();
                residuals.extend(observed.iter().map(|&(i, value)| run[i] - value));
            };
            let search = Search { weight: alike / FIT_RESIDUAL_DEGC.powi(2), steps: 6, tolerance: 1e-3 };
            found = fit_map(&prior, search, fill)?;
            let mut residuals = Vec::new();
            fill(&found.at, &mut residuals);
            residual_degc = root_mean_square(&residuals)?;
        }
        Some(RiverModel {
            inflow: site.inflow.id.to_string(),
            form,
            found,
            residual_degc,
            today: site.today,
            recent: days[days.len().saturating_sub(2 * SPIN_UP_DAYS)..].to_vec(),
            ratio_known,
        })
    }

    /// This morning's temperature of one member; the error on the last observed day persists.
    fn member_degc(&self, newest: Option<(NaiveDate, f64)>, member: usize, seed: u64) -> f64 {
        let mut numbers = stream(seed, &format!("water/river/{}/{member}", self.inflow));
        let parameters = self.form.parameters(&self.found.draw(&mut numbers));
        let factor = (RATIO_SPREAD * normal(&mut numbers)).exp();
        let factor = if self.ratio_known { 1.0 } else { factor };
        let days: Vec<RiverDay> = self
            .recent
            .iter()
            .map(|day| RiverDay { discharge_ratio: day.discharge_ratio * factor, ..*day })
            .collect();
        let run = parameters.run_degc(START_DEGC, &days);
        let Some(&last) = run.last() else { return START_DEGC };
        let noise = normal(&mut numbers);
        let seen = newest.and_then(|(date, value)| {
            let age = usize::try_from((self.today - date).num_days()).ok()?;
            Some((value - run.get(run.len().checked_sub(age + 1)?)?, age))
        });
        let error = match seen {
            Some((residual, age)) => {
                let kept = PERSISTENCE.powi(age as i32);
                let fresh = (self.residual_degc * (1.0 - kept * kept).sqrt()).max(MEASURED_ERROR_DEGC);
                kept * residual + fresh * noise
            }
            None => self.residual_degc * noise,
        };
        (last + error).max(0.0)
    }
}

/// The fit's coordinates about a published set: equilibrium offset, shares of a2, a3, a6, shift of a7.
struct RiverForm {
    guess: RiverTemp,
}

impl RiverForm {
    fn parameters(&self, at: &[f64]) -> RiverTemp {
        let g = &self.guess;
        let loss_per_day = g.a3_per_day + g.a8_per_day;
        RiverTemp {
            a1_degc_per_day: g.a1_degc_per_day + at[0] * loss_per_day,
            a2_per_day: g.a2_per_day * at[1].exp(),
            a3_per_day: g.a3_per_day * at[2].exp(),
            a6_degc_per_day: g.a6_degc_per_day * at[3].exp(),
            a7_frac: g.a7_frac + at[4],
            ..*g
        }
    }
}

fn published(regime: ThermalRegime) -> RiverTemp {
    match regime {
        ThermalRegime::Lowland => LOWLAND,
        ThermalRegime::Regulated => REGULATED,
        ThermalRegime::SnowFed => SNOW_FED,
    }
}

/// Discharge over its mean, day by day, and whether it is known; 1 where it is not. A gap holds the last
/// value; readings of no flow or less are gaps, for the equation needs water in the river.
fn ratios(site: &Site<'_>, first: NaiveDate, count: usize) -> (Vec<f64>, bool) {
    let Some(flow) = flow_daily(site) else { return (vec![1.0; count], false) };
    let positive: Vec<f64> = flow.value.iter().copied().flatten().filter(|q| *q > 0.0).collect();
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
    let mut series = sources.find_map(|source| daily_series_of(site.set, source, &site.clock))?;
    // This morning's flow, where the conditions have it newer than the last full day.
    let now = site.conditions.inflows.iter().find(|i| i.inflow == *gauged);
    if let (Some(now), Some(last)) = (now, series.last()) {
        let date = site.clock.standard_day(now.observed_at);
        if (date - last).num_days() == 1 {
            let mut value = std::mem::take(&mut series.value);
            value.push(Some(now.discharge_m3s));
            series = Daily::new(series.first, value);
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
    let series = sources.find_map(|source| daily_series(set, &source.id, clock));
    let condition = conditions.river_temps.iter().find(|r| r.inflow == inflow.id);
    let Some(condition) = condition else { return series };
    let date = clock.standard_day(condition.observed_at);
    let Some(mut series) = series else { return Some(Daily::new(date, vec![Some(condition.temp_degc)])) };
    let ahead = series.last().map_or(0, |last| (date - last).num_days());
    if ahead > 0 {
        let mut value = std::mem::take(&mut series.value);
        value.resize(value.len() + ahead as usize - 1, None);
        value.push(Some(condition.temp_degc));
        series = Daily::new(series.first, value);
    }
    Some(series)
}

fn newest_on(series: &Daily, today: NaiveDate) -> Option<(NaiveDate, f64)> {
    let days = usize::try_from((today - series.first).num_days()).ok()? + 1;
    let known = series.value.iter().take(days).enumerate().filter_map(|(i, v)| v.map(|v| (i, v)));
    known.last().map(|(i, v)| (series.first + Days::new(i as u64), v))
}
