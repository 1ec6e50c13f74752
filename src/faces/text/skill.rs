//! The skill page as blocks, and as text of 80 columns: forecasts against what came, calls against trips.

use std::fmt::Write;

use super::block::{Block, Page};
use super::layout::{Ink, render_blocks};
use super::skill_forecasts::forecasts;
use crate::faces::reader::{Reader, percent};
use crate::reports::{BandRecord, SkillPage, WhereaboutsSkill};
use crate::skill::share_record::{
    AgainstReference, LEAST_TRIPS_FOR_TABLE, LEAST_TRIPS_FOR_VERDICT, RecordVerdict, ReliabilityRow,
    ShareRecord,
};

/// The page as text, at most 80 columns. `species_name` gives the name for people of a species.
pub fn render_skill(
    page: &SkillPage,
    reader: &Reader,
    species_name: &dyn Fn(&str) -> String,
    ink: Ink,
) -> String {
    render_blocks(&compose_skill(page, reader, species_name), ink)
}

/// The page as blocks.
pub fn compose_skill(page: &SkillPage, reader: &Reader, species_name: &dyn Fn(&str) -> String) -> Vec<Block> {
    let mut blocks = Page::default();
    blocks.blocks.push(Block::Title {
        name: page.lake.name.clone(),
        stamp: reader.stamp(page.as_of),
    });
    let note = "How far the numbers can be trusted: what was forecast and called, against what came of it.";
    blocks.blocks.push(Block::Note(note.to_owned()));
    forecasts(&mut blocks, &page.forecasts, reader);
    blocks.heading(
        "WHEREABOUTS",
        "calls of where the fish are, against the trips of the log",
    );
    counts(&mut blocks, &page.whereabouts);
    for (id, record) in &page.whereabouts.species {
        blocks.lead(&species_name(id.as_str()));
        shares(&mut blocks, &record.shares);
        band(&mut blocks, &record.band);
    }
    blocks.blocks
}

fn said(page: &mut Page, indent: usize, words: &str) {
    page.text(words, indent);
}

/// So many of something, in words.
pub(super) fn of(count: usize, one: &str, many: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    }
}

fn counts(page: &mut Page, skill: &WhereaboutsSkill) {
    let mut words = format!(
        "{} on record, {} in the log.",
        of(skill.calls, "call", "calls"),
        of(skill.trips, "trip", "trips")
    );
    if skill.trips_without_call > 0 {
        let _ = write!(
            words,
            " {} no call in the day before it began, and is not scored.",
            match skill.trips_without_call {
                1 => "1 trip had".to_owned(),
                n => format!("Each of {n} trips had"),
            }
        );
    }
    if skill.trips_called_late > 0 {
        let _ = write!(
            words,
            " Of these {} called too late: after it began, by a clock set back, from a replay, or by a fit that knew it. What is made \
             with hindsight does not count.",
            match skill.trips_called_late {
                1 => "1 was".to_owned(),
                n => format!("{n} were"),
            }
        );
    }
    if skill.replayed_calls > 0 && skill.replayed_scored {
        let _ = write!(
            words,
            " {} of replayed mornings {} counted as made then: this is a rehearsal.",
            of(skill.replayed_calls, "call", "calls"),
            if skill.replayed_calls == 1 { "is" } else { "are" }
        );
    } else if skill.replayed_calls > 0 {
        let _ = write!(
            words,
            " {} of replayed mornings {} rehearsals and not scored (`--with-replayed` scores them).",
            of(skill.replayed_calls, "call", "calls"),
            if skill.replayed_calls == 1 {
                "counts among"
            } else {
                "are"
            }
        );
    }
    if skill.unreadable_calls > 0 {
        let _ = write!(
            words,
            " {} cannot be read (named above).",
            of(skill.unreadable_calls, "call", "calls")
        );
    }
    if skill.legs_left_out > 0 {
        let _ = write!(
            words,
            " {} without rods or catch: no score can use them.",
            of(skill.legs_left_out, "leg is", "legs are")
        );
    }
    said(page, 2, &words);
}

