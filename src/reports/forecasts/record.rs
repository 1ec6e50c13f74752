//! The forecasts' part of the skill page, from the archive and what was observed.

use chrono::{DateTime, Utc};

use super::judged::{Judged, JudgedCase, counted, error_of, judged, record_of};
use super::page::{
    ForecastOf, ForecastSkill, Group, GroupSkill, LeadCorrection, LeadHits, LeadRule, VariableSkill,
};
use crate::archive::{KeptForecast, KeptTurnover};
use crate::clock::LakeClock;
use crate::column::ShownBy;
use crate::column::turnover::Mixing;
use crate::conditions::ObservedDays;
use crate::lake::Lake;
use crate::math::quantiles::median;
use crate::skill::SkillError;
use crate::skill::correction::{IssuedMoments, correction_trial};
use crate::skill::crps::EnsembleCase;
use crate::skill::emos::MomentCase;
use crate::skill::lead_scores::{CountedShare, LeadCase, LeadVerdict, lead_score};
use crate::skill::turnover_record::turnover_skill;

use super::turnover::turnover_cases;

/// Leads that are taken together where cases are parted by season or regime.
const LEAD_GROUPS: [(u32, u32); 4] = [(1, 3), (4, 7), (8, 10), (11, 16)];
/// Longest lead at which a correction is tried and a rule made (project choice: what a brief shows reaches a week).
pub const LONGEST_RULE_DAYS: u32 = 10;
/// A thermocline is hit within so much.
const NEAR_M: f64 = 1.5;

/// What the page is made of.
pub struct ForecastParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Clock of the page.
    pub as_of: DateTime<Utc>,
    /// Kept forecasts up to that clock, in the order of theirs.
    pub forecasts: &'a [KeptForecast],
    /// Kept turnover outlooks, likewise.
    pub outlooks: &'a [KeptTurnover],
    /// Files that cannot be read.
    pub unreadable: usize,
    /// What was observed.
    pub observed: &'a ObservedDays,
    /// Turnovers of the main body that were observed.
    pub turnovers: &'a [Mixing],
    /// Whether replays are scored.
    pub with_replayed: bool,
    /// Whether the forecasts are invented.
    pub invented: bool,
}

/// Scores of everything that was forecast.
///
/// # Errors
/// A kept figure that is not finite.
pub fn forecast_skill(parts: &ForecastParts<'_>) -> Result<ForecastSkill, SkillError> {
    let clock = LakeClock::new(parts.lake.time_zone);
    let of = counted(parts.forecasts, &clock, parts.with_replayed);
    let all = [
        ForecastOf::SurfaceTemp,
        ForecastOf::Thermocline,
        ForecastOf::Level,
        ForecastOf::GaugedInflow,
    ];
    let variables = all.map(|what| {
        let record = record_of(what, parts.observed);
        let judged = judged(
            what,
            (parts.lake, &clock),
            &of.scored,
            (record.as_ref(), parts.as_of),
        );
        variable(what, parts.observed, &judged)
    });
    let (outlooks, faulty) = turnover_cases(parts, &clock);
    Ok(ForecastSkill {
        invented: parts.invented,
        kept: parts.forecasts.len(),
        unreadable: parts.unreadable + faulty,
        replayed: of.replayed,
        replayed_scored: parts.with_replayed,
        late: of.late,
        not_first: of.not_first,
        scored: of.scored.len(),
        variables: variables.into_iter().collect::<Result<_, _>>()?,
        turnover: turnover_skill(&outlooks, parts.turnovers)?,
    })
}

/// The rule by which a brief shows surface temperatures, from forecasts up to `as_of`; empty while the archive is too young.
///
/// # Errors
/// As [`forecast_skill`].
pub fn surface_rules(
    (lake, as_of): (&Lake, DateTime<Utc>),
    forecasts: &[KeptForecast],
    observed: &ObservedDays,
) -> Result<Vec<LeadRule>, SkillError> {
    let clock = LakeClock::new(lake.time_zone);
    let scored = counted(forecasts, &clock, false).scored;
    let record = record_of(ForecastOf::SurfaceTemp, observed);
    let of = ForecastOf::SurfaceTemp;
    let judged = judged(of, (lake, &clock), &scored, (record.as_ref(), as_of));
    let mut rules = Vec::new();
    for lead in 1..=LONGEST_RULE_DAYS {
        let cases = at_lead(&judged, lead);
        if let Some(score) = lead_score(&plain(&cases))? {
            let trial = correction_trial(&issued_moments(&cases)?, lead)?;
            rules.push(rule(lead, score.verdict, trial.as_ref()));
        }
    }
    Ok(rules)
}

