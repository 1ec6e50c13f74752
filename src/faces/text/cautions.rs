//! Cautions: first on the page, never left out.

use owo_colors::Style;

use crate::faces::figures::figure;
use crate::faces::reader::Reader;
use crate::faces::words;
use crate::plan::{Caution, CautionLevel};
use crate::reports::Brief;

use super::layout::{Page, padded};

/// Writes the cautions.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.blank();
    page.heading("CAUTIONS", "");
    for caution in &brief.cautions {
        one(page, caution, reader);
    }
}

fn one(page: &mut Page, caution: &Caution, reader: &Reader) {
    let label = padded(words::level(caution.level), 10);
    let style = match caution.level {
        CautionLevel::Severe | CautionLevel::Strong => Style::new().bold().red(),
        CautionLevel::Caution => Style::new().bold().yellow(),
        CautionLevel::NotKnown => Style::new().bold(),
        CautionLevel::Reminder => Style::new().dimmed(),
    };
    let text = sentence(caution, reader);
    let mut lines = textwrap::wrap(&text, super::layout::WIDTH - 12).into_iter();
    if let Some(first) = lines.next() {
        let painted = page.ink.paint(style, &label);
        page.raw(&format!("  {painted}{first}"));
    }
    for line in lines {
        page.raw(&format!("{}{line}", " ".repeat(12)));
    }
}

/// Writes the thresholds behind the cautions that hold today, with their sources, at the foot of the page.
pub fn thresholds(page: &mut Page, brief: &Brief) {
    let behind = |c: &&Caution| !matches!(c.level, CautionLevel::Reminder | CautionLevel::NotKnown);
    if !brief.cautions.iter().any(|c| behind(&c)) {
        return;
    }
    page.blank();
    page.heading("THRESHOLDS", "behind the cautions above, and their sources");
    for caution in brief.cautions.iter().filter(behind) {
        let text = format!(
            "{}: {}. {}",
            words::hazard(caution.hazard),
            caution.threshold,
            words::capitalised(&caution.source)
        );
        page.wrapped(&text, "  - ", "    ");
    }
}

/// What the caution says: the hazard, what to do, and the figures behind it; of one that cannot be
/// judged, what is missing and where to look instead.
fn sentence(caution: &Caution, reader: &Reader) -> String {
    let hazard = words::hazard(caution.hazard);
    if caution.level == CautionLevel::NotKnown {
        return format!(
            "{hazard}: {}.",
            caution.threshold.trim_start_matches("not known: ")
        );
    }
    let mut facts: Vec<String> = caution
        .figures
        .iter()
        .map(|(name, value)| figure(reader, name, *value))
        .collect();
    if !caution.names.is_empty() {
        let lead = words::names_lead(caution.hazard);
        facts.push(format!("{lead}{}", caution.names.join(", ")));
    }
    facts.extend(shoals(caution, reader));
    match (caution.from, caution.to) {
        (Some(from), Some(to)) if from == to => facts.push(format!("at {}", reader.hour(from))),
        (Some(from), Some(to)) => facts.push(format!("{} to {}", reader.hour(from), reader.hour(to))),
        _ => {}
    }
    if let Some(hour) = caution
        .peak_at
        .filter(|hour| caution.from != Some(*hour) || caution.from != caution.to)
    {
        facts.push(format!("highest at {}", reader.hour(hour)));
    }
    let advice = words::advice(caution.hazard, caution.level);
    if facts.is_empty() {
        format!("{hazard}: {advice}.")
    } else {
        format!("{hazard}: {advice}. {}.", words::capitalised(&facts.join(", ")))
    }
}

/// The shoals of a caution: what is just under the surface, then what stands out of the water.
fn shoals(caution: &Caution, reader: &Reader) -> Vec<String> {
    let (under, out): (Vec<_>, Vec<_>) = caution.shoals.iter().partition(|s| s.water_over_m >= 0.0);
    let listed = |shoals: Vec<&crate::plan::ShoalState>| -> Vec<String> {
        shoals
            .iter()
            .map(|s| format!("{} ({})", s.name, reader.length(s.water_over_m.abs())))
            .collect()
    };
    let mut facts = Vec::new();
    if !under.is_empty() {
        facts.push(format!("under the surface {}", listed(under).join(", ")));
    }
    if !out.is_empty() {
        facts.push(format!("out of the water {}", listed(out).join(", ")));
    }
    facts
}
