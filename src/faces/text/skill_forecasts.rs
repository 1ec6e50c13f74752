//! The forecasts' part of the skill page as blocks.

use super::block::{Block, Page};
use super::skill::of;
use super::skill_turnover::turnover;
use crate::column::ShownBy;
use crate::faces::reader::{Reader, Units, percent, rounded, signed};
use crate::reports::forecasts::{ForecastOf, ForecastSkill, Group, VariableSkill};
use crate::skill::lead_scores::{
    AgainstSimple, CountedShare, LEAST_CASES, LEAST_CASES_FOR_PICTURE, LEAST_WEEKS, LeadScore, LeadVerdict,
};
use crate::units;

/// Leads that stand in the tables of the page; the JSON has all.
const SHOWN_LEADS: [u32; 8] = [1, 2, 3, 5, 7, 10, 13, 16];
/// Leads whose calibration stands there.
const CALIBRATED_LEADS: [u32; 3] = [1, 5, 10];

/// Adds everything about forecasts.
pub(super) fn forecasts(page: &mut Page, skill: &ForecastSkill, reader: &Reader) {
    page.heading("FORECASTS", "of the days ahead, against what was observed");
    if skill.invented {
        page.text(
            "INVENTED: nobody made these forecasts. They are what came on the demonstration lake with errors added, so that the page can be \
             seen, and say nothing of this program.",
            2,
        );
    }
    page.text(&counts(skill), 2);
    if skill.scored == 0 {
        page.text(
            "Nothing is shown yet of how good forecasts are here: take them as untested. Each brief keeps its own.",
            2,
        );
    } else {
        page.text(
            "CRPS is the mean error of a whole forecast, smaller is better. \"Persist.\" is damped persistence, \"season\" the same days of other \
             years: both made of what was known at the issue. Skill is what of persistence's error the model takes away, with its interval of \
             90 % (\"?\" with too few cases); where that holds 0, the reference is as good. Ratio, of spread to error, is 1 where it is right, less where the \
             forecast is too sure.",
            2,
        );
    }
    for variable in skill.variables.iter().filter(|v| v.past > 0) {
        variable_part(page, variable, reader);
    }
    turnover(page, &skill.turnover);
}

fn counts(skill: &ForecastSkill) -> String {
    let mut words = format!(
        "{} on record, {} scored: the first of each day that was made in time.",
        of(skill.kept, "forecast", "forecasts"),
        skill.scored
    );
    if skill.replayed > 0 && skill.replayed_scored {
        words.push_str(&format!(
            " {} of replayed mornings count as made then: this is a rehearsal.",
            skill.replayed
        ));
    } else if skill.replayed > 0 {
        words.push_str(&format!(
            " {} of replayed mornings: rehearsals, not scored (`--with-replayed` scores them).",
            skill.replayed
        ));
    }
    for (count, what) in [
        (
            skill.late,
            "made after the day of their clock, with hindsight: not scored",
        ),
        (skill.not_first, "not the first of their day: not scored"),
        (skill.unreadable, "that cannot be read (named above)"),
    ] {
        if count > 0 {
            words.push_str(&format!(" {count} {what}."));
        }
    }
    words
}

/// Name, unit, how a figure of the unit is divided and to how many places it is given.
struct Scale {
    name: &'static str,
    unit: &'static str,
    divided_by: f64,
    places: usize,
}

fn scale(of: ForecastOf, reader: &Reader) -> Scale {
    let us = reader.units == Units::Us;
    let (name, unit, divided_by, places) = match (of, us) {
        (ForecastOf::SurfaceTemp, true) => ("Surface temperature", "°F", units::DEGC_PER_DEGF, 2),
        (ForecastOf::SurfaceTemp, false) => ("Surface temperature", "°C", 1.0, 2),
        (ForecastOf::Thermocline, true) => ("Thermocline", "ft", units::M_PER_FT, 1),
        (ForecastOf::Thermocline, false) => ("Thermocline", "m", 1.0, 2),
        (ForecastOf::Level, true) => ("Level", "ft", units::M_PER_FT, 2),
        (ForecastOf::Level, false) => ("Level", "m", 1.0, 3),
        (ForecastOf::GaugedInflow, true) => ("Inflow", "cfs", units::M3S_PER_CFS, 0),
        (ForecastOf::GaugedInflow, false) => ("Inflow", "m³/s", 1.0, 2),
    };
    Scale {
        name,
        unit,
        divided_by,
        places,
    }
}

impl Scale {
    fn number(&self, value: f64) -> String {
        rounded(value / self.divided_by, self.places)
    }

    fn signed(&self, value: f64) -> String {
        signed(value / self.divided_by, self.places)
    }
}

