//! Outlooks on the autumn turnover issued anew in past years, and how good they were.
//!
//! | file | what it holds |
//! |---|---|
//! | `runs` | members through the past, corrected by profiles, and on from each issue |
//! | `weather` | other years' weather put behind that of the year of the issue |
//! | `fitted` | distributions of a date, and what other years teach of them |
//! | `taught` | whether that helps years which it has not seen |
//! | `error` | why there is none |
//! | `score` | scores of all years of a lead |
//! | `value` | the answer as a value |
//!
//! What an outlook of a year knows: weather and profiles of the days before its issue; the weather of every other year from that
//! date of the calendar on; when the other years turned over, and how the members of the same lead did there, without those that
//! had this year's weather. Later years' members began in water that had been through this year: that is all of its
//! later weather that can reach the outlook, through the one shift and spread that all other years share, where these are used.

mod error;
mod fitted;
mod runs;
mod score;
mod taught;
mod value;
mod weather;

#[cfg(test)]
mod tests;

use chrono::{Duration, NaiveDate};

pub use self::error::OutlookError;
use self::runs::{Issue, PastRun, Wanted, run_past};
use self::score::{Case, lead_rows};
pub use self::value::{
    Coverage, IssueRule, LakeTurnover, LeadRow, OutlookOptions, TURNOVER_HINDCAST_FORM, TurnoverHindcast,
    YearOutlook,
};
use super::input::HindcastInput;
use super::model::PastLake;
use super::observed::{Profiles, daily_profiles};
use super::turnover::observed_columns;
use crate::column::layered::ModelFactors;
use crate::column::turnover::{Autumn, Hemisphere, MixDay, autumns};
use crate::physics::stratification::TURNED_OVER_KG_M3;
use crate::skill::normal_date::{Known, NormalDate};

/// Widest interval between the last stratified and the first mixed profile of a year that is scored, days (project choice: a
/// wider one is met by any outlook).
const WIDEST_GAP_DAYS: i64 = 45;
/// Days either way within which other years' surfaces make the normal one.
const SURFACE_WINDOW_DAYS: i64 = 3;

/// Fewest autumns: one that is left out and three to learn from.
const FEWEST_YEARS: usize = 4;

/// Issues outlooks on the turnover of every past year of lakes, each by its tables, and scores them.
///
/// # Errors
/// [`OutlookError`], of the first lake that fails.
pub fn hindcast_turnover(
    inputs: &[HindcastInput],
    options: &OutlookOptions,
) -> Result<TurnoverHindcast, OutlookError> {
    let lakes = inputs.iter().map(|input| lake_turnover(input, options));
    Ok(TurnoverHindcast::of(lakes.collect::<Result<_, _>>()?))
}

/// The outlooks of one lake.
///
/// # Errors
/// [`OutlookError`].
pub fn lake_turnover(input: &HindcastInput, options: &OutlookOptions) -> Result<LakeTurnover, OutlookError> {
    let past = PastLake::new(input)?;
    let profiles = daily_profiles(&input.temperatures, |time| past.day_of(time));
    let lake = PastOutlooks {
        factors: past.stated_factors(input),
        past: &past,
        profiles: &profiles,
        hemisphere: Hemisphere::of_latitude(input.lake.latitude_deg),
    };
    lake.turnover(&input.lake.name, options)
}

/// A lake and what is known of its past.
struct PastOutlooks<'a> {
    past: &'a PastLake,
    factors: ModelFactors,
    profiles: &'a Profiles,
    hemisphere: Hemisphere,
}

/// An outlook to be issued, by the rule that dates it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Planned {
    rule: IssueRule,
    issue: Issue,
}

