//! The turnover's part of the skill page as blocks.

use super::block::Page;
use super::skill::of;
use super::turnover_hindcast::skill_words;
use crate::faces::reader::rounded;
use crate::skill::seasons::Skill;
use crate::skill::turnover_record::{LEAST_SEASONS_FOR_VERDICT, TurnoverLead, TurnoverSkill};

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
    // Each lead by the seasons that it was compared in.
    let days_before = |is: &dyn Fn(&TurnoverLead) -> bool| -> Option<String> {
        let leads = skill.leads.iter().filter(|lead| is(lead));
        let days: Vec<String> = leads.map(|lead| lead.lead_days.to_string()).collect();
        (!days.is_empty()).then(|| days.join(", "))
    };
    let judged = |lead: &TurnoverLead| lead.reference.filter(|r| r.seasons >= LEAST_SEASONS_FOR_VERDICT);
    let shown = |lead: &TurnoverLead| judged(lead).and_then(|r| r.skill).is_some_and(Skill::is_shown);
    if let Some(days) = days_before(&shown) {
        page.text(
            &format!("Better than the dates of earlier years: {days} days before."),
            2,
        );
    }
    if let Some(days) = days_before(&|lead| judged(lead).is_some() && !shown(lead)) {
        let words =
            format!("Skill is not shown, the dates of earlier years are as good: {days} days before.");
        page.text(&words, 2);
    }
    if let Some(days) = days_before(&|lead| lead.reference.is_some() && judged(lead).is_none()) {
        let words = format!(
            "No verdict below {LEAST_SEASONS_FOR_VERDICT} seasons, until then the dates of earlier years count as good: {days} days before."
        );
        page.text(&words, 2);
    }
    if let Some(days) = days_before(&|lead| lead.reference.is_none()) {
        let words = format!("Too few earlier dates to compare with: {days} days before.");
        page.text(&words, 2);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::skill::turnover_record::TurnoverReference;

    #[test]
    fn each_lead_has_its_own_verdict_by_the_seasons_that_were_compared() {
        let lead = |lead_days, compared: Option<(usize, f64)>| TurnoverLead {
            lead_days,
            seasons: 12,
            crps_days: Some(3.0),
            log_score: 2.0,
            floored: 0,
            reference: compared.map(|(seasons, low)| TurnoverReference {
                seasons,
                crps_days: 3.0,
                reference_days: 4.0,
                skill: Some(Skill {
                    skill_frac: 0.25,
                    low: Some(low),
                    high: Some(0.5),
                }),
            }),
        };
        let mut page = Page::default();
        turnover(
            &mut page,
            &TurnoverSkill {
                outlooks: 40,
                observed: 14,
                dated: 12,
                leads: vec![
                    lead(60, Some((10, 0.1))),
                    lead(40, Some((10, -0.1))),
                    lead(20, Some((9, 0.1))),
                    lead(10, None),
                ],
            },
        );
        let said: Vec<String> = page.blocks.iter().map(|block| format!("{block:?}")).collect();
        for wanted in [
            "Better than the dates of earlier years: 60 days before.",
            "as good: 40 days before.",
            "count as good: 20 days before.",
            "Too few earlier dates to compare with: 10 days before.",
        ] {
            assert!(
                said.iter().any(|text| text.contains(wanted)),
                "{wanted}: {said:?}"
            );
        }
    }
}
