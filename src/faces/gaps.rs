//! What is not known, a line each; an outage that leaves many gaps is one line.

use crate::reports::Brief;
use crate::series::{Consequence, Gap, GapReason};

use super::reader::{Reader, age};
use super::words;

/// What rules that lack something say of their interval; it is said once a line.
const SPREAD: &str = "; the interval keeps their spread";

/// Beginning of what a gap leaves out.
const LEFT_OUT: &str = "left out: ";

/// Gaps that share a line.
struct Line {
    /// Whether a service did not deliver: then it comes first, and what it would have filled last.
    failed: bool,
    topics: Vec<String>,
    reason: String,
    consequences: Vec<String>,
}

/// The gaps of a brief in words, in its order. What one thing leaves out is one line, and so are things that
/// are missing for one reason and leave out the same, such as the series of a service that is down.
pub fn lines(brief: &Brief, reader: &Reader) -> Vec<String> {
    let mut by_topic: Vec<Line> = Vec::new();
    for gap in &brief.gaps {
        let failed = matches!(gap.reason, GapReason::FetchFailed { .. });
        let topic = if failed {
            // An id of a series has no underscore; what has one is a topic.
            known(&gap.what)
                .filter(|_| gap.what.contains('_'))
                .map_or_else(|| gap.what.clone(), str::to_owned)
        } else {
            topic(brief, gap)
        };
        let reason = reason_of(brief, reader, gap);
        let consequence = consequence(&gap.consequence);
        let same = |line: &&mut Line| line.topics[0] == topic && line.reason == reason;
        match by_topic.iter_mut().find(same) {
            Some(line) if line.consequences.contains(&consequence) => {}
            Some(line) => line.consequences.push(consequence),
            None => by_topic.push(Line {
                failed,
                topics: vec![topic],
                reason,
                consequences: vec![consequence],
            }),
        }
    }
    let mut lines: Vec<Line> = Vec::new();
    for line in by_topic {
        let same = |l: &&mut Line| l.reason == line.reason && l.consequences == line.consequences;
        match lines.iter_mut().find(same) {
            Some(other) => other.topics.extend(line.topics),
            None => lines.push(line),
        }
    }
    lines.iter().map(Line::text).collect()
}

impl Line {
    fn text(&self) -> String {
        // What is left out is said once for all that follow each other.
        let mut said = String::new();
        let mut left_out = false;
        for consequence in &self.consequences {
            let text = consequence.strip_suffix(SPREAD).unwrap_or(consequence);
            let bare = text.strip_prefix(LEFT_OUT).filter(|_| left_out).unwrap_or(text);
            left_out = text.starts_with(LEFT_OUT);
            said.push_str(if said.is_empty() { "" } else { "; " });
            said.push_str(bare);
        }
        let spread = if self.consequences.iter().any(|c| c.ends_with(SPREAD)) {
            " (the interval keeps their spread)"
        } else {
            ""
        };
        let reason = &self.reason;
        // "series a, series b" reads as "series a, b".
        let topics = match self
            .topics
            .iter()
            .map(|t| t.strip_prefix("series "))
            .collect::<Option<Vec<_>>>()
        {
            Some(ids) => format!("series {}", ids.join(", ")),
            None if self.failed => self.topics.join(", "),
            None => self.topics.join(" and "),
        };
        if self.failed {
            format!("{reason}; {said} (for {topics})")
        } else {
            format!("{topics}: {reason}; {said}{spread}")
        }
    }
}

/// Topics of gaps that are no series of the lake file, and how they are called.
const TOPICS: [(&str, &str); 28] = [
    ("official_alerts", "official alerts"),
    ("pool_elevation", "level"),
    ("pool elevation", "level"),
    ("water_temp", "water temperature"),
    ("river_temp", "river temperature"),
    ("wind_speed", "wind forecast"),
    ("wind_gust", "gust forecast"),
    ("wind_direction", "forecast of the wind's direction"),
    ("air_temp", "forecast of air temperature"),
    ("precipitation", "rain forecast"),
    ("fetch", "open water upwind"),
    ("inflow", "flow"),
    ("visibility", "forecast of visibility"),
    ("thunder_probability", "lightning forecast"),
    ("hypsography", "areas by elevation"),
    ("level_change_7d", "change of level in 7 days"),
    ("flow_ratio", "flow against base flow"),
    ("turbidity", "turbidity"),
    ("forage", "forage by bait marks"),
    ("stocking", "releases"),
    ("dissolved_oxygen", "dissolved oxygen"),
    ("depth_band", "depth band"),
    ("temperature profile", "temperatures below the surface"),
    ("light", "dawn and dusk"),
    ("species_temperature", "temperature that suits it"),
    ("species_oxygen", "oxygen that it needs"),
    ("species_limits", "its limits"),
    ("species_rules", "what draws it to a zone"),
];