impl PastOutlooks<'_> {
    fn turnover(&self, name: &str, options: &OutlookOptions) -> Result<LakeTurnover, OutlookError> {
        let columns = observed_columns(&self.profiles.profiles);
        let (all, open) = known_autumns(&columns, self.hemisphere);
        let narrow = |known: &Known| known.gap_days().is_none_or(|days| days <= WIDEST_GAP_DAYS);
        let observed: Vec<(i32, Known)> = all.iter().copied().filter(|(_, known)| narrow(known)).collect();
        let dated = observed.len() - open;
        if dated < FEWEST_YEARS {
            return Err(OutlookError::TooFew {
                lake: self.past.id.clone(),
                found: dated,
                least: FEWEST_YEARS,
                widest_days: WIDEST_GAP_DAYS,
            });
        }
        let planned = self.plan(&observed, options);
        let mut issues: Vec<Issue> = planned.iter().map(|p| p.issue).collect();
        issues.sort();
        issues.dedup();
        let forcing = &self.past.forcing;
        let end = self.past.day_of(forcing.step_start(forcing.weather.len()));
        let first = self.hemisphere.year_of(self.past.day_of(forcing.start));
        let weather_years: Vec<i32> = (first..=self.hemisphere.year_of(end)).collect();
        let run = run_past(&Wanted {
            past: self.past,
            factors: self.factors,
            profiles: self.profiles,
            hemisphere: self.hemisphere,
            issues: &issues,
            weather_years: &weather_years,
            blocks: options.blocks.max(1),
        })?;
        let (mut rows, mut years) = (Vec::new(), Vec::new());
        for rule in IssueRule::ALL {
            for &lead_days in &options.lead_days {
                let of_lead: Vec<Issue> = planned
                    .iter()
                    .filter(|p| p.rule == rule && p.issue.lead_days == lead_days)
                    .map(|p| p.issue)
                    .collect();
                let (cases, already_mixed) = self.cases(&of_lead, &run, &observed, &columns);
                let (row, of_years) = lead_rows((rule, lead_days), &cases, &observed, already_mixed)?;
                rows.push(row);
                years.extend(of_years);
            }
        }
        Ok(LakeTurnover {
            lake: name.to_owned(),
            autumns: all.len() - open,
            not_seen_to_end: open,
            too_wide: all.len() - observed.len(),
            rows,
            years,
        })
    }

    /// Every outlook of every year.
    fn plan(&self, observed: &[(i32, Known)], options: &OutlookOptions) -> Vec<Planned> {
        let mut planned = Vec::new();
        for (year, known) in observed {
            let others: Vec<(f64, Known)> = observed
                .iter()
                .filter(|(other, _)| other != year)
                .map(|(_, known)| (0.0, *known))
                .collect();
            let normal = NormalDate::fit(&others, false).map(|normal| normal.mean_days().round() as i64);
            for rule in IssueRule::ALL {
                let about = match rule {
                    IssueRule::BeforeNormal => normal,
                    IssueRule::BeforeObserved => known.middle_day(),
                };
                for &lead_days in &options.lead_days {
                    let day = about.and_then(|about| day_of_number(about - i64::from(lead_days), *year));
                    planned.extend(day.map(|day| Planned {
                        rule,
                        issue: Issue {
                            day,
                            year: *year,
                            lead_days,
                        },
                    }));
                }
            }
        }
        planned
    }

    /// What was issued on these days and what came of it, and how many had been seen to be over by then.
    fn cases(
        &self,
        issues: &[Issue],
        run: &PastRun,
        observed: &[(i32, Known)],
        columns: &[MixDay],
    ) -> (Vec<Case>, usize) {
        let (mut cases, mut already_mixed) = (Vec::new(), 0);
        for issued in run.issued.iter().filter(|i| issues.contains(&i.issue)) {
            let issue = issued.issue;
            let Some((_, known)) = observed.iter().find(|(year, _)| *year == issue.year) else {
                continue;
            };
            let issue_day = day_number(issue.day, issue.year);
            if known.by_day.is_some_and(|by_day| by_day < issue_day) {
                already_mixed += 1;
                continue;
            }
            // Nothing was seen after the issue: every forecast would have a score of 0.
            if known.by_day.is_none() && known.after_day < issue_day {
                continue;
            }
            let members = issued.members.iter().map(|member| {
                // Later than its run is all that is known of a member that had not turned over: the day after.
                let day = member.day.unwrap_or(issued.run_to + Duration::days(1));
                (member.weather_year, day_number(day, issue.year))
            });
            let Some(surface_k) = surface_anomaly(run, issue, observed) else {
                continue;
            };
            cases.push(Case {
                issue,
                known: *known,
                members: members.collect(),
                surface_k,
                stratified_day: self.last_stratified(columns, issue),
            });
        }
        (cases, already_mixed)
    }

    /// The newest profile before the issue that showed its year's layers.
    fn last_stratified(&self, columns: &[MixDay], issue: Issue) -> Option<i64> {
        columns
            .iter()
            .rev()
            .filter(|c| c.day < issue.day && self.hemisphere.year_of(c.day) == issue.year)
            .find(|c| c.difference_kg_m3 >= TURNED_OVER_KG_M3)
            .map(|c| day_number(c.day, issue.year))
    }
}

/// What profiles tell of each year's date, in order, and how many years were not seen to end.
fn known_autumns(columns: &[MixDay], hemisphere: Hemisphere) -> (Vec<(i32, Known)>, usize) {
    let known = |(year, autumn): (i32, Autumn)| {
        let known = Known {
            after_day: day_number(autumn.last_stratified, year),
            by_day: autumn.first_mixed.map(|day| day_number(day, year)),
        };
        (year, known)
    };
    let all: Vec<(i32, Known)> = autumns(columns, hemisphere).into_iter().map(known).collect();
    let open = all.iter().filter(|(_, known)| known.by_day.is_none()).count();
    (all, open)
}

/// The members' surface on the evening before the issue, less its mean in the other years at that date, degC.
fn surface_anomaly(run: &PastRun, issue: Issue, observed: &[(i32, Known)]) -> Option<f64> {
    let eve = day_number(issue.day, issue.year) - 1;
    let mut others = Vec::new();
    for (year, _) in observed.iter().filter(|(year, _)| *year != issue.year) {
        let days =
            (-SURFACE_WINDOW_DAYS..=SURFACE_WINDOW_DAYS).filter_map(|off| day_of_number(eve + off, *year));
        others.extend(days.filter_map(|day| run.surface_degc.get(&day)));
    }
    let own = run.surface_degc.get(&day_of_number(eve, issue.year)?)?;
    (!others.is_empty()).then(|| own - others.iter().sum::<f64>() / others.len() as f64)
}

/// Days from 1 January of a year: 1 on that day, 0 and less before.
fn day_number(day: NaiveDate, year: i32) -> i64 {
    // A calendar year of a profile or a run is far within what dates can hold.
    let first = NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(day);
    (day - first).num_days() + 1
}

/// The day of a number of [`day_number`].
fn day_of_number(number: i64, year: i32) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year, 1, 1)?.checked_add_signed(Duration::days(number - 1))
}
