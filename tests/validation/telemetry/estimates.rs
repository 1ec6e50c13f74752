//! Monthly shares of the tagged fish by each estimator, with intervals over fish.

use chrono::{Datelike, NaiveDate};
use plungeline::skill::SkillError;
use plungeline::skill::intervals::Interval;
use plungeline::skill::telemetry::hidden::{
    FitLimits, HiddenDays, HiddenFit, WeeksCounted, fit_hidden, hidden_days,
};
use plungeline::skill::telemetry::{FishDays, FishResampling, HoldRule, MONTHS, group_intervals, held_days};

use super::areas::{AREAS, groups};
use super::tracks::Telemetry;

/// Days after its capture that a fish is not counted: a fish caught from a boat in the lake in May is, that day, on no spawning run, and
/// it was caught where boats are (project choice).
pub const SETTLE_DAYS: u64 = 60;
/// The same in whole weeks.
pub const SETTLE_WEEKS: usize = 9;
/// Intervals are of 80 %, as the rules' are.
pub const CONFIDENCE_FRAC: f64 = 0.8;
const SEED: u64 = 1;
/// A refit of a resample begins at the fit of all and needs no more.
const REFIT: FitLimits = FitLimits {
    rounds: 100,
    relative_frac: 1e-6,
};

/// Shares of the three groups by month.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    pub days: FishDays,
    /// Intervals over fish. Shape `[month][group]`.
    pub interval: Vec<Vec<Option<Interval>>>,
}

impl Estimate {
    /// Shares of the groups in a month; `None` without a day in it.
    pub fn shares(&self, month: usize) -> Option<Vec<f64>> {
        groups()
            .iter()
            .map(|group| self.days.share(month, group))
            .collect()
    }
}

/// How the positions of a count are held, counted from `from` on.
pub fn rule(gap_days: u64, settle_days: u64, from: NaiveDate) -> HoldRule {
    HoldRule {
        gap_days,
        settle_days,
        from,
    }
}

/// Positions held between hearings.
pub fn held(of: &Telemetry, rule: HoldRule, resamples: usize) -> Result<Estimate, SkillError> {
    let own: Vec<FishDays> = of
        .tracks
        .iter()
        .map(|t| held_days(t, AREAS.len(), rule))
        .collect();
    let sum = |weights: &[f64]| {
        let mut all = FishDays::none(AREAS.len());
        own.iter().zip(weights).for_each(|(days, w)| all.add(days, *w));
        Ok(all)
    };
    let how = resampling(resamples);
    Ok(Estimate {
        days: sum(&vec![1.0; own.len()])?,
        interval: group_intervals(own.len(), &groups(), how, sum)?,
    })
}

/// Fish with a day in each month by the rule, whether it has a place or not.
pub fn fish_by_month(of: &Telemetry, rule: HoldRule) -> Vec<usize> {
    let own: Vec<FishDays> = of
        .tracks
        .iter()
        .map(|t| held_days(t, AREAS.len(), rule))
        .collect();
    let any = |days: &&FishDays, month: usize| days.placed_days(month) + days.unplaced_days[month] > 0.0;
    (0..MONTHS)
        .map(|month| own.iter().filter(|d| any(d, month)).count())
        .collect()
}

/// Hidden states: the estimate, what it rests on, and the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenEstimate {
    pub estimate: Estimate,
    pub days: HiddenDays,
    pub fit: HiddenFit,
}

/// Hidden states, counted from the week of `from` on.
pub fn hidden(of: &Telemetry, from: NaiveDate, resamples: usize) -> Result<HiddenEstimate, SkillError> {
    let weights = vec![1.0; of.histories.len()];
    let counted = WeeksCounted {
        settle_weeks: SETTLE_WEEKS,
        from_week: usize::try_from((from - of.origin).num_days().max(0))
            .unwrap_or(0)
            .div_ceil(7),
    };
    let fit = fit_hidden(&of.design, (&of.histories, &weights), None, FitLimits::default())?;
    let days = |fit: &HiddenFit, weights: &[f64]| {
        hidden_days((&of.design, &fit.model), (&of.histories, weights), counted)
    };
    let again = |weights: &[f64]| {
        let refit = fit_hidden(&of.design, (&of.histories, weights), Some(&fit.model), REFIT)?;
        Ok(days(&refit, weights)?.alive)
    };
    let interval = match resamples {
        0 => vec![vec![None; groups().len()]; MONTHS],
        _ => group_intervals(of.histories.len(), &groups(), resampling(resamples), again)?,
    };
    let days = days(&fit, &weights)?;
    Ok(HiddenEstimate {
        estimate: Estimate {
            days: days.alive.clone(),
            interval,
        },
        days,
        fit,
    })
}

fn resampling(resamples: usize) -> FishResampling {
    FishResampling {
        resamples,
        seed: SEED,
        confidence_frac: CONFIDENCE_FRAC,
    }
}

/// The first day of the year of an origin, from which on everything counts.
pub fn from_the_start(of: &Telemetry) -> NaiveDate {
    of.origin.with_ordinal(1).unwrap_or(of.origin)
}
