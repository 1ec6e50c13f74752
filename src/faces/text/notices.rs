//! The user's own notices: what is new, what stands, what cannot be judged. Nothing where there is none of these.

use crate::faces::reader::{Reader, chance, percent, rounded};
use crate::faces::words;
use crate::lake::{BandEdge, NoticeCondition, NoticeSide, SpeciesId};
use crate::notices::{Lack, NoticeFigure, NoticeReport, NoticeState};
use crate::reports::Brief;

use super::block::{Page, Tone};

/// Columns of a label.
const LABEL_WIDTH: usize = 10;

/// Writes the block.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    let is_told = |notice: &&NoticeReport| notice.state != NoticeState::Quiet;
    let mut told = brief.notices.iter().filter(is_told).peekable();
    if told.peek().is_none() {
        return;
    }
    page.heading("NOTICES", "your own, of the lake file");
    let mut unknown = Vec::new();
    for notice in told {
        match &notice.state {
            NoticeState::Fired { already } => {
                let text = sentence(brief, notice, reader, if *already { "so already" } else { "" });
                page.labelled(Tone::Bold, "NEW", LABEL_WIDTH, &text);
            }
            NoticeState::Standing { fired_at } => {
                let since = fired_at.map_or(String::new(), |at| format!("told {}", reader.day_hour(at)));
                page.labelled(
                    Tone::Faint,
                    "STANDS",
                    LABEL_WIDTH,
                    &sentence(brief, notice, reader, &since),
                );
            }
            NoticeState::NotKnown { lack } => {
                unknown.push(format!(
                    "{} ({})",
                    subject(brief, &notice.condition),
                    lacking(*lack)
                ));
            }
            NoticeState::Quiet => {}
        }
    }
    if !unknown.is_empty() {
        page.labelled(
            Tone::Bold,
            "NOT KNOWN",
            LABEL_WIDTH,
            &format!("{}.", unknown.join("; ")),
        );
    }
}

/// Subject, figure and threshold; when it was told; the user's words.
fn sentence(brief: &Brief, notice: &NoticeReport, reader: &Reader, when: &str) -> String {
    let mut text = words::capitalised(&subject(brief, &notice.condition));
    if let Some(figure) = &notice.figure {
        text.push_str(&format!(" {}", shown(figure, reader)));
    }
    let mut inside = vec![threshold(&notice.condition, reader)];
    inside.extend((!when.is_empty()).then(|| when.to_owned()));
    text.push_str(&format!(" ({}).", inside.join("; ")));
    if let Some(note) = &notice.note {
        // A note of several lines is one here, as all words of the page are.
        let note: Vec<&str> = note.split_whitespace().collect();
        text.push_str(&format!(
            " {}.",
            words::capitalised(note.join(" ").trim_end_matches('.'))
        ));
    }
    text
}

/// What a notice is about.
fn subject(brief: &Brief, condition: &NoticeCondition) -> String {
    let ramp = |id: &str| {
        let found = brief.ramps.iter().find(|ramp| ramp.id == id);
        found.map_or_else(|| id.to_owned(), |ramp| ramp.name.clone())
    };
    match condition {
        NoticeCondition::Turnover { zone, .. } => format!("turnover of {}", words::zone(brief, zone)),
        NoticeCondition::RampOut { ramp: id, .. } => format!("{} out of use", ramp(id)),
        NoticeCondition::RampBack { ramp: id, .. } => format!("{} back in use", ramp(id)),
        NoticeCondition::Pulse { inflow, .. } => {
            format!(
                "pulse in the {}, flow over its base",
                words::inflow(brief, inflow.as_str())
            )
        }
        NoticeCondition::Depth { species, edge, .. } => {
            let edge = match edge {
                BandEdge::Top => "top of the band",
                BandEdge::Best => "best depth",
                BandEdge::Bottom => "bottom of the band",
            };
            format!("{}, {edge}", name(brief, species))
        }
        NoticeCondition::SurfaceTemp { zone, .. } => format!("surface of {}", words::zone(brief, zone)),
        NoticeCondition::Level { .. } => "level".to_owned(),
        NoticeCondition::Share { species, zone, .. } => {
            format!("{}, share in {}", name(brief, species), words::zone(brief, zone))
        }
    }
}

fn name(brief: &Brief, species: &SpeciesId) -> String {
    let call = brief.whereabouts.get(species);
    call.map_or_else(|| species.to_string(), |call| call.name.clone())
}

/// The figure of today.
fn shown(figure: &NoticeFigure, reader: &Reader) -> String {
    match figure {
        NoticeFigure::Chance { chance_prob, date } => {
            let by = date.map_or(String::new(), |date| format!(", from {}", reader.day(date)));
            format!("{}{by}", chance(*chance_prob))
        }
        NoticeFigure::Flow { ratio, discharge_m3s } => {
            format!(
                "{} times, {}",
                rounded(*ratio, 1),
                reader.discharge(*discharge_m3s)
            )
        }
        NoticeFigure::Depth { depth_m } => reader.depth(*depth_m),
        NoticeFigure::Temp { temp_degc } => reader.temp(*temp_degc),
        NoticeFigure::Level { elevation_m } => reader.elevation(*elevation_m),
        NoticeFigure::Share { share_frac } => percent(*share_frac),
    }
}

/// The threshold of a notice, in the reader's units.
pub fn threshold(condition: &NoticeCondition, reader: &Reader) -> String {
    let side = |side: &NoticeSide| match side {
        NoticeSide::AtLeast => "at least",
        NoticeSide::AtMost => "at most",
    };
    match condition {
        NoticeCondition::Turnover {
            within_days,
            at_least_prob,
            ..
        }
        | NoticeCondition::RampOut {
            within_days,
            at_least_prob,
            ..
        }
        | NoticeCondition::RampBack {
            within_days,
            at_least_prob,
            ..
        } => {
            let days = if *within_days == 1 { "day" } else { "days" };
            format!("at least {} in {within_days} {days}", percent(*at_least_prob))
        }
        NoticeCondition::Pulse { at_least_ratio, .. } => format!("at least {}", rounded(*at_least_ratio, 1)),
        NoticeCondition::Depth {
            side: of, depth_m, ..
        } => format!("{} {}", side(of), reader.depth(*depth_m)),
        NoticeCondition::SurfaceTemp {
            side: of, temp_degc, ..
        } => format!("{} {}", side(of), reader.temp(*temp_degc)),
        NoticeCondition::Level {
            side: of,
            elevation_m,
            ..
        } => format!("{} {}", side(of), reader.elevation(*elevation_m)),
        NoticeCondition::Share {
            side: of, share_frac, ..
        } => format!("{} {}", side(of), percent(*share_frac)),
    }
}

fn lacking(lack: Lack) -> &'static str {
    match lack {
        Lack::TurnoverOutlook => {
            "no outlook of it to rely on was made today: `plungeline turnover` makes one in its season"
        }
        Lack::LevelOutlook => "no outlook of the level so far ahead",
        Lack::Level => "no level, or a late one",
        Lack::Inflow => "no flow, or a late one",
        Lack::Baseflow => "its base is not known",
        Lack::Water => "no water temperature there",
        Lack::Depth => "no water temperature, no level, or no depth stands out",
        Lack::OutsideLimits => "too warm or too poor in oxygen at every depth of the band",
        Lack::Shares => "a feed that shares rest on is late or missing",
        Lack::Ledger => "what was told before cannot be looked up",
    }
}