fn variable_part(page: &mut Page, variable: &VariableSkill, reader: &Reader) {
    let scale = scale(variable.of, reader);
    page.lead(&format!("{}, {}", scale.name, scale.unit));
    page.text(&what(variable, &scale), 4);
    if variable.leads.is_empty() {
        page.text("No day forecast was observed: nothing can be scored.", 4);
        return;
    }
    let shown = || {
        let rows = variable.leads.iter();
        rows.filter(|score| SHOWN_LEADS.contains(&score.to_lead_days))
    };
    let heads = ["n", "model", "persist.", "season", "skill, %", "ratio"];
    let rows = shown().map(|score| (lead_name(score), cells(score, &scale)));
    page.table(&heads, rows.collect());
    for sentence in verdicts(variable) {
        page.text(&sentence, 4);
    }
    calibration(page, variable, &scale);
    groups(page, variable, &scale);
    near(page, variable);
    rules(page, variable);
}

fn what(variable: &VariableSkill, scale: &Scale) -> String {
    let series = variable
        .series
        .as_ref()
        .map_or(String::new(), |series| format!(" of {series}"));
    let words = match variable.of {
        ForecastOf::SurfaceTemp => format!("Daily mean of the main body, judged by the daily means{series}."),
        ForecastOf::Thermocline => "Of the season, judged on days with a profile.".to_owned(),
        ForecastOf::Level => format!("At the hour of the launch, judged by the readings{series}."),
        ForecastOf::GaugedInflow => "Daily mean of all gauges of the inflows together.".to_owned(),
    };
    let error = match variable.of {
        ForecastOf::GaugedInflow => percent(variable.error),
        _ => format!("{} {}", scale.number(variable.error), scale.unit),
    };
    let unobserved = match variable.unobserved {
        0 => String::new(),
        n => format!(" {n} of {} days forecast were not observed.", variable.past),
    };
    format!("{words} An error of observation of {error} is added to the members.{unobserved}")
}

fn lead_name(score: &LeadScore) -> String {
    match (score.from_lead_days, score.to_lead_days) {
        (from, to) if from == to => format!("day {to}"),
        (from, to) => format!("days {from} to {to}"),
    }
}

fn cells(score: &LeadScore, scale: &Scale) -> Vec<String> {
    let reference = |of: &Option<AgainstSimple>| match of {
        Some(of) => scale.number(of.reference_score),
        None => "none".to_owned(),
    };
    vec![
        score.cases.to_string(),
        scale.number(score.crps),
        reference(&score.against_persistence),
        reference(&score.against_climatology),
        skill_said(score.against_persistence.as_ref()),
        score
            .spread_ratio
            .map_or_else(String::new, |ratio| rounded(ratio, 2)),
    ]
}

/// Skill in percent with its interval.
fn skill_said(against: Option<&AgainstSimple>) -> String {
    let whole = |skill: f64| rounded(100.0 * skill, 0);
    match against {
        None => String::new(),
        Some(of) => match of.interval {
            Some(i) => format!(
                "{} ({} to {})",
                whole(of.skill),
                whole(i.low_skill),
                whole(i.high_skill)
            ),
            None => format!("{} (?)", whole(of.skill)),
        },
    }
}

/// What follows, lead by lead.
fn verdicts(variable: &VariableSkill) -> Vec<String> {
    let all = [
        (LeadVerdict::Better, "Better than damped persistence"),
        (
            LeadVerdict::AsGood,
            "Skill is not shown, damped persistence is as good,",
        ),
        (LeadVerdict::Worse, "Damped persistence is better"),
        (LeadVerdict::TooFew, "Too few cases to tell"),
        (
            LeadVerdict::NoReference,
            "No reference to compare with (it takes two earlier years of observations)",
        ),
    ];
    let mut said = Vec::new();
    for (verdict, words) in all {
        let leads = variable.leads.iter().filter(|score| score.verdict == verdict);
        let leads: Vec<u32> = leads.map(|score| score.to_lead_days).collect();
        if !leads.is_empty() {
            let wanted = match verdict {
                LeadVerdict::TooFew => format!(
                    " ({LEAST_CASES} cases in {LEAST_WEEKS} weeks are wanted, in more for many days ahead)"
                ),
                _ => String::new(),
            };
            said.push(format!("{words} {}{wanted}.", days_said(&leads)));
        }
    }
    said
}

/// Leads in words, those that follow each other together.
fn days_said(leads: &[u32]) -> String {
    let runs = leads.chunk_by(|a, b| a + 1 == *b).map(|run| match run {
        [one] => format!("{one}"),
        [first, .., last] => format!("{first} to {last}"),
        [] => String::new(),
    });
    let runs: Vec<String> = runs.collect();
    let word = if leads.len() == 1 { "on day" } else { "on days" };
    format!("{word} {}", runs.join(", "))
}

