//! How good the calls have been, as text, 80 columns.

use std::fmt::Write;

use textwrap::{Options, fill};

use crate::faces::reader::{Reader, percent};
use crate::reports::{BandRecord, SkillPage, WhereaboutsSkill};
use crate::skill::share_record::{
    AgainstReference, LEAST_TRIPS_FOR_TABLE, LEAST_TRIPS_FOR_VERDICT, RecordVerdict, ReliabilityRow,
    ShareRecord,
};

const WIDTH: usize = 80;

/// The page as text, at most 80 columns. `species_name` gives the name for people of a species.
pub fn render_skill(page: &SkillPage, reader: &Reader, species_name: &dyn Fn(&str) -> String) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}", page.lake.name);
    let on = reader.stamp(page.as_of);
    said(
        &mut text,
        "",
        &format!("How the calls have done against the trips of the log, up to {on}"),
    );
    text.push('\n');
    counts(&mut text, &page.whereabouts);
    for (id, record) in &page.whereabouts.species {
        let _ = writeln!(text, "\n{}", species_name(id.as_str()));
        shares(&mut text, &record.shares);
        band(&mut text, &record.band);
    }
    text
}

fn said(text: &mut String, indent: &str, words: &str) {
    let options = Options::new(WIDTH)
        .initial_indent(indent)
        .subsequent_indent(indent);
    let _ = writeln!(text, "{}", fill(words, options));
}

/// So many of something, in words.
fn of(count: usize, one: &str, many: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    }
}

fn counts(text: &mut String, skill: &WhereaboutsSkill) {
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
    said(text, "", &words);
}

fn shares(text: &mut String, record: &ShareRecord) {
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
    said(text, "  ", &words);
    let Some(score) = record.log_score else {
        said(text, "  ", "Too few trips to tell.");
        return;
    };
    let _ = writeln!(text, "    log score in nats a trip, smaller is better{:>10}", "");
    let _ = writeln!(text, "    {:<38}{score:>8.3}", "the calls");
    for (name, reference) in [
        ("fish in proportion to hours alone", &record.against_effort),
        ("fixed shares, the mean over all calls", &record.against_long_run),
    ] {
        if let Some(reference) = reference {
            let _ = writeln!(
                text,
                "    {name:<38}{:>8.3}  {}",
                reference.reference_score,
                verdict(reference)
            );
        }
    }
    if record.trips < LEAST_TRIPS_FOR_VERDICT {
        let words = format!("A verdict takes {LEAST_TRIPS_FOR_VERDICT} trips or more.");
        said(text, "    ", &words);
    }
    match &record.reliability {
        Some(rows) => reliability(text, rows),
        None => {
            let words =
                format!("No table of reliability below {LEAST_TRIPS_FOR_TABLE} trips: it would show chance.");
            said(text, "    ", &words);
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

fn reliability(text: &mut String, rows: &[ReliabilityRow]) {
    said(
        text,
        "    ",
        "Fish where so much of a trip's catch was expected, and what came, with the interval that holds it in 8 of 10 cases:",
    );
    for row in rows {
        let _ = writeln!(
            text,
            "    {:>4}-{:<4} expected {:>4}, came {:>4} ({:.0}-{:.0})  {} cases, {} fish",
            (100.0 * row.from_prob).round(),
            (100.0 * row.to_prob).round(),
            percent(row.expected_prob),
            percent(row.observed_prob),
            100.0 * row.low_prob,
            100.0 * row.high_prob,
            row.cases,
            row.fish
        );
    }
}

fn band(text: &mut String, band: &BandRecord) {
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
    said(text, "  ", &words);
}
