//! Outlooks on the turnover issued anew in past years, as text, 80 columns.

use std::fmt::Write;

use super::hindcast::said;
use crate::hindcast::outlook::{IssueRule, LakeTurnover, LeadRow, TurnoverHindcast};
use crate::skill::seasons::Skill;

/// The scores of outlooks as text, at most 80 columns.
pub fn render_turnover_hindcast(found: &TurnoverHindcast) -> String {
    let mut text = String::new();
    for lake in &found.lakes {
        one_lake(&mut text, lake);
    }
    said(
        &mut text,
        "CRPS is the mean error of a whole outlook in days, smaller is better; of a year whose date two profiles enclose, or that was not \
         seen to end, only the days of which it is known count, which makes it small. \"Others\" is the dates of the other years as the \
         forecast, \"shifted\" the same moved by how warm the surface was at the issue. Skill is what of their error the outlook takes \
         away, with its interval of 90 % over years (\"?\" with fewer than five); where that holds 0, the reference is as good. \"In 80 %\" \
         counts dates within the outlook's 10 to 90 %: 8 of 10 are right. Each year's outlook knows what was known on its day; what the \
         other years teach is of all of them.",
    );
    text
}

fn one_lake(text: &mut String, lake: &LakeTurnover) {
    let _ = writeln!(text, "{}: the turnover outlook in past years\n", lake.lake);
    said(
        text,
        &format!(
            "{} autumns with a turnover between two profiles, {} of them left out (known to no better than 45 days); {} not seen to end.",
            lake.autumns, lake.too_wide, lake.not_seen_to_end
        ),
    );
    for rule in IssueRule::ALL {
        let rows: Vec<&LeadRow> = lake.rows.iter().filter(|row| row.issued == rule).collect();
        if rows.is_empty() {
            continue;
        }
        let words = match rule {
            IssueRule::BeforeNormal => {
                "Days ahead of the mean date of the other years, as it can be done on the day:"
            }
            IssueRule::BeforeObserved => {
                "Days ahead of the year's own date, as is published elsewhere (the day of the issue then tells of the date):"
            }
        };
        text.push('\n');
        said(text, words);
        scores(text, &rows);
        skills(text, &rows);
        taught(text, &rows);
    }
    text.push('\n');
}

fn scores(text: &mut String, rows: &[&LeadRow]) {
    let _ = writeln!(
        text,
        "  {:>5}{:>7}{:>7}{:>7}{:>8}{:>8}{:>9}{:>12}{:>7}",
        "ahead", "years", "dates", "open", "CRPS", "others", "shifted", "in 80 %", "mixed"
    );
    for row in rows {
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"));
        let held = row
            .coverage
            .map_or_else(|| "-".to_owned(), |c| format!("{} of {}", c.hits, c.trials));
        let _ = writeln!(
            text,
            "  {:>5}{:>7}{:>7}{:>7}{:>8}{:>8}{:>9}{:>12}{:>7}",
            row.lead_days,
            row.years,
            row.usable_dates,
            row.not_seen_to_end,
            number(row.crps_days),
            number(row.climatology_crps_days),
            number(row.shifted_crps_days),
            held,
            row.already_mixed
        );
    }
}

fn skills(text: &mut String, rows: &[&LeadRow]) {
    let _ = writeln!(
        text,
        "\n  {:>5}{:>7}{:>30}{:>30}",
        "ahead", "years", "skill against others, %", "against shifted, %"
    );
    for row in rows {
        let _ = writeln!(
            text,
            "  {:>5}{:>7}{:>30}{:>30}",
            row.lead_days,
            row.years,
            skill_words(row.skill_climatology),
            skill_words(row.skill_shifted)
        );
    }
    for (name, of) in [
        (
            "the dates of the other years",
            (|row| row.skill_climatology) as fn(&LeadRow) -> Option<Skill>,
        ),
        ("the same shifted by the surface", |row| row.skill_shifted),
    ] {
        let not_shown: Vec<String> = rows
            .iter()
            .filter(|row| row.years > 0 && !of(row).is_some_and(Skill::is_shown))
            .map(|row| row.lead_days.to_string())
            .collect();
        if !not_shown.is_empty() {
            said(
                text,
                &format!(
                    "  Skill is not shown, {name} are as good: {} days ahead.",
                    not_shown.join(", ")
                ),
            );
        }
    }
}

