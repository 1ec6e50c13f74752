//! Scores of all years of a lead: each year's outlook made with what the other years teach.

use super::day_of_number;
use super::fitted::{Dressing, bare_forecast};
use super::runs::Issue;
use super::taught::taught_dressing;
use super::value::{Coverage, IssueRule, LeadRow, YearOutlook};
use crate::math::quantiles::mean;
use crate::series::parallel::{cores, in_parallel};
use crate::skill::SkillError;
use crate::skill::dates::DayForecast;
use crate::skill::intervals::jeffreys_interval;
use crate::skill::log_score::LogScore;
use crate::skill::normal_date::{Known, NormalDate};
use crate::skill::seasons::{Skill, seasons_skill};

/// Ends of the interval that is to hold the date in 80 of 100 years.
const ENDS_PROB: [f64; 2] = [0.1, 0.9];
/// Confidence of the interval of a coverage.
const COVERAGE_CONFIDENCE_FRAC: f64 = 0.8;
/// An outlook as it was issued, and what came.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Case {
    pub issue: Issue,
    pub known: Known,
    /// Year of the weather, and first mixed day, of each member.
    pub members: Vec<(i32, i64)>,
    /// Surface at the issue against the other years.
    pub surface_k: f64,
    /// Last day before the issue that is known to be stratified.
    pub stratified_day: Option<i64>,
}

impl Case {
    fn days(&self) -> Vec<i64> {
        self.members.iter().map(|(_, day)| *day).collect()
    }

    /// Days of the members without those that had the weather of these years.
    pub(super) fn days_without(&self, years: &[i32]) -> Vec<i64> {
        let others = self.members.iter().filter(|(of, _)| !years.contains(of));
        others.map(|(_, day)| *day).collect()
    }
}

/// Scores of one forecast.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scored {
    pub crps_days: f64,
    log: LogScore,
    /// Whether the interval of the forecast has a day of what is known.
    met: bool,
}

pub(super) fn scored(forecast: &DayForecast, known: Known) -> Result<Scored, SkillError> {
    let of = known.scored();
    let [low, high] = ENDS_PROB.map(|prob| forecast.quantile_day(prob));
    Ok(Scored {
        crps_days: of.crps_days(forecast)?,
        log: of.log_score(forecast)?,
        met: of.by_day.is_none_or(|by_day| low <= by_day) && of.after_day < high,
    })
}

/// The four forecasts of a year.
struct YearScores {
    outlook: Scored,
    members: Scored,
    climatology: Scored,
    shifted: Scored,
    known: Known,
}

/// The row of a lead, and what was said in each year. Years of which the others are too few to learn from are left out.
///
/// # Errors
/// [`SkillError`].
pub(super) fn lead_rows(
    (rule, lead_days): (IssueRule, u32),
    cases: &[Case],
    observed: &[(i32, Known)],
    already_mixed: usize,
) -> Result<(LeadRow, Vec<YearOutlook>), SkillError> {
    let (mut scores, mut years, mut taught_years) = (Vec::new(), Vec::new(), 0);
    let each = in_parallel(cores(), cases, |case| one_year(case, cases, observed));
    for (case, of_case) in cases.iter().zip(each) {
        if let Some((of_year, year)) = of_case? {
            taught_years += usize::from(year.taught);
            years.extend(year_outlook(case, &year, &of_year, (rule, lead_days)));
            scores.push(of_year);
        }
    }
    let crps =
        |of: fn(&YearScores) -> &Scored| -> Vec<f64> { scores.iter().map(|s| of(s).crps_days).collect() };
    let log = |of: fn(&YearScores) -> &Scored| {
        mean(&scores.iter().map(|s| of(s).log.log_score).collect::<Vec<_>>())
    };
    let own = crps(|s| &s.outlook);
    let (climatology, shifted) = (crps(|s| &s.climatology), crps(|s| &s.shifted));
    let row = LeadRow {
        issued: rule,
        lead_days,
        years: scores.len(),
        usable_dates: scores.iter().filter(|s| s.known.is_date()).count(),
        not_seen_to_end: scores.iter().filter(|s| s.known.by_day.is_none()).count(),
        already_mixed,
        taught_years,
        crps_days: mean(&own),
        members_crps_days: mean(&crps(|s| &s.members)),
        climatology_crps_days: mean(&climatology),
        shifted_crps_days: mean(&shifted),
        skill_climatology: skill(&own, &climatology)?,
        skill_shifted: skill(&own, &shifted)?,
        log_score: log(|s| &s.outlook),
        climatology_log_score: log(|s| &s.climatology),
        shifted_log_score: log(|s| &s.shifted),
        floored: scores.iter().filter(|s| s.outlook.log.floored).count(),
        coverage: coverage(&scores)?,
        met: scores.iter().filter(|s| s.outlook.met).count(),
    };
    Ok((row, years))
}

