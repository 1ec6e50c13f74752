//! The text of a brief about species of which nobody knows where they are.

use chrono_tz::America::Los_Angeles;
use plungeline::faces::{Detail, Ink, Reader, Units, render_markdown, render_text};
use plungeline::reports::Brief;
use plungeline::whereabouts::Verdict;

use super::demo::{MORNINGS, brief};

#[test]
fn of_a_species_without_rules_no_start_no_share_and_no_reason_is_told() {
    let mut brief: Brief = serde_json::from_value(brief(MORNINGS[1])).expect("a brief");
    for call in brief.whereabouts.values_mut() {
        call.zones.clear();
        call.reasons.clear();
        call.catchability.clear();
        call.verdict = Verdict::NotKnown {
            why: "nobody looked".to_owned(),
        };
        call.within_limits = None;
    }
    let reader = Reader::new(Units::Us, Los_Angeles);
    let text = render_text(&brief, &reader, Ink { colour: false }, Detail::Whole);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "Rainbow trout: in which part of the lake is not known: nobody looked Depth in the main body, if it is there: ",
        "its limits of temperature and oxygen are not known). Where to start for it is not known.",
        "No species of the lake file has rules, so there are no reasons.",
    ] {
        assert!(flat.contains(wanted), "{wanted}\n{text}");
    }
    assert!(
        !flat.contains("Start in") && !flat.contains("launch at"),
        "{text}"
    );
    // And no table without a row.
    assert!(
        !render_markdown(&brief, &reader, Detail::Whole).contains("80 % interval | |"),
        "an empty table"
    );
}
