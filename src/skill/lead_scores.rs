//! Forecasts of days ahead, scored lead by lead against two references, and what follows from that.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::SkillError;
use super::crps::EnsembleCase;
use super::differences::{Resampling, WeekCase, weekly_skill};
use super::intervals::wilson_interval;
use super::ranks::{flatness, rank_places, spread_error_ratio};
use crate::math::quantiles::mean;

/// Cases and weeks under which no verdict is given, and no correction tried (project choices: a dozen or so independent spells of weather).
pub const LEAST_CASES: usize = 20;
/// See [`LEAST_CASES`].
pub const LEAST_WEEKS: usize = 10;
/// Blocks of a week and the lead that an interval needs, as many as seasons (project choice): a few blocks drawn again say nothing.
const LEAST_BLOCKS: usize = 5;
/// Cases under which calibration is a table and no picture (project choice).
pub const LEAST_CASES_FOR_PICTURE: usize = 40;
/// Confidence of every interval here.
pub const CONFIDENCE_FRAC: f64 = 0.9;
/// Classes of the rank histogram.
pub const RANK_CLASSES: usize = 10;
/// Resampling of whole blocks.
pub const BY_WEEK: Resampling = Resampling {
    block: 7,
    resamples: 2000,
    seed: 0x73_6B69_6C6C,
    confidence_frac: CONFIDENCE_FRAC,
};
const RANK_SEED: u64 = 0x7261_6E6B;

/// One forecast of one day, with what came and what else could have been said.
#[derive(Debug, Clone, PartialEq)]
pub struct LeadCase {
    /// Standard day of the issue.
    pub issued: NaiveDate,
    /// Day forecast less day of the issue.
    pub lead: u32,
    /// Members, the error of observation among them, and what was observed.
    pub ensemble: EnsembleCase,
    /// Members of damped persistence.
    pub persistence: Option<Vec<f64>>,
    /// Members of the day-of-year climatology.
    pub climatology: Option<Vec<f64>>,
}

/// Score of a reference on the cases that have it, and the skill against it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct AgainstSimple {
    /// Cases that have the reference.
    pub cases: usize,
    /// Mean fair CRPS of the reference.
    pub reference_score: f64,
    /// Mean fair CRPS of the forecast on the same cases.
    pub score: f64,
    /// 1 less the one over the other.
    pub skill: f64,
    /// Interval of 90 % of the skill, by blocks of a week and the lead; `None` with too few.
    pub interval: Option<SkillInterval>,
}

/// Interval of a skill.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SkillInterval {
    /// Lower end.
    pub low_skill: f64,
    /// Upper end.
    pub high_skill: f64,
}

/// What the archive says of a forecast at one lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LeadVerdict {
    /// No reference can be made from what was known.
    NoReference,
    /// Too few cases or weeks.
    TooFew,
    /// The interval of the skill lies above 0.
    Better,
    /// The interval holds 0: the reference is as good.
    AsGood,
    /// The interval lies below 0: the reference is better.
    Worse,
}

/// So many of some cases, with the interval of their share.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CountedShare {
    /// Cases counted.
    pub count: usize,
    /// Share of all.
    pub share_frac: f64,
    /// Lower end of the 90 % interval (Wilson).
    pub low_frac: f64,
    /// Upper end.
    pub high_frac: f64,
}

impl CountedShare {
    /// `count` of `of`.
    ///
    /// # Errors
    /// As [`wilson_interval`].
    pub fn of(count: usize, of: usize) -> Result<CountedShare, SkillError> {
        let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let interval = wilson_interval(whole(count), whole(of), CONFIDENCE_FRAC)?;
        Ok(CountedShare {
            count,
            share_frac: count as f64 / of as f64,
            low_frac: interval.low,
            high_frac: interval.high,
        })
    }
}