fn variable(of: ForecastOf, observed: &ObservedDays, judged: &Judged) -> Result<VariableSkill, SkillError> {
    let longest = judged.cases.iter().map(|c| c.case.lead).max().unwrap_or(0);
    let mut skill = VariableSkill {
        of,
        unit: match of {
            ForecastOf::SurfaceTemp => "degC",
            ForecastOf::Thermocline | ForecastOf::Level => "m",
            ForecastOf::GaugedInflow => "m3/s",
        }
        .to_owned(),
        series: match of {
            ForecastOf::SurfaceTemp => observed.surface.as_ref().map(|(_, series)| series.clone()),
            ForecastOf::Level => observed.level.as_ref().map(|(_, series)| series.clone()),
            ForecastOf::Thermocline | ForecastOf::GaugedInflow => None,
        },
        error: error_of(of),
        past: judged.past,
        unobserved: judged.unobserved,
        leads: Vec::new(),
        groups: groups(judged)?,
        near: Vec::new(),
        corrections: Vec::new(),
        rules: Vec::new(),
    };
    for lead in 1..=longest {
        let cases = at_lead(judged, lead);
        let Some(score) = lead_score(&plain(&cases))? else {
            continue;
        };
        if of == ForecastOf::Thermocline {
            skill.near.extend(near(lead, &cases)?);
        }
        if of == ForecastOf::SurfaceTemp && lead <= LONGEST_RULE_DAYS {
            let trial = correction_trial(&issued_moments(&cases)?, lead)?;
            skill.rules.push(rule(lead, score.verdict, trial.as_ref()));
            skill.corrections.extend(trial.map(|trial| LeadCorrection {
                lead_days: lead,
                trial,
            }));
        }
        skill.leads.push(score);
    }
    Ok(skill)
}

fn at_lead(judged: &Judged, lead: u32) -> Vec<&JudgedCase> {
    judged.cases.iter().filter(|c| c.case.lead == lead).collect()
}

fn plain<'c>(cases: &[&'c JudgedCase]) -> Vec<&'c LeadCase> {
    cases.iter().map(|judged| &judged.case).collect()
}

fn groups(judged: &Judged) -> Result<Vec<GroupSkill>, SkillError> {
    let all = [
        Group::Winter,
        Group::Spring,
        Group::Summer,
        Group::Autumn,
        Group::Stratified,
        Group::Mixing,
    ];
    let mut found = Vec::new();
    for group in all {
        let mut leads = Vec::new();
        for (from, to) in LEAD_GROUPS {
            let of_group = judged
                .cases
                .iter()
                .filter(|judged| judged.groups.contains(&group) && (from..=to).contains(&judged.case.lead));
            leads.extend(lead_score(
                &of_group.map(|judged| &judged.case).collect::<Vec<_>>(),
            )?);
        }
        if !leads.is_empty() {
            found.push(GroupSkill { group, leads });
        }
    }
    Ok(found)
}

fn near(lead_days: u32, cases: &[&JudgedCase]) -> Result<Option<LeadHits>, SkillError> {
    let is_near = |judged: &&&JudgedCase| {
        let ensemble = &judged.case.ensemble;
        median(&ensemble.members).is_some_and(|depth_m| (depth_m - ensemble.observed).abs() <= NEAR_M)
    };
    let hits = cases.iter().filter(is_near).count();
    Ok(Some(LeadHits {
        lead_days,
        cases: cases.len(),
        hits: CountedShare::of(hits, cases.len())?,
    }))
}

/// The cases of surface temperature as a correction sees them.
fn issued_moments(cases: &[&JudgedCase]) -> Result<Vec<IssuedMoments>, SkillError> {
    let error = error_of(ForecastOf::SurfaceTemp);
    let of = |judged: &&JudgedCase| {
        let observed = judged.case.ensemble.observed;
        let persistence_score = judged.case.persistence.as_ref().map(|members| {
            EnsembleCase {
                members: members.clone(),
                observed,
            }
            .crps_fair()
        });
        Ok(IssuedMoments {
            issued: judged.case.issued,
            moments: MomentCase {
                mean: judged.mean,
                variance: judged.variance + error * error,
                observed,
            },
            persistence_score: persistence_score.transpose()?,
        })
    };
    cases.iter().map(of).collect()
}

/// What to show at a lead: the corrected model where the correction helps and betters damped persistence, else the model where it does, else
/// damped persistence; the model as it is while there are too few cases to tell.
fn rule(
    lead_days: u32,
    verdict: LeadVerdict,
    trial: Option<&crate::skill::correction::CorrectionTrial>,
) -> LeadRule {
    let helps = trial.filter(|trial| trial.helps && trial.verdict == LeadVerdict::Better);
    let tested = !matches!(verdict, LeadVerdict::NoReference | LeadVerdict::TooFew);
    LeadRule {
        lead_days,
        tested,
        shown_by: match verdict {
            _ if !tested => ShownBy::Model,
            _ if helps.is_some() => ShownBy::CorrectedModel,
            LeadVerdict::Better => ShownBy::Model,
            _ => ShownBy::DampedPersistence,
        },
        correction: helps.filter(|_| tested).map(|trial| trial.correction),
    }
}
