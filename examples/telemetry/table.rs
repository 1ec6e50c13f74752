//! The comparison as text: tables of Markdown.

use std::fmt::Write as _;

use super::report::{Agreement, Ends, Month, Report};

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Everything, in per cent.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    let c = &report.counts;
    // Writing to a text cannot fail.
    let _ = writeln!(
        out,
        "{} captured, {} with a live tag by {}, {} of them heard; {} receiver-hours ({} at a receiver that stood nowhere), {} \
         fish-weeks; may lie on the bed: {}\n",
        c.captured,
        c.tagged,
        c.last_day,
        c.heard,
        c.receiver_hours,
        c.unplaced_hours,
        c.fish_weeks,
        if c.may_lie_on_the_bed.is_empty() {
            "none".to_owned()
        } else {
            c.may_lie_on_the_bed.join(", ")
        },
    );
    let chances = report.areas.iter().zip(&report.hidden.heard_in_a_week_prob);
    let chances: Vec<String> = chances.map(|(a, p)| format!("{a} {:.0} %", 100.0 * p)).collect();
    let _ = writeln!(
        out,
        "chance to hear a fish in hearing in a week with every receiver: {}; {} rounds{}\n",
        chances.join(", "),
        report.hidden.rounds,
        if report.hidden.converged {
            ""
        } else {
            ", NOT CONVERGED"
        }
    );
    months(&mut out, report);
    estimators(&mut out, report);
    out.push_str("\n| rules | main, arms, rivers: rules | observed | months covered | rank correlation | total variation |\n");
    out.push_str("|---|---|---|---|---|---|\n");
    report.agreement.iter().for_each(|a| agreement(&mut out, a));
    out
}

/// Main lake, arms and rivers of the hidden states beside the rules.
fn months(out: &mut String, report: &Report) {
    out.push_str("| month | fish | fish-days | receiver-days, lake and rivers | tagged fish: main | arms | rivers | rules: main | arms | rivers | rules less fish | held by the rules' interval |\n");
    out.push_str("|---|---|---|---|---|---|---|---|---|---|---|---|\n");
    for m in &report.months {
        let (river, lake) = m
            .receiver_days
            .split_last()
            .map_or((0.0, 0.0), |(r, l)| (*r, l.iter().sum()));
        let fish = |g: usize| match (&m.hidden, &m.hidden_interval[g]) {
            (Some(s), Some(e)) => with_ends(s[g], *e),
            (Some(s), None) => format!("{:.0}", 100.0 * s[g]),
            (None, _) => "-".to_owned(),
        };
        let rules = |g: usize| with_ends(m.rules[g], m.rules_interval[g]);
        let _ = writeln!(
            out,
            "| {} | {} | {:.0} | {lake:.0}, {river:.0} | {} | {} | {} | {} | {} | {} | {} | {} |",
            MONTHS[m.month as usize - 1],
            m.fish,
            m.fish_days + m.unplaced_days,
            fish(0),
            fish(1),
            fish(2),
            rules(0),
            rules(1),
            rules(2),
            m.difference
                .as_deref()
                .map_or("-".to_owned(), |d| listed(d, true)),
            m.covered.as_deref().map_or("-".to_owned(), covered),
        );
    }
}

/// The simpler estimators beside the hidden states.
fn estimators(out: &mut String, report: &Report) {
    out.push_str("\n| month | days heard | held over 7 days | over 28 days | bounds: main | arms | rivers | with the first 60 days | with tags on the bed | lines to the main lake | hidden states | north, south, west | rules in a freshet |\n");
    out.push_str("|---|---|---|---|---|---|---|---|---|---|---|---|---|\n");
    let shares = |s: &Option<Vec<f64>>| s.as_deref().map_or("-".to_owned(), |s| listed(s, false));
    let bounds = |m: &Month, g: usize| {
        m.bounds[g].map_or("-".to_owned(), |e| {
            format!("{:.0} to {:.0}", 100.0 * e[0], 100.0 * e[1])
        })
    };
    for m in &report.months {
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            MONTHS[m.month as usize - 1],
            shares(&m.heard),
            shares(&m.held_short),
            shares(&m.held),
            bounds(m, 0),
            bounds(m, 1),
            bounds(m, 2),
            shares(&m.held_unsettled),
            shares(&m.held_still_too),
            shares(&m.held_lines_to_main),
            shares(&m.hidden),
            listed(&m.hidden_by_area[1..4], false),
            listed(&m.rules_in_freshet, false),
        );
    }
}

fn agreement(out: &mut String, a: &Agreement) {
    let counts: Vec<String> = a.covered_months.iter().map(usize::to_string).collect();
    let correlations: Vec<String> = a
        .rank_correlation
        .iter()
        .map(|r| r.map_or("-".to_owned(), |r| format!("{r:+.2}")))
        .collect();
    let _ = writeln!(
        out,
        "| {} | {} | {} | {} of {} | {} | {:.2} |",
        a.rules,
        listed(&a.rules_mean, false),
        listed(&a.observed_mean, false),
        counts.join(", "),
        a.months,
        correlations.join(", "),
        a.total_variation
    );
}

fn with_ends(share: f64, ends: Ends) -> String {
    format!(
        "{:.0} ({:.0} to {:.0})",
        100.0 * share,
        100.0 * ends[0],
        100.0 * ends[1]
    )
}

fn listed(shares: &[f64], signed: bool) -> String {
    let each = shares.iter().map(|s| 100.0 * s);
    let words: Vec<String> = each
        .map(|s| {
            if signed {
                format!("{s:+.0}")
            } else {
                format!("{s:.0}")
            }
        })
        .collect();
    words.join(", ")
}

fn covered(each: &[bool]) -> String {
    let words: Vec<&str> = each.iter().map(|c| if *c { "yes" } else { "no" }).collect();
    words.join(", ")
}