/// Scores of the cases of one lead, or of some leads together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LeadScore {
    /// First lead, days.
    pub from_lead_days: u32,
    /// Last lead, days.
    pub to_lead_days: u32,
    /// Cases.
    pub cases: usize,
    /// Weeks in which they were issued.
    pub weeks: usize,
    /// Mean fair CRPS, in the unit of the forecast.
    pub crps: f64,
    /// Mean of the members' mean less observed, in the unit of the forecast.
    pub bias: f64,
    /// Spread over error; `None` where every mean was exactly right.
    pub spread_ratio: Option<f64>,
    /// Observed below the interval of 80 %, within it, above it: 10, 80 and 10 % are right.
    pub below: CountedShare,
    /// Within it.
    pub within: CountedShare,
    /// Above it.
    pub above: CountedShare,
    /// Cases by the rank of what was observed, in ten classes of equal chance.
    pub ranks: Vec<usize>,
    /// Probability of so uneven ranks, or more so, by chance, were the cases independent.
    pub flat_prob: f64,
    /// Against damped persistence.
    pub against_persistence: Option<AgainstSimple>,
    /// Against the day-of-year climatology.
    pub against_climatology: Option<AgainstSimple>,
    /// What follows, against damped persistence.
    pub verdict: LeadVerdict,
}

/// Week of a day, for blocks.
pub fn week_of(day: NaiveDate) -> i64 {
    (day - NaiveDate::default()).num_days().div_euclid(7)
}

/// Block of a day for forecasts of a lead in days.
fn block_of(day: NaiveDate, lead: u32) -> i64 {
    (day - NaiveDate::default())
        .num_days()
        .div_euclid(7 + i64::from(lead))
}

/// Scores of `cases`; `None` without one.
///
/// # Errors
/// [`SkillError`] for a case with fewer than two members or a number that is not finite.
pub fn lead_score(cases: &[&LeadCase]) -> Result<Option<LeadScore>, SkillError> {
    let leads = || cases.iter().map(|case| case.lead);
    let (Some(from), Some(to)) = (leads().min(), leads().max()) else {
        return Ok(None);
    };
    let ensembles: Vec<EnsembleCase> = cases.iter().map(|case| case.ensemble.clone()).collect();
    let scores: Vec<f64> = ensembles
        .iter()
        .map(EnsembleCase::crps_fair)
        .collect::<Result<_, _>>()?;
    let errors: Vec<f64> = ensembles
        .iter()
        .filter_map(|case| Some(mean(&case.members)? - case.observed))
        .collect();
    let places = rank_places(&ensembles, RANK_SEED)?;
    let (below, above) = (
        places.iter().filter(|p| **p < 0.1).count(),
        places.iter().filter(|p| **p >= 0.9).count(),
    );
    let class = |place: &f64| 1 + ((place * RANK_CLASSES as f64) as usize).min(RANK_CLASSES - 1);
    let flat = flatness(&places.iter().map(class).collect::<Vec<_>>(), RANK_CLASSES - 1)?;
    let against_persistence = against(cases, &scores, to, |case| case.persistence.as_ref())?;
    let share = |count| CountedShare::of(count, cases.len());
    Ok(Some(LeadScore {
        from_lead_days: from,
        to_lead_days: to,
        cases: cases.len(),
        weeks: weeks_of(cases.iter().map(|case| case.issued)),
        crps: mean(&scores).unwrap_or(f64::NAN),
        bias: mean(&errors).unwrap_or(f64::NAN),
        spread_ratio: spread_error_ratio(&ensembles).ok(),
        below: share(below)?,
        within: share(cases.len() - below - above)?,
        above: share(above)?,
        ranks: flat.counts,
        flat_prob: flat.flat_prob,
        verdict: verdict_of(against_persistence.as_ref()),
        against_persistence,
        against_climatology: against(cases, &scores, to, |case| case.climatology.as_ref())?,
    }))
}

/// Weeks with an issue.
pub fn weeks_of(issued: impl Iterator<Item = NaiveDate>) -> usize {
    let mut weeks: Vec<i64> = issued.map(week_of).collect();
    weeks.sort_unstable();
    weeks.dedup();
    weeks.len()
}

/// What a skill against damped persistence says.
pub fn verdict_of(against: Option<&AgainstSimple>) -> LeadVerdict {
    match against {
        None => LeadVerdict::NoReference,
        Some(AgainstSimple { interval: None, .. }) => LeadVerdict::TooFew,
        Some(AgainstSimple {
            interval: Some(i), ..
        }) if i.low_skill > 0.0 => LeadVerdict::Better,
        Some(AgainstSimple {
            interval: Some(i), ..
        }) if i.high_skill < 0.0 => LeadVerdict::Worse,
        Some(_) => LeadVerdict::AsGood,
    }
}