fn skill(own_days: &[f64], reference_days: &[f64]) -> Result<Option<Skill>, SkillError> {
    let cases = own_days.iter().copied().zip(reference_days.iter().copied());
    seasons_skill(&cases.collect::<Vec<_>>())
}

/// An outlook, how its members were dressed, and whether the other years taught it so.
struct Said {
    forecast: DayForecast,
    dressing: Dressing,
    taught: bool,
}

/// Scores of a year by what the others teach; `None` where they are too few.
fn one_year(
    case: &Case,
    cases: &[Case],
    observed: &[(i32, Known)],
) -> Result<Option<(YearScores, Said)>, SkillError> {
    let year = case.issue.year;
    let others = || cases.iter().filter(move |other| other.issue.year != year);
    let dates: Vec<(f64, Known)> = observed
        .iter()
        .filter(|(of, _)| *of != year)
        .map(|(_, known)| (0.0, *known))
        .collect();
    let surfaces: Vec<(f64, Known)> = others().map(|other| (other.surface_k, other.known)).collect();
    let (Some(climatology), Some(shifted)) =
        (NormalDate::fit(&dates, false), NormalDate::fit(&surfaces, true))
    else {
        return Ok(None);
    };
    let (dressing, taught) = taught_dressing(case, cases)?;
    let (days, after_day) = (case.days(), case.stratified_day);
    let said = Said {
        forecast: dressing.forecast(&days, after_day)?,
        dressing,
        taught,
    };
    let scores = YearScores {
        outlook: scored(&said.forecast, case.known)?,
        members: scored(&bare_forecast(&days, after_day)?, case.known)?,
        climatology: scored(&climatology.forecast(0.0, after_day)?, case.known)?,
        shifted: scored(&shifted.forecast(case.surface_k, after_day)?, case.known)?,
        known: case.known,
    };
    Ok(Some((scores, said)))
}

fn year_outlook(
    case: &Case,
    said: &Said,
    scores: &YearScores,
    (issued, lead_days): (IssueRule, u32),
) -> Option<YearOutlook> {
    let year = case.issue.year;
    let at = |prob: f64| day_of_number(said.forecast.quantile_day(prob), year);
    Some(YearOutlook {
        issued,
        lead_days,
        year,
        issued_on: case.issue.day,
        foreseen: [at(ENDS_PROB[0])?, at(0.5)?, at(ENDS_PROB[1])?],
        last_stratified: day_of_number(case.known.after_day, year)?,
        first_mixed: case.known.by_day.and_then(|day| day_of_number(day, year)),
        surface_anomaly_k: case.surface_k,
        shift_days: said.dressing.shift_days,
        dressing_days: said.dressing.sd_days,
        crps_days: scores.outlook.crps_days,
        members_crps_days: scores.members.crps_days,
        climatology_crps_days: scores.climatology.crps_days,
        shifted_crps_days: scores.shifted.crps_days,
    })
}

fn coverage(scores: &[YearScores]) -> Result<Option<Coverage>, SkillError> {
    let dates: Vec<&YearScores> = scores.iter().filter(|s| s.known.is_date()).collect();
    if dates.is_empty() {
        return Ok(None);
    }
    let hits = dates.iter().filter(|s| s.outlook.met).count() as u32;
    let interval = jeffreys_interval(hits, dates.len() as u32, COVERAGE_CONFIDENCE_FRAC)?;
    Ok(Some(Coverage {
        hits,
        trials: dates.len() as u32,
        low: interval.low,
        high: interval.high,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interval_is_met_by_any_day_in_it() {
        let forecast = DayForecast::new(300, vec![0.25, 0.5, 0.25]).unwrap();
        let met = |after_day, by_day| {
            let by_day = Some(by_day);
            scored(&forecast, Known { after_day, by_day }).unwrap().met
        };
        // By hand: 10 to 90 % are the days 300 to 302; intervals of more than ten days stay intervals.
        assert!(met(280, 300) && met(301, 320) && met(300, 301));
        assert!(!met(280, 299) && !met(302, 320) && !met(302, 303));
        // Nobody looked after 301: F is 0.25 and 0.75 on the days up to it, and a quarter comes later. After 302 nothing is left.
        let of = |after_day| {
            let by_day = None;
            scored(&forecast, Known { after_day, by_day }).unwrap()
        };
        assert_eq!(of(301).crps_days, 0.0625 + 0.5625);
        // The logarithm of a sum of three exact numbers.
        assert!((of(301).log.log_score - 4f64.ln()).abs() < 1e-12 && of(302).log.floored);
        let open = |after_day| of(after_day).met;
        // One without an end has the days after its beginning.
        assert!(open(280) && open(301) && !open(302));
    }
}
