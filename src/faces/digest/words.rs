//! Everything that the digest says, for one kind of reader: text and HTML draw the same words and figures.

use super::days::{DayWords, best_lines, day_words, days_rest_on, ramp_lines};
use super::week;
use crate::faces::figures::{figures, flow_base_of};
use crate::faces::reader::{Reader, percent};
use crate::faces::text::block::{Block, Page, Tone};
use crate::faces::text::{alerts, cautions};
use crate::faces::{gaps, words};
use crate::lake::ZoneId;
use crate::reports::{Brief, Choice, Digest, SpeciesReason};
use crate::whereabouts::{SpeciesCall, Verdict};

/// Reasons that are told.
const REASONS: usize = 3;

/// A label and what it speaks of.
pub type Labelled = (String, String);

/// One caution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionWords {
    /// How hard it speaks.
    pub tone: Tone,
    /// Its level.
    pub level: String,
    /// What it says.
    pub text: String,
}

/// What the digest says.
#[derive(Debug, Clone, PartialEq)]
pub struct DigestWords {
    /// Name of the lake.
    pub lake: String,
    /// Note of the lake file.
    pub note: Option<String>,
    /// Week, and the clock.
    pub stamp: String,
    /// Subject of the message.
    pub subject: String,
    /// What is lacking for an answer to be trusted: a heading, then a line each.
    pub lacking: Vec<String>,
    /// Which morning the cautions are for.
    pub morning: String,
    /// Cautions, the most severe first.
    pub cautions: Vec<CautionWords>,
    /// Reminders that stand every week.
    pub reminders: Vec<String>,
    /// Official alerts, or that they are not known.
    pub alerts: Vec<String>,
    /// The week in a few lines.
    pub glance: Vec<Labelled>,
    /// Days ahead.
    pub days: Vec<DayWords>,
    /// What the days ahead rest on.
    pub days_rest_on: Vec<String>,
    /// Ramps of the week.
    pub ramps: Vec<Labelled>,
    /// Calm hours.
    pub best: Vec<String>,
    /// Where to start, and what moved the shares most.
    pub plan: Vec<Labelled>,
    /// Since when the changes are.
    pub since: String,
    /// What changed.
    pub changed: Vec<String>,
    /// The week behind.
    pub behind: Vec<Labelled>,
    /// Trips, turnover, notices, the record of the calls: what stands of them.
    pub also: Vec<Labelled>,
    /// What is not known.
    pub not_known: Vec<String>,
    /// What is said at the end of every digest.
    pub closing: Vec<String>,
}

/// The words of `digest` for `reader`.
pub fn digest_words(digest: &Digest, reader: &Reader) -> DigestWords {
    let brief = &digest.brief;
    let (cautions, reminders) = caution_words(brief, reader);
    let (since, changed) = week::changed(digest, reader);
    DigestWords {
        lake: brief.lake.name.clone(),
        note: brief.lake.note.clone(),
        stamp: stamp(digest, reader),
        subject: subject(digest, reader),
        lacking: lacking(brief),
        morning: format!(
            "for {}",
            reader.day_of(brief.plan.hours.from)
        ),
        cautions,
        reminders,
        alerts: alert_lines(brief, reader),
        glance: glance(digest, reader),
        days: digest.ahead.iter().map(|day| day_words(brief, day, reader)).collect(),
        days_rest_on: days_rest_on(digest),
        ramps: ramp_lines(digest, reader),
        best: best_lines(digest, reader),
        plan: plan(brief, reader),
        since,
        changed,
        behind: week::behind(digest, reader),
        also: week::also(digest, reader),
        not_known: gaps::lines(brief, reader).iter().map(|line| without_codes(line)).collect(),
        closing: vec![
            "Local rules, closures and official warnings come before anything above. Nothing here is a permission to launch: look \
             at the water, and at the forecast of the day."
                .to_owned(),
            "Shares are what rules and trips expect of where the fish are; on any one day the fish scatter more than that."
                .to_owned(),
        ],
    }
}

/// Week, clock with its distance from UTC, and how new the newest reading is.
fn stamp(digest: &Digest, reader: &Reader) -> String {
    let brief = &digest.brief;
    let newest = |cadence: &str| {
        let inputs = brief.inputs.iter().filter(|input| input.cadence == cadence);
        inputs.filter_map(|input| input.newest).max()
    };
    // A daily mean is stamped with the beginning of its day.
    let through = newest("continuous")
        .map(|at| reader.day_hour(at))
        .or_else(|| newest("daily").map(|day| words::day_of_mean(reader, day)));
    let through = through.map_or_else(|| "no readings".to_owned(), |at| format!("data through {at}"));
    format!(
        "Week {} of {}, as of {} ({}); {through}",
        digest.week.week,
        digest.week.year,
        reader.stamp(brief.as_of),
        reader.utc_offset(brief.as_of)
    )
}

