//! The head of the page of a fit: what it rests on, what becomes of it, and what had no part in it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::fit::said;
use crate::faces::reader::Reader;
use crate::reports::FitPage;
use crate::whereabouts::learn::KeptOptions;

/// Trips or legs named beside a reason for which they were left out.
const NAMED: usize = 8;

/// What becomes of the fit.
fn use_words(page: &FitPage, reader: &Reader) -> String {
    if page.invented {
        return "The trips are invented, as the lake is: the log of the demonstration is empty. Nothing of this fit is kept."
            .to_owned();
    }
    if page.trips == 0 {
        return "The log is empty: `plungeline log add` begins it. The rules stand.".to_owned();
    }
    if page.used == 0 {
        return "None of them could be used, for the reasons below. The rules stand.".to_owned();
    }
    match (page.kept, page.newer) {
        (false, _) => "Shown only: briefs go by what they went by before.".to_owned(),
        (true, None) => {
            "Briefs go by this fit from now on, until trips in it are changed or removed.".to_owned()
        }
        (true, Some(newer)) => format!(
            "Briefs of mornings before {} go by this fit; from then on they go by the one that was made with that clock.",
            reader.stamp(newer)
        ),
    }
}

/// How the fit was made, where not as usual.
fn options_words(of: &KeptOptions) -> Vec<String> {
    let half_life = of
        .half_life_days
        .map(|days| format!("with trips {days} days old weighing half"));
    let others = [
        (!of.with_reports, "without zones chosen by reports"),
        (!of.with_marks, "without marks of the sonar"),
        (of.together, "with R2 and R7 learned by all species together"),
    ];
    let others = others.into_iter().filter(|(holds, _)| *holds);
    half_life
        .into_iter()
        .chain(others.map(|(_, words)| words.to_owned()))
        .collect()
}

/// The head of the page.
pub(super) fn head(text: &mut String, page: &FitPage, reader: &Reader) {
    let _ = writeln!(text, "{}", page.lake.name);
    let on = reader.stamp(page.as_of);
    let has = if page.trips == 1 { "has" } else { "have" };
    said(
        text,
        "",
        &format!("What {} {has} taught, up to {on}", trips_word(page.trips)),
    );
    said(text, "", &use_words(page, reader));
    let options = options_words(&page.options);
    if !options.is_empty() {
        said(text, "", &format!("Made {}.", options.join(", ")));
    }
    let of = &page.mornings;
    let mornings: Vec<String> = [
        (of.called, "from the calls made then"),
        (of.kept_before, "as an earlier fit found them in the store"),
        (of.looked_at_again, "looked up in the store now"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, words)| format!("{count} {words}"))
    .collect();
    if !mornings.is_empty() {
        said(
            text,
            "",
            &format!(
                "What the mornings of these trips offered: {}.",
                mornings.join(", ")
            ),
        );
    }
    let mut reasons: BTreeMap<(&str, &str), BTreeSet<String>> = BTreeMap::new();
    for left in &page.left_out {
        let species = left.species.as_ref().map_or("", |id| id.as_str());
        let what = match left.leg {
            Some(leg) => format!("leg {leg} of trip {}", left.trip),
            None => format!("trip {}", left.trip),
        };
        reasons.entry((&left.why, species)).or_default().insert(what);
    }
    for ((why, species), what) in reasons {
        let of = if species.is_empty() {
            String::new()
        } else {
            format!(" for {species}")
        };
        let named: Vec<&str> = what.iter().take(NAMED).map(String::as_str).collect();
        let more = match what.len().saturating_sub(NAMED) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        said(
            text,
            "",
            &format!("Left out{of}, {}{more}: {why}.", named.join(", ")),
        );
    }
    text.push('\n');
}

/// So many trips, in words.
pub(super) fn trips_word(count: usize) -> String {
    match count {
        1 => "1 trip".to_owned(),
        n => format!("{n} trips"),
    }
}