/// Where the members' dates were moved by what the other years teach.
fn taught(text: &mut String, rows: &[&LeadRow]) {
    let moved: Vec<String> = rows
        .iter()
        .filter(|row| row.taught_years > 0)
        .map(|row| {
            format!(
                "{} days ahead in {} of {} years",
                row.lead_days, row.taught_years, row.years
            )
        })
        .collect();
    let words = match moved.is_empty() {
        true => "  What the other years teach of the runs' dates was nowhere shown to help, and moves none."
            .to_owned(),
        false => format!(
            "  The runs' dates are moved as the other years teach where that was shown to help them: {}.",
            moved.join(", ")
        ),
    };
    said(text, &words);
}

/// A skill in percent with its interval.
pub(super) fn skill_words(skill: Option<Skill>) -> String {
    let percent = |frac: f64| format!("{:.0}", 100.0 * frac);
    match skill {
        Some(Skill {
            skill_frac,
            low: Some(low),
            high: Some(high),
        }) => format!("{} ({} to {})", percent(skill_frac), percent(low), percent(high)),
        Some(skill) => format!("{} (?)", percent(skill.skill_frac)),
        None => "-".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hindcast::outlook::Coverage;

    fn row(lead_days: u32, low: Option<f64>) -> LeadRow {
        let skill = Some(Skill {
            skill_frac: 0.25,
            low,
            high: low.map(|low| low + 0.3),
        });
        LeadRow {
            issued: IssueRule::BeforeNormal,
            lead_days,
            years: 12,
            usable_dates: 9,
            not_seen_to_end: 2,
            already_mixed: 1,
            taught_years: 0,
            crps_days: Some(3.0),
            members_crps_days: Some(3.5),
            climatology_crps_days: Some(4.0),
            shifted_crps_days: Some(4.0),
            skill_climatology: skill,
            skill_shifted: None,
            log_score: Some(3.0),
            climatology_log_score: Some(3.2),
            shifted_log_score: None,
            floored: 0,
            coverage: Some(Coverage {
                hits: 7,
                trials: 9,
                low: 0.6,
                high: 0.9,
            }),
            met: 10,
        }
    }

    #[test]
    fn scores_stand_by_days_ahead_with_their_number_and_a_skill_that_is_not_shown_is_said_so() {
        let found = TurnoverHindcast::of(vec![LakeTurnover {
            lake: "Invented Tarn".to_owned(),
            autumns: 14,
            not_seen_to_end: 2,
            too_wide: 3,
            rows: vec![
                row(20, Some(0.05)),
                LeadRow {
                    taught_years: 11,
                    ..row(10, Some(-0.1))
                },
                row(5, None),
            ],
            years: Vec::new(),
        }]);
        let text = render_turnover_hindcast(&found);
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in [
            "14 autumns with a turnover between two profiles, 3 of them left out (known to no better than 45 days); 2 not seen to end.",
            "20 12 9 2 3.00 4.00 4.00 7 of 9 1",
            "20 12 25 (5 to 35) -",
            "10 12 25 (-10 to 20) -",
            "5 12 25 (?) -",
            "the dates of the other years are as good: 10, 5 days ahead.",
            "the same shifted by the surface are as good: 20, 10, 5 days ahead.",
            "moved as the other years teach where that was shown to help them: 10 days ahead in 11 of 12 years.",
        ] {
            assert!(words.contains(wanted), "no {wanted:?} in\n{text}");
        }
    }
}
