//! A river's temperature where it was not measured: the river equation that the quick model fits, drawn to what was measured.

use chrono::{Days, NaiveDate};

use crate::column::quick::{
    AirRecord, FittedRiver, RIVER_PERSISTENCE, RIVER_SPIN_UP_DAYS, RIVER_START_DEGC, fit_river, year_frac,
};
use crate::lake::Inflow;
use crate::math::streams::{normal, stream};
use crate::physics::river_temp::RiverDay;
use crate::series::Daily;

/// Days before the clock that a fit uses, and that a member's run begins before it.
pub(super) const FIT_DAYS: usize = 3 * 365;
const RECENT_DAYS: usize = 15;
/// Error of a measured day (common practice, no source; as in the quick model).
const MEASURED_ERROR_DEGC: f64 = 0.3;

/// The river equation of one inflow with its days up to the clock.
pub(super) struct RiverModel {
    fitted: FittedRiver,
    first: NaiveDate,
    days: Vec<RiverDay>,
    /// Temperatures of the best parameters. Shape `[day]`.
    run_degc: Vec<f64>,
    /// Measured less run. Shape `[day]`.
    residual_degc: Vec<Option<f64>>,
    /// Mean flow that divides the discharge; 0 where none is known, and then every day counts as an ordinary one.
    mean_m3s: f64,
}

impl RiverModel {
    /// The model of an inflow; `None` where the days of the record do not reach the clock, or a number is none.
    pub fn fit(
        inflow: &Inflow,
        air: &AirRecord,
        (flow, seen): (Option<&Daily>, Option<&Daily>),
        (from, today): (NaiveDate, NaiveDate),
    ) -> Option<RiverModel> {
        let now = air.index(today)?;
        let back = usize::try_from((today - from).num_days()).ok()?.max(FIT_DAYS) + RIVER_SPIN_UP_DAYS;
        let begin = now.saturating_sub(back);
        let first = air.date(begin);
        let air_degc = air.best_degc();
        let (ratios, mean_m3s) = ratios(inflow, flow, first, now - begin + 1);
        let days: Vec<RiverDay> = (begin..=now)
            .zip(ratios)
            .map(|(i, discharge_ratio)| RiverDay {
                air_temp_degc: air_degc[i],
                discharge_ratio,
                year_frac: year_frac(air.date(i)),
            })
            .collect();
        let at = |i: usize| first + Days::new(i as u64);
        let observed: Vec<(usize, f64)> = (0..days.len())
            .filter_map(|i| Some((i, seen?.get(at(i))?)))
            .collect();
        let fitted = fit_river(inflow.thermal_regime, &days, &observed)?;
        let run_degc = fitted.best.run_degc(RIVER_START_DEGC, &days);
        let residual_degc = (0..days.len())
            .map(|i| Some(seen?.get(at(i))? - run_degc[i]))
            .collect();
        Some(RiverModel {
            fitted,
            first,
            days,
            run_degc,
            residual_degc,
            mean_m3s,
        })
    }

    /// Days that the fit used; 0 where the published set stands.
    pub fn fitted_days(&self) -> usize {
        self.fitted.days
    }

    /// Temperature of a day: that of the run, and what the nearest measured days differ from it, fading with their distance.
    pub fn day_degc(&self, date: NaiveDate) -> Option<f64> {
        let at = usize::try_from((date - self.first).num_days()).ok()?;
        let run = *self.run_degc.get(at)?;
        let before = (0..=at)
            .rev()
            .take(60)
            .find_map(|i| Some((self.residual_degc[i]?, at - i)));
        let after = (at..self.days.len())
            .take(60)
            .find_map(|i| Some((self.residual_degc[i]?, i - at)));
        let faded = |(residual, days): (f64, usize)| residual * RIVER_PERSISTENCE.powi(days as i32);
        let residual = match (before, after) {
            // Between two measured days the nearer counts more.
            (Some(b), Some(a)) => {
                let share = b.1 as f64 / ((a.1 + b.1) as f64).max(1.0);
                (1.0 - share) * faded(b) + share * faded(a)
            }
            (Some(one), None) | (None, Some(one)) => faded(one),
            (None, None) => 0.0,
        };
        Some((run + residual).max(0.0))
    }