/// A line on what rules lack, without their codes (`R7`), which nobody knows who gets a letter.
fn without_codes(line: &str) -> String {
    let code_in = |word: &str| -> Option<String> {
        let core = word.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        let digits = core.strip_prefix('R').filter(|digits| !digits.is_empty())?;
        let is_code = digits.bytes().all(|b| b.is_ascii_digit());
        is_code.then(|| word.replace(core, "a rule"))
    };
    let said = line
        .split(' ')
        .map(|word| code_in(word).unwrap_or_else(|| word.to_owned()));
    said.collect::<Vec<_>>().join(" ")
}

/// Lake, level and its week, and the place to start: short, and ASCII where the names are.
fn subject(digest: &Digest, reader: &Reader) -> String {
    let brief = &digest.brief;
    let level = brief.pool.as_ref().map(|pool| {
        let moved = pool
            .change_7d
            .map(|c| format!(", {} in a week", reader.change_about(c.change_m)));
        format!(
            "{}{}",
            reader.elevation_about(pool.elevation_m),
            moved.unwrap_or_default()
        )
    });
    let level = level.unwrap_or_else(|| "level not known".to_owned());
    let stops = brief
        .cautions
        .iter()
        .any(|c| c.level == crate::plan::CautionLevel::Severe && words::says_stay_ashore(c.hazard));
    let first = brief
        .choices
        .first()
        .and_then(|c| brief.whereabouts.get(&c.species));
    let place = match first.map(|call| (call, &call.verdict)) {
        _ if stops => "; cautions first".to_owned(),
        Some((call, Verdict::Likeliest { zone, .. })) => {
            let named = call
                .zones
                .get(zone)
                .map_or(zone.as_str(), |share| share.name.as_str());
            format!("; {named} first")
        }
        _ => String::new(),
    };
    format!("{}: {level}{place}", brief.lake.name)
}

/// `rainbow trout likeliest in the Sorrel Arm`, or either place; `None` where nothing is known.
fn lead_of(brief: &Brief, call: &SpeciesCall) -> Option<String> {
    match &call.verdict {
        Verdict::Likeliest { zone, .. } => {
            Some(format!("{} likeliest in {}", call.name, words::zone(brief, zone)))
        }
        Verdict::EitherPlace { zones, .. } => {
            let zones: Vec<String> = zones.iter().map(|zone| words::zone(brief, zone)).collect();
            Some(format!("{} in {}", call.name, zones.join(" or ")))
        }
        Verdict::NotKnown { .. } => None,
    }
}

fn lacking(brief: &Brief) -> Vec<String> {
    if brief.trust.enough {
        return Vec::new();
    }
    let (heading, what) = words::trust_heading(&brief.trust);
    let mut lines = vec![format!("{}: {what}", words::capitalised(&heading.to_lowercase()))];
    lines.extend(brief.trust.lacking.iter().map(|l| words::lacking(brief, l)));
    lines
}

/// Cautions, and the reminders apart from them: those are the same every week.
fn caution_words(brief: &Brief, reader: &Reader) -> (Vec<CautionWords>, Vec<String>) {
    let mut page = Page::default();
    cautions::write(&mut page, brief, reader);
    let (mut found, mut reminders) = (Vec::new(), Vec::new());
    for block in page.blocks {
        match block {
            Block::Labelled {
                tone: Tone::Faint,
                text,
                ..
            } => reminders.push(plain(&text)),
            Block::Labelled {
                tone, label, text, ..
            } => found.push(CautionWords {
                tone,
                level: label,
                text: plain(&text),
            }),
            _ => {}
        }
    }
    (found, reminders)
}

/// Without the blanks that hold two words together: a mail reader breaks lines as it likes.
fn plain(text: &str) -> String {
    text.replace(crate::faces::text::block::HELD, " ")
}

fn alert_lines(brief: &Brief, reader: &Reader) -> Vec<String> {
    let mut page = Page::default();
    alerts::write(&mut page, brief, reader);
    let said = page.blocks.into_iter().flat_map(|block| match block {
        Block::Labelled { label, text, .. } => vec![plain(&format!("{label} {text}"))],
        Block::Text { text, .. } => vec![plain(&text)],
        Block::Quote(lines) => lines,
        Block::Link(url) => vec![url],
        _ => Vec::new(),
    });
    said.filter(|line| !line.trim().is_empty()).collect()
}

