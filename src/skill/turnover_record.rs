//! Forecasts of the date of turnover against the dates that were observed: one case a season and lead.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::SkillError;
use super::dates::DayForecast;
use super::normal_date::{Known, NormalDate};
use super::seasons::{Skill, seasons_skill};
use crate::column::turnover::Mixing;
use crate::math::quantiles::mean;

/// Days before the turnover at which outlooks are judged, and how far from that one may be issued (project choices).
const LEADS_DAYS: [i64; 4] = [60, 40, 20, 10];
const NEAR_DAYS: i64 = 5;
/// Earlier dates that a reference needs (project choice).
const LEAST_EARLIER: usize = 3;
/// Seasons that a verdict needs (project choice).
pub const LEAST_SEASONS_FOR_VERDICT: usize = 10;

/// An outlook on the date as it was issued.
#[derive(Debug, Clone, PartialEq)]
pub struct IssuedDates {
    /// Day of the issue.
    pub issued: NaiveDate,
    /// Probabilities of days, by [`day_number`].
    pub dates: DayForecast,
    /// Last day with a probability of its own; what comes later is one lump.
    pub last_day: i64,
}

/// How outlooks did.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurnoverSkill {
    /// Outlooks kept in time.
    pub outlooks: usize,
    /// Turnovers observed.
    pub observed: usize,
    /// Of these, those between profiles no more than 10 days apart.
    pub dated: usize,
    /// By days before the turnover.
    pub leads: Vec<TurnoverLead>,
}

/// Outlooks issued so many days before.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurnoverLead {
    /// Days before the turnover, within five.
    pub lead_days: i64,
    /// Seasons.
    pub seasons: usize,
    /// Mean CRPS of those with a date, days; `None` without one.
    pub crps_days: Option<f64>,
    /// Mean log score of the interval between the profiles, nats.
    pub log_score: f64,
    /// Of these, scores whose probability was below 0.001 and counted as it.
    pub floored: usize,
    /// Seasons with three or more earlier dates, and mean CRPS of the outlooks and of these dates as the forecast, days.
    pub reference: Option<TurnoverReference>,
}

/// Against the dates of earlier years.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurnoverReference {
    /// Seasons compared.
    pub seasons: usize,
    /// Mean CRPS of the outlooks in these.
    pub crps_days: f64,
    /// Mean CRPS of the earlier dates.
    pub reference_days: f64,
    /// Skill against them; `None` where they have no error.
    pub skill: Option<Skill>,
}

/// Number of a day, as [`DayForecast`] counts them.
pub fn day_number(day: NaiveDate) -> i64 {
    (day - NaiveDate::default()).num_days()
}

/// Scores of outlooks in each season that was observed. Of several about one lead the nearest to it counts.
///
/// # Errors
/// None for distributions that were made by [`DayForecast::new`].
pub fn turnover_skill(outlooks: &[IssuedDates], observed: &[Mixing]) -> Result<TurnoverSkill, SkillError> {
    let mut leads = Vec::new();
    for lead_days in LEADS_DAYS {
        let (mut crps_days, mut log_scores, mut compared) = (Vec::new(), Vec::new(), Vec::new());
        let mut floored = 0;
        for season in observed {
            let date = season.date();
            let about = date.unwrap_or(season.first_mixed);
            let off = |outlook: &&IssuedDates| ((about - outlook.issued).num_days() - lead_days).abs();
            let Some(outlook) = outlooks.iter().filter(|o| off(o) <= NEAR_DAYS).min_by_key(off) else {
                continue;
            };
            let (after, by) = (day_number(season.last_stratified), day_number(season.first_mixed));
            let score = match by > outlook.last_day {
                true => outlook.dates.censored_log_score(outlook.last_day.min(after))?,
                false => outlook.dates.interval_log_score(after, by)?,
            };
            log_scores.push(score.log_score);
            floored += usize::from(score.floored);
            let Some(date) = date else { continue };
            let days_of = |dates: &DayForecast| dates.crps_to_days(Some(day_number(date)), outlook.last_day);
            crps_days.push(days_of(&outlook.dates));
            if let Some(reference) = earlier_dates(observed, outlook.issued, date)? {
                compared.push((days_of(&outlook.dates), days_of(&reference)));
            }
        }
        let Some(log_score) = mean(&log_scores) else {
            continue;
        };
        let part = |of: fn(&(f64, f64)) -> f64| mean(&compared.iter().map(of).collect::<Vec<f64>>());
        leads.push(TurnoverLead {
            lead_days,
            seasons: log_scores.len(),
            crps_days: mean(&crps_days),
            log_score,
            floored,
            reference: match part(|c| c.0).zip(part(|c| c.1)) {
                Some((crps_days, reference_days)) => Some(TurnoverReference {
                    seasons: compared.len(),
                    crps_days,
                    reference_days,
                    skill: seasons_skill(&compared)?,
                }),
                None => None,
            },
        });
    }
    Ok(TurnoverSkill {
        outlooks: outlooks.len(),
        observed: observed.len(),
        dated: observed.iter().filter(|season| season.date().is_some()).count(),
        leads,
    })
}

/// The normal date of those that were known at the issue, moved to the season of `target` by whole years, as hindcasts have it (`NormalDate`:
/// widened, since few years do not know it better), without the days before the issue: like the outlook it knows that it had not been seen by then.
fn earlier_dates(
    observed: &[Mixing],
    issued: NaiveDate,
    target: NaiveDate,
) -> Result<Option<DayForecast>, SkillError> {
    let known = observed.iter().filter(|season| season.first_mixed <= issued);
    let moved = |date: NaiveDate| {
        let years = ((target - date).num_days() as f64 / 365.25).round();
        day_number(date) + (years * 365.25).round() as i64
    };
    let dates: Vec<(f64, Known)> = known
        .filter_map(|season| season.date().map(|date| (0.0, Known::on(moved(date)))))
        .collect();
    let normal = NormalDate::fit(&dates, false).filter(|_| dates.len() >= LEAST_EARLIER);
    normal
        .map(|normal| normal.forecast(0.0, Some(day_number(issued) - 1)))
        .transpose()
}