fn known(word: &str) -> Option<&'static str> {
    TOPICS.iter().find(|(id, _)| *id == word).map(|(_, said)| *said)
}

/// A topic of the code in words: `wind_gust`, `river_temp:sorrel` of a zone, `inflow:sorrel` of an inflow; `None`
/// for any other text, such as the name of a place.
pub fn topic_in_words(brief: &Brief, what: &str) -> Option<String> {
    match what.split_once(':') {
        None => known(what).map(str::to_owned),
        Some(("inflow", id)) => Some(format!("flow of {}", words::inflow(brief, id))),
        Some((word, id)) if word.starts_with("species_") => {
            let name = brief
                .whereabouts
                .iter()
                .find(|(species, _)| species.as_str() == id);
            let name = name.map_or(id, |(_, call)| call.name.as_str());
            Some(format!("{}, {name}", known(word)?))
        }
        Some((word, zone)) => Some(format!("{}, {}", known(word)?, zone_name(brief, zone))),
    }
}

fn topic(brief: &Brief, gap: &Gap) -> String {
    let what = gap.what.as_str();
    if let Some(said) = topic_in_words(brief, what) {
        return said;
    }
    // `sorrel river_temp` of an inflow, `sorrel gauge`.
    if let Some((inflow, rest)) = what.split_once(' ') {
        if let Some(said) = known(rest) {
            return format!("{said}, {}", words::inflow(brief, inflow));
        }
        if rest == "gauge" {
            return format!("gauge of {}", words::inflow(brief, inflow));
        }
    }
    if brief.inputs.iter().any(|i| i.series == what) {
        return format!("series {what}");
    }
    let of_flow = match &gap.consequence {
        Consequence::LeftOut { figure } => figure.contains("baseflow"),
        Consequence::StandIn { stand_in } => stand_in.contains("inflow"),
        _ => false,
    };
    if of_flow {
        format!("flow of {}", words::inflow(brief, what))
    } else {
        what.to_owned()
    }
}

/// Name of a zone; its id where no call names it.
pub(super) fn zone_name(brief: &Brief, id: &str) -> String {
    let mut zones = brief.whereabouts.values().flat_map(|call| &call.zones);
    zones
        .find(|(zone, _)| zone.as_str() == id)
        .map_or_else(|| id.to_owned(), |(_, share)| share.name.clone())
}

/// Why something is not known.
fn reason_of(brief: &Brief, reader: &Reader, gap: &Gap) -> String {
    reason_said(brief, reader, &gap.what, &gap.reason)
}

/// Why `what` is not known.
pub(super) fn reason_said(brief: &Brief, reader: &Reader, what: &str, reason: &GapReason) -> String {
    match reason {
        GapReason::NotDescribed => "the lake file names no source".to_owned(),
        GapReason::NoData if what == "temperature profile" => "not measured".to_owned(),
        GapReason::NoData if what == "official_alerts" => "no reply in the store".to_owned(),
        GapReason::NoData if what == "hypsography" => "not to be had without a level".to_owned(),
        GapReason::NoData => "no values".to_owned(),
        GapReason::NotKnown { why } => why.clone(),
        GapReason::Late {
            newest,
            age_h,
            allowed_h,
        } => {
            let when = words::observed(brief, reader, Some(what), *newest);
            format!(
                "newest {when}, {} old ({} is usual)",
                age(*age_h),
                age(*allowed_h)
            )
        }
        GapReason::TooFew { found, wanted } if found >= wanted => {
            format!("{found} values, but the newest is too old or they do not lie as they must")
        }
        GapReason::TooFew { found: 0, .. } => "no values of the days that count".to_owned(),
        GapReason::TooFew { found, wanted } => format!("{found} of the {wanted} values that are needed"),
        GapReason::Refused { refused, of } => {
            format!("{refused} of {of} values refused by the quality checks")
        }
        GapReason::FetchFailed { service, message } => format!("{}: {message}", words::service(service)),
        GapReason::StoreDamaged { set_aside } => {
            format!("its file in the store was damaged, set aside as {set_aside}")
        }
    }
}

fn consequence(consequence: &Consequence) -> String {
    match consequence {
        Consequence::LeftOut { figure } => format!("{LEFT_OUT}{}", plain(figure)),
        Consequence::Wider { figure } => format!("less certain: {}", plain(figure)),
        Consequence::StandIn { stand_in } => format!("instead: {stand_in}"),
        Consequence::CautionGiven { caution } => {
            let said = if caution == "thunder" {
                "lightning"
            } else {
                caution
            };
            format!("hence the caution on {said}")
        }
        Consequence::TooThin => "the brief is too thin to trust".to_owned(),
    }
}

/// A figure that is a bare word of a quantity (`air_temp`) as its topic is called; any other text as it is.
fn plain(figure: &str) -> &str {
    TOPICS
        .iter()
        .find(|(id, _)| *id == figure)
        .map_or(figure, |(_, said)| said)
}