fn against<'c>(
    cases: &[&'c LeadCase],
    scores: &[f64],
    lead: u32,
    reference: impl Fn(&'c LeadCase) -> Option<&'c Vec<f64>>,
) -> Result<Option<AgainstSimple>, SkillError> {
    let mut compared = Vec::new();
    for (case, score) in cases.iter().zip(scores) {
        if let Some(members) = reference(case) {
            let of = EnsembleCase {
                members: members.clone(),
                observed: case.ensemble.observed,
            };
            compared.push((case.issued, *score, of.crps_fair()?));
        }
    }
    against_scores(&compared, lead)
}

/// Skill of scores against those of a reference, each with its day of issue; `None` without one, or where the reference has no error. Its interval
/// resamples blocks of a week and the `lead`: so long two forecasts share what came.
///
/// # Errors
/// [`SkillError`] for a score that is not finite.
pub fn against_scores(
    compared: &[(NaiveDate, f64, f64)],
    lead: u32,
) -> Result<Option<AgainstSimple>, SkillError> {
    let column = |of: fn(&(NaiveDate, f64, f64)) -> f64| mean(&compared.iter().map(of).collect::<Vec<f64>>());
    let (Some(score), Some(reference_score)) = (column(|c| c.1), column(|c| c.2)) else {
        return Ok(None);
    };
    if reference_score <= 0.0 {
        return Ok(None);
    }
    let blocks: BTreeSet<i64> = compared.iter().map(|c| block_of(c.0, lead)).collect();
    let enough = compared.len() >= LEAST_CASES
        && weeks_of(compared.iter().map(|c| c.0)) >= LEAST_WEEKS
        && blocks.len() >= LEAST_BLOCKS;
    let week_cases: Vec<WeekCase> = (compared.iter())
        .map(|(issued, score, reference)| WeekCase {
            week: block_of(*issued, lead),
            score: *score,
            reference: *reference,
        })
        .collect();
    let interval = match enough {
        true => {
            let (_, interval) = weekly_skill(&week_cases, BY_WEEK)?;
            Some(SkillInterval {
                low_skill: interval.low,
                high_skill: interval.high,
            })
        }
        false => None,
    };
    Ok(Some(AgainstSimple {
        cases: compared.len(),
        reference_score,
        score,
        skill: 1.0 - score / reference_score,
        interval,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A case a day, good and bad for `spell` days in turn against a reference of 1.
    fn spells(days: u64, spell: u64) -> Vec<(NaiveDate, f64, f64)> {
        let first = NaiveDate::default();
        let of = |i: u64| {
            let score = if (i / spell).is_multiple_of(2) { 0.5 } else { 1.3 };
            (first + chrono::Days::new(i), score, 1.0)
        };
        (0..days).map(of).collect()
    }

    #[test]
    fn a_longer_lead_has_longer_blocks_and_a_wider_interval() {
        let width = |lead| {
            let found = against_scores(&spells(2800, 14), lead).unwrap().unwrap();
            // By hand: the mean of 0.5 and 1.3 is 0.9.
            assert!((found.skill - 0.1).abs() < 1e-12, "{found:?}");
            let interval = found.interval.unwrap();
            interval.high_skill - interval.low_skill
        };
        // A spell of 14 days is two blocks of a week, and one of 14 days: half as many that know of each other nothing, so that the
        // standard error grows by the root of 2. 2000 resamples, and means that go in steps of 0.004 where the interval is 0.09 wide, leave it
        // known to a tenth.
        let ratio = width(7) / width(0);
        assert!((ratio / 2f64.sqrt() - 1.0).abs() < 0.1, "{ratio}");
    }

    #[test]
    fn too_few_blocks_have_no_interval_and_are_no_error() {
        // 70 days are ten weeks, and of a lead of 16 three or four blocks.
        let of = |lead| against_scores(&spells(70, 1), lead).unwrap().unwrap().interval;
        assert!(of(0).is_some());
        assert_eq!((of(16), of(90)), (None, None));
    }
}
