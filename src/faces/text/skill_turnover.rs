//! The turnover's part of the skill page as blocks.

use super::block::Page;
use super::skill::of;
use super::turnover_hindcast::skill_words;
use crate::faces::reader::rounded;
use crate::skill::seasons::Skill;
use crate::skill::turnover_record::{LEAST_SEASONS_FOR_VERDICT, TurnoverSkill};

/// Adds how outlooks on the turnover did.
pub(super) fn turnover(page: &mut Page, skill: &TurnoverSkill) {
    page.heading("TURNOVER", "of the main body, one case a season");
    page.text(
        &format!(
            "{} kept; {} observed between two profiles, {} of them no more than 10 days apart.",
            of(skill.outlooks, "outlook", "outlooks"),
            of(skill.observed, "turnover", "turnovers"),
            skill.dated
        ),
        2,
    );
    if skill.leads.is_empty() {
        page.text(
            "Nothing can be scored yet: an outlook is judged by the profiles about a turnover.",
            2,
        );
        return;
    }
    let rows = skill.leads.iter().map(|lead| {
        let days = |days: f64| rounded(days, 1);
        let cells = vec![
            lead.seasons.to_string(),
            lead.crps_days.map_or_else(|| "none".to_owned(), days),
            lead.reference
                .map_or_else(|| "none".to_owned(), |r| days(r.reference_days)),
            lead.reference.map_or_else(String::new, |r| r.seasons.to_string()),
            lead.reference.map_or_else(String::new, |r| skill_words(r.skill)),
            rounded(lead.log_score, 2),
        ];
        (format!("{} days before", lead.lead_days), cells)
    });
    page.table(
        &[
            "seasons",
            "CRPS, days",
            "earlier dates",
            "of",
            "skill, %",
            "log score",
        ],
        rows.collect(),
    );
    let not_shown: Vec<String> = (skill.leads.iter())
        .filter(|lead| !lead.reference.and_then(|r| r.skill).is_some_and(Skill::is_shown))
        .map(|lead| lead.lead_days.to_string())
        .collect();
    if !not_shown.is_empty() {
        let words = format!(
            "Skill is not shown, the dates of earlier years are as good: {} days before.",
            not_shown.join(", ")
        );
        page.text(&words, 2);
    }
    if skill
        .leads
        .iter()
        .all(|lead| lead.seasons < LEAST_SEASONS_FOR_VERDICT)
    {
        let words = format!(
            "No verdict below {LEAST_SEASONS_FOR_VERDICT} seasons: until then the dates of earlier years are as good."
        );
        page.text(&words, 2);
    }
}