fn shares(page: &mut Page, record: &ShareRecord) {
    let mut aside = Vec::new();
    for (count, words) in [
        (record.blank, "without a fish"),
        (record.one_zone, "in one zone only"),
        (
            record.impossible,
            "fished only where the call had none of the fish",
        ),
    ] {
        if count > 0 {
            aside.push(format!("{count} {words}"));
        }
    }
    let aside = match aside.is_empty() {
        true => String::new(),
        false => format!(" (beside {}, which no split can be scored on)", aside.join(", ")),
    };
    let words = format!("Shares: {} scored{aside}.", of(record.trips, "trip", "trips"));
    said(page, 4, &words);
    let Some(score) = record.log_score else {
        said(page, 4, "Too few trips to tell.");
        return;
    };
    said(page, 4, "Log score in nats a trip, smaller is better:");
    let mut rows = vec![("the calls".to_owned(), vec![format!("{score:.3}"), String::new()])];
    for (name, reference) in [
        ("fish by hours alone", &record.against_effort),
        ("fixed shares", &record.against_long_run),
    ] {
        if let Some(reference) = reference {
            let score = format!("{:.3}", reference.reference_score);
            rows.push((name.to_owned(), vec![score, verdict(reference)]));
        }
    }
    page.table(&["score", "against it"], rows);
    if record.trips < LEAST_TRIPS_FOR_VERDICT {
        let words = format!("A verdict takes {LEAST_TRIPS_FOR_VERDICT} trips or more.");
        said(page, 4, &words);
    }
    match &record.reliability {
        Some(rows) => reliability(page, rows),
        None => {
            let words =
                format!("No table of reliability below {LEAST_TRIPS_FOR_TABLE} trips: it would show chance.");
            said(page, 4, &words);
        }
    }
}

fn verdict(of: &AgainstReference) -> String {
    match of.verdict {
        RecordVerdict::TooFew => "too few trips to tell".to_owned(),
        RecordVerdict::Better => format!("the calls are better by {:.3}", of.gained),
        RecordVerdict::Worse => format!("the calls are worse by {:.3}", -of.gained),
        RecordVerdict::NoDifference => "as good as the calls".to_owned(),
    }
}

fn reliability(page: &mut Page, rows: &[ReliabilityRow]) {
    said(
        page,
        4,
        "Fish where so much of a trip's catch was expected, and what came, with the interval that holds it in 8 of 10 cases:",
    );
    let row = |row: &ReliabilityRow| {
        let head = format!("{} to {}", whole(row.from_prob), percent(row.to_prob));
        let interval = format!("{} to {}", whole(row.low_prob), whole(row.high_prob));
        let cells = vec![
            percent(row.expected_prob),
            percent(row.observed_prob),
            interval,
            row.cases.to_string(),
            row.fish.to_string(),
        ];
        (head, cells)
    };
    page.table(
        &["expected", "came", "interval", "cases", "fish"],
        rows.iter().map(row).collect(),
    );
}

/// Percent of a share, whole, without its sign.
fn whole(share_frac: f64) -> String {
    crate::faces::reader::rounded(100.0 * share_frac, 0)
}

fn band(page: &mut Page, band: &BandRecord) {
    let hours = match band.rod_h > 0.0 {
        true => format!(
            "; {} of their {:.0} rod-hours were there",
            percent(band.in_band_rod_h / band.rod_h),
            band.rod_h
        ),
        false => String::new(),
    };
    let words = match band.fish {
        0 => format!("Depth: no fish of legs with rods and depth{hours}."),
        fish => format!(
            "Depth: of {} of legs with rods and depth {} came from within the band that was called{hours}.",
            of(fish as usize, "fish", "fish"),
            band.fish_in_band
        ),
    };
    said(page, 4, &words);
}
