//! Whether a correction of mean and spread helps forecasts that it has not seen.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::SkillError;
use super::crps::normal_scores;
use super::emos::{MomentCase, fit_emos, fit_shift_and_stretch};
use super::lead_scores::{
    AgainstSimple, LEAST_CASES_FOR_PICTURE, LEAST_WEEKS, LeadVerdict, against_scores, verdict_of, week_of,
    weeks_of,
};

/// Cases from which on all four numbers are fitted (project choice; below, shift and stretch alone).
const CASES_FOR_EMOS: usize = 150;
/// Spells that are left out in turn (project choice).
const FOLDS: i64 = 6;
/// Days between a spell left out and what is learned from, beside the lead: weather lasts (project choice).
const APART_DAYS: i64 = 7;

/// A forecast as mean and variance, with its day of issue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IssuedMoments {
    /// Standard day of the issue.
    pub issued: NaiveDate,
    /// Mean, variance with the error of observation, and what was observed.
    pub moments: MomentCase,
    /// Score of damped persistence on the same day, where there is one.
    pub persistence_score: Option<f64>,
}

/// `y ~ N(intercept + slope m, added_variance + variance_factor s2)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Correction {
    /// In the unit of the forecast.
    pub intercept: f64,
    /// No unit; 1 leaves the mean.
    pub slope: f64,
    /// In the square of the unit.
    pub added_variance: f64,
    /// No unit; 1 leaves the variance.
    pub variance_factor: f64,
}

impl Correction {
    /// Mean and standard deviation for a forecast of mean `m` and variance `s2`, in its unit.
    pub fn apply(&self, mean: f64, variance: f64) -> (f64, f64) {
        let corrected = self.added_variance + self.variance_factor * variance;
        (self.intercept + self.slope * mean, corrected.sqrt())
    }
}

/// A correction, and what it did to forecasts that it had not seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CorrectionTrial {
    /// Cases.
    pub cases: usize,
    /// Fitted to all of them.
    pub correction: Correction,
    /// Corrected against uncorrected, out of sample: CRPS of normal distributions.
    pub against_uncorrected: AgainstSimple,
    /// Whether it helps: the interval of that skill lies above 0.
    pub helps: bool,
    /// Corrected against damped persistence, out of sample.
    pub against_persistence: Option<AgainstSimple>,
    /// What follows from that.
    pub verdict: LeadVerdict,
}

/// Tries a correction on forecasts of one lead: spells of time are left out in turn, with what lies within the lead and a week of them, and
/// scored by what the rest teaches. `None` with too few cases, or where no correction can be fitted.
///
/// Source: Gneiting, Raftery, Westveld & Goldman 2005 (the correction); leaving spells out is a project choice.
///
/// # Errors
/// [`SkillError`] for a number that is not finite or a variance that is not positive.
pub fn correction_trial(cases: &[IssuedMoments], lead: u32) -> Result<Option<CorrectionTrial>, SkillError> {
    let issued = || cases.iter().map(|case| case.issued);
    let enough = cases.len() >= LEAST_CASES_FOR_PICTURE && weeks_of(issued()) >= LEAST_WEEKS;
    let (Some(first), Some(last)) = (issued().min(), issued().max()) else {
        return Ok(None);
    };
    let all: Vec<MomentCase> = cases.iter().map(|case| case.moments).collect();
    let Some(correction) = (if enough { fitted(&all)? } else { None }) else {
        return Ok(None);
    };
    let span = week_of(last) - week_of(first) + 1;
    let fold_of = |day: NaiveDate| FOLDS * (week_of(day) - week_of(first)) / span;
    let (mut to_raw, mut to_persistence) = (Vec::new(), Vec::new());
    for fold in 0..FOLDS {
        let of_fold: Vec<&IssuedMoments> = cases.iter().filter(|c| fold_of(c.issued) == fold).collect();
        let days = || of_fold.iter().map(|c| c.issued);
        let (Some(from), Some(until)) = (days().min(), days().max()) else {
            continue;
        };
        let apart = APART_DAYS + i64::from(lead);
        let far = |day: NaiveDate| (from - day).num_days() > apart || (day - until).num_days() > apart;
        let others: Vec<MomentCase> = (cases.iter())
            .filter(|c| far(c.issued))
            .map(|c| c.moments)
            .collect();
        let Some(learned) = fitted(&others)? else {
            return Ok(None);
        };
        for case in of_fold {
            let MomentCase {
                mean,
                variance,
                observed,
            } = case.moments;
            let (corrected, sd) = learned.apply(mean, variance);
            let score = normal_scores(corrected, sd, observed)?.crps;
            to_raw.push((
                case.issued,
                score,
                normal_scores(mean, variance.sqrt(), observed)?.crps,
            ));
            to_persistence.extend(case.persistence_score.map(|of| (case.issued, score, of)));
        }
    }
    let Some(against_uncorrected) = against_scores(&to_raw, lead)? else {
        return Ok(None);
    };
    let against_persistence = against_scores(&to_persistence, lead)?;
    Ok(Some(CorrectionTrial {
        cases: cases.len(),
        correction,
        helps: verdict_of(Some(&against_uncorrected)) == LeadVerdict::Better,
        against_uncorrected,
        verdict: verdict_of(against_persistence.as_ref()),
        against_persistence,
    }))
}

/// The correction that so many cases can carry; `None` where none can be fitted.
fn fitted(cases: &[MomentCase]) -> Result<Option<Correction>, SkillError> {
    let found = if cases.len() >= CASES_FOR_EMOS {
        fit_emos(cases).map(|emos| Correction {
            intercept: emos.intercept,
            slope: emos.slope,
            added_variance: emos.added_variance,
            variance_factor: emos.variance_factor,
        })
    } else {
        fit_shift_and_stretch(cases).map(|small| Correction {
            intercept: small.shift,
            slope: 1.0,
            added_variance: 0.0,
            variance_factor: small.sd_factor * small.sd_factor,
        })
    };
    match found {
        Ok(correction) => Ok(Some(correction)),
        Err(SkillError::TooFew { .. } | SkillError::Undefined { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}
