//! Title, caption and axes of a section, in the reader's units.

use crate::column::WayKind;
use crate::column::reservoir::{Section, SectionRiver, SectionRows, SectionZone};
use crate::faces::picture::raster::text_width;
use crate::faces::{Reader, Units};
use crate::lake::ZoneKind;
use crate::units;

/// Elevation in the unit of the axis.
pub(super) fn elevation(units: Units, elevation_m: f64) -> f64 {
    match units {
        Units::Us => elevation_m / units::M_PER_FT,
        Units::Metric => elevation_m,
    }
}

/// Distance in the unit of the axis.
pub(super) fn distance(units: Units, distance_m: f64) -> f64 {
    match units {
        Units::Us => distance_m / units::M_PER_MI,
        Units::Metric => distance_m / 1000.0,
    }
}

/// Words of the axis upwards.
pub(super) fn elevation_label(units: Units) -> &'static str {
    match units {
        Units::Us => "elevation, ft",
        Units::Metric => "elevation, m",
    }
}

/// Words of a zone's axis of distance.
pub(super) fn distance_label(units: Units, zone: &SectionZone) -> String {
    let unit = match units {
        Units::Us => "miles",
        Units::Metric => "km",
    };
    match zone.kind {
        ZoneKind::MainBody => format!("{unit} from the dam"),
        ZoneKind::Arm | ZoneKind::River => format!("{unit} from its mouth"),
    }
}

/// Words of the common axis, where each zone has a row.
pub(super) fn common_distance_label(units: Units) -> &'static str {
    match units {
        Units::Us => "miles from the dam, or from the arm's mouth",
        Units::Metric => "km from the dam, or from the arm's mouth",
    }
}

/// The title.
pub(super) fn title(lake: &str, section: &Section, reader: &Reader) -> String {
    let members = match section.members {
        1 => String::new(),
        many => format!(", median of {many} members"),
    };
    format!("{lake}, {}: modelled{members}", reader.stamp(section.at))
}

/// Words at a river's mark.
pub(super) fn river_mark(river: &SectionRiver) -> Option<String> {
    let does = match river.way? {
        WayKind::Sinks => "sinks",
        WayKind::Weak => "as heavy as the lake",
        WayKind::Floats => "stays on top",
    };
    Some(format!("{} {does}", river.name))
}

/// What the marks mean, and what is not drawn.
pub(super) fn caption(section: &Section, note: Option<&str>, reader: &Reader) -> String {
    let mut said = Vec::new();
    if let Some(note) = note {
        said.push(format!("{}.", sentence(note)));
    }
    said.push(
        "Each block is one layer of one column, alike from end to end; nothing is drawn between them, and a line is where the \
         colour changes."
            .to_owned(),
    );
    said.push(format!(
        "River water: what has come in by rivers since {}.",
        reader.day_of(section.river_since)
    ));
    let sinks = |river: &SectionRiver| river.line.is_some();
    if section.rivers.iter().any(sinks) {
        said.push(
            "Triangle: plunge line, the bar over it how well it is known. Hatched: the river above it. Ring: where the river \
             comes to rest."
                .to_owned(),
        );
    }
    if section.zones.iter().any(|zone| !zone.thalweg_known) {
        said.push("A zone whose thalweg is not known is drawn four times as long as wide.".to_owned());
    }
    if !section.without_column.is_empty() {
        let names: Vec<&str> = section.without_column.iter().map(|z| z.as_str()).collect();
        said.push(format!(
            "Not drawn, for want of shares of area: {}.",
            names.join(", ")
        ));
    }
    said.join(" ")
}

/// What the picture shows, for those who cannot see it.
pub(super) fn description(title: &str, section: &Section) -> String {
    let how = match section.rows {
        SectionRows::Together => "from left to right",
        SectionRows::EachZone => "row by row",
    };
    let zones: Vec<&str> = section.zones.iter().map(|z| z.name.as_str()).collect();
    format!(
        "{title}. The lake cut open along its arms, {how}: {}. Temperature, dissolved oxygen and share of river water by elevation \
         and distance.",
        zones.join(", ")
    )
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .map_or(String::new(), |c| c.to_uppercase().collect());
    first + letters.as_str()
}

/// Lines of a text that are no wider than so many pixels.
pub(super) fn wrapped(text: &str, size: f32, width: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