    /// Temperatures of one member from today on: parameters of its own, its own air and discharge, and the difference from the
    /// newest measured day, which fades while a fresh one grows. Shape `[day]`, today first; `ahead` holds air and discharge of
    /// today and the days after it.
    pub fn member_degc(&self, river: &str, ahead: &[(f64, f64)], (member, seed): (usize, u64)) -> Vec<f64> {
        let mut numbers = stream(seed, &format!("forcing/river-temp/{river}/{member}"));
        let parameters = self.fitted.draw(&mut numbers);
        let recent = self
            .days
            .len()
            .saturating_sub(RIVER_SPIN_UP_DAYS + RECENT_DAYS + 1);
        let before = self.days.len() - 1;
        let mut days = self.days[recent..before].to_vec();
        let mut held = self.days[before].discharge_ratio;
        for (k, &(air_temp_degc, discharge_m3s)) in ahead.iter().enumerate() {
            let ratio = discharge_m3s / self.mean_m3s;
            if ratio.is_finite() && ratio > 0.0 {
                held = ratio;
            }
            days.push(RiverDay {
                air_temp_degc,
                discharge_ratio: held,
                year_frac: year_frac(self.first + Days::new((before + k) as u64)),
            });
        }
        let run = parameters.run_degc(RIVER_START_DEGC, &days);
        let spread = self.fitted.residual_degc;
        let newest = (recent..self.days.len())
            .rev()
            .find(|&i| self.residual_degc[i].is_some());
        // The difference is this member's own: the measured day less its own run.
        let (mut error, mut from) =
            match newest.and_then(|i| Some((self.residual_degc[i]? + self.run_degc[i], i))) {
                Some((measured, i)) if i - recent < run.len() => (
                    measured - run[i - recent] + MEASURED_ERROR_DEGC * normal(&mut numbers),
                    i - recent,
                ),
                _ => (spread * normal(&mut numbers), before - recent),
            };
        let fresh = spread * (1.0 - RIVER_PERSISTENCE * RIVER_PERSISTENCE).sqrt();
        let mut temps = Vec::with_capacity(ahead.len());
        for (i, run_degc) in run.iter().enumerate().skip(before - recent) {
            while from < i {
                error = RIVER_PERSISTENCE * error + fresh * normal(&mut numbers);
                from += 1;
            }
            temps.push((run_degc + error).max(0.0));
        }
        temps
    }
}

/// Discharge over its mean, day by day, and the mean. A gap holds the last value; readings of no flow or less are gaps, for the
/// equation needs water in the river. Without a discharge every day is an ordinary one.
fn ratios(inflow: &Inflow, flow: Option<&Daily>, first: NaiveDate, count: usize) -> (Vec<f64>, f64) {
    let Some(flow) = flow else {
        return (vec![1.0; count], 0.0);
    };
    let positive: Vec<f64> = flow
        .value
        .iter()
        .copied()
        .flatten()
        .filter(|q| *q > 0.0)
        .collect();
    let mean = inflow
        .mean_flow_m3s
        .or_else(|| crate::math::quantiles::mean(&positive));
    let Some(mean_m3s) = mean.filter(|m| *m > 0.0) else {
        return (vec![1.0; count], 0.0);
    };
    let mut held = 1.0;
    let ratio = |date: NaiveDate| {
        if let Some(q) = flow.get(date).filter(|q| *q > 0.0) {
            held = q / mean_m3s;
        }
        held
    };
    (first.iter_days().take(count).map(ratio).collect(), mean_m3s)
}