/// Level, surface, inflows, and each species in a line.
fn glance(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let brief = &digest.brief;
    let mut lines = Vec::new();
    if let Some(pool) = &brief.pool {
        let moved = pool
            .change_7d
            .map(|c| format!(", {} in 7 days by day means", reader.change(c.change_m)));
        let last = digest.ahead.last().and_then(|day| day.level.as_ref());
        let ahead = last.map(|level| {
            format!(
                "; about {} by {} ({} to {})",
                reader.elevation_about(level.median_m),
                reader.day(level.date),
                reader.elevation_number(level.low_m),
                reader.elevation_number(level.high_m)
            )
        });
        let said = format!(
            "{}{}{}",
            reader.elevation(pool.elevation_m),
            moved.unwrap_or_default(),
            ahead.unwrap_or_default()
        );
        lines.push(("Level".to_owned(), said));
    }
    if let Some(surface) = &brief.surface {
        let trend = match (surface.cooling, surface.warming) {
            (true, _) => ", cooling",
            (_, true) => ", warming",
            _ => ", no clear trend",
        };
        let last = digest.ahead.last().and_then(|day| day.surface.as_ref());
        let ahead = last.map(|s| format!("; about {} by {}", reader.temp(s.median_degc), reader.day(s.date)));
        let said = format!(
            "{}{trend}{}",
            reader.temp(surface.temp_degc),
            ahead.unwrap_or_default()
        );
        lines.push(("Surface".to_owned(), said));
    }
    for choice in &brief.choices {
        if let Some(call) = brief.whereabouts.get(&choice.species) {
            let said = lead_of(brief, call).unwrap_or_else(|| "where they are is not known".to_owned());
            let said = said
                .strip_prefix(&format!("{} ", call.name))
                .unwrap_or(&said)
                .to_owned();
            let share = call.zones.get(&call.likeliest_fishable);
            let share = share.map(|s| {
                let (low, high) = (percent(s.low), percent(s.high));
                format!(
                    ", {} of the fish ({} to {high})",
                    percent(s.share),
                    low.trim_end_matches(" %")
                )
            });
            lines.push((
                words::capitalised(&call.name),
                format!("{said}{}{}", share.unwrap_or_default(), depth_of(call, reader)),
            ));
        }
    }
    lines
}

fn depth_of(call: &SpeciesCall, reader: &Reader) -> String {
    let band = call.band_top_m.zip(call.band_bottom_m);
    let band = band.map(|(top_m, bottom_m)| format!(", {} down", reader.band(top_m, bottom_m)));
    let best = words::best_depth(call.band_best_m, call.band_reaches_limits(), reader);
    format!("{}{best}", band.unwrap_or_default())
}

/// Where to start and fall back to, by species, and the reasons that moved the shares most.
fn plan(brief: &Brief, reader: &Reader) -> Vec<Labelled> {
    let mut lines: Vec<Labelled> = brief
        .choices
        .iter()
        .filter_map(|c| start_of(brief, c, reader))
        .collect();
    for reason in brief.reasons.iter().take(REASONS) {
        lines.push(("Because".to_owned(), reason_said(brief, reason, reader)));
    }
    lines
}

fn start_of(brief: &Brief, choice: &Choice, reader: &Reader) -> Option<Labelled> {
    let call = brief.whereabouts.get(&choice.species)?;
    if matches!(call.verdict, Verdict::NotKnown { .. }) {
        return None;
    }
    let zone = |id: &ZoneId| words::zone(brief, id);
    let ramp = choice.ramp.as_ref().map_or_else(
        || "no ramp is known to float the boat".to_owned(),
        |id| {
            let named = brief.ramps.iter().find(|ramp| &ramp.id == id);
            format!("ramp {}", named.map_or(id.as_str(), |ramp| ramp.name.as_str()))
        },
    );
    let order = brief
        .plan
        .order
        .iter()
        .find(|order| order.species == choice.species);
    let first = order
        .and_then(|order| order.places.first())
        .map(|place| place.zone.clone());
    let first = first.unwrap_or_else(|| choice.zone.clone());
    let second = match order.and_then(|order| order.second.as_ref()) {
        Some(crate::plan::SecondChoice::Zone { zone: id, at, .. }) => {
            format!("; then {} from {}", zone(id), reader.hour(*at))
        }
        Some(crate::plan::SecondChoice::SameZone { .. }) => "; then another stretch of it".to_owned(),
        _ => String::new(),
    };
    Some((
        format!(
            "{}, {}",
            words::capitalised(&call.name),
            reader.day_of(brief.plan.hours.from)
        ),
        format!("first {}, {ramp}{}{second}", zone(&first), depth_of(call, reader)),
    ))
}

fn reason_said(brief: &Brief, reason: &SpeciesReason, reader: &Reader) -> String {
    let species = brief.whereabouts.get(&reason.species);
    let species = species.map_or(reason.species.as_str(), |call| call.name.as_str());
    let why = &reason.reason;
    let drivers = figures(reader, |v| flow_base_of(&brief.inflows, v), &why.drivers);
    let drivers = if drivers.is_empty() {
        String::new()
    } else {
        format!(" ({})", drivers.join(", "))
    };
    let speaks = if why.contribution >= 0.0 { "for" } else { "against" };
    plain(&format!(
        "{speaks} {}, {species}: {}{drivers}",
        words::zone(brief, &why.zone),
        why.label
    ))
}