fn calibration(page: &mut Page, variable: &VariableSkill, scale: &Scale) {
    let rows: Vec<&LeadScore> = (variable.leads.iter())
        .filter(|score| CALIBRATED_LEADS.contains(&score.to_lead_days))
        .collect();
    page.text(
        "What came lay below, within and above the interval of 80 %; 10, 80 and 10 % are right; with the interval of 90 % of each share; and the mean error:",
        4,
    );
    let share = |of: &CountedShare| {
        let whole = |frac: f64| rounded(100.0 * frac, 0);
        format!(
            "{} ({} to {})",
            whole(of.share_frac),
            whole(of.low_frac),
            whole(of.high_frac)
        )
    };
    let row = |score: &&LeadScore| {
        let shares = [&score.below, &score.within, &score.above].map(share);
        let cells = std::iter::once(score.cases.to_string()).chain(shares);
        let cells = cells.chain([scale.signed(score.bias)]);
        (lead_name(score), cells.collect())
    };
    page.table(
        &["n", "below, %", "within, %", "above, %", "bias"],
        rows.iter().map(row).collect(),
    );
    let pictured: Vec<&&LeadScore> = rows
        .iter()
        .filter(|score| score.cases >= LEAST_CASES_FOR_PICTURE)
        .collect();
    if !pictured.is_empty() {
        page.text(
            "Ranks of what came among the members, lowest first; even is right:",
            4,
        );
    }
    for score in pictured {
        page.blocks.push(Block::Ranks {
            label: lead_name(score),
            counts: score.ranks.clone(),
        });
    }
}

fn groups(page: &mut Page, variable: &VariableSkill, scale: &Scale) {
    let mut rows = Vec::new();
    for group in &variable.groups {
        let name = match group.group {
            Group::Winter => "winter",
            Group::Spring => "spring",
            Group::Summer => "summer",
            Group::Autumn => "autumn",
            Group::Stratified => "stratified",
            Group::Mixing => "mixing",
        };
        for score in &group.leads {
            let head = format!("{name} {}-{}", score.from_lead_days, score.to_lead_days);
            rows.push((head, cells(score, scale)));
        }
    }
    if !rows.is_empty() {
        page.text(
            "By season, and by whether the forecast had a thermocline, over leads in days:",
            4,
        );
        let heads = ["n", "model", "persist.", "season", "skill, %", "ratio"];
        page.table(&heads, rows);
    }
}

fn near(page: &mut Page, variable: &VariableSkill) {
    if variable.near.is_empty() {
        return;
    }
    let shown = variable
        .near
        .iter()
        .filter(|hits| SHOWN_LEADS.contains(&hits.lead_days));
    let said: Vec<String> = shown
        .map(|hits| format!("{} of {} on day {}", hits.hits.count, hits.cases, hits.lead_days))
        .collect();
    page.text(
        &format!(
            "The middle of the members lay within 1.5 m (5 ft) of the profile's: {}.",
            said.join(", ")
        ),
        4,
    );
}

/// What briefs do because of all this.
fn rules(page: &mut Page, variable: &VariableSkill) {
    if variable.rules.is_empty() {
        return;
    }
    let leads = |shown_by: ShownBy, tested: bool| {
        let rules = variable.rules.iter();
        let of = rules.filter(|rule| rule.shown_by == shown_by && rule.tested == tested);
        of.map(|rule| rule.lead_days).collect::<Vec<u32>>()
    };
    let all = [
        (
            ShownBy::CorrectedModel,
            true,
            "the model, mean and spread corrected by what past forecasts missed,",
        ),
        (ShownBy::Model, true, "the model as it is"),
        (
            ShownBy::DampedPersistence,
            true,
            "damped persistence instead of the model",
        ),
        (ShownBy::Model, false, "the model as it is, untested,"),
    ];
    let said: Vec<String> = all
        .into_iter()
        .map(|(shown_by, tested, words)| (leads(shown_by, tested), words))
        .filter(|(leads, _)| !leads.is_empty())
        .map(|(leads, words)| format!("{words} {}", days_said(&leads)))
        .collect();
    page.text(
        &format!("Briefs that go by these forecasts show {}.", said.join("; ")),
        4,
    );
    let tried = variable.corrections.iter();
    let helped: Vec<u32> = tried.filter(|c| c.trial.helps).map(|c| c.lead_days).collect();
    let words = match (variable.corrections.len(), helped.len()) {
        (0, _) => format!("No correction was tried: it takes {LEAST_CASES_FOR_PICTURE} cases of one lead."),
        (_, 0) => {
            "A correction of mean and spread was tried on spells that it had not seen, and does not help."
                .to_owned()
        }
        _ => format!(
            "A correction of mean and spread, tried on spells that it had not seen, helps {}.",
            days_said(&helped)
        ),
    };
    page.text(&words, 4);
}
