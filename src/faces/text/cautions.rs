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
    if !matches!(caution.level, CautionLevel::Reminder | CautionLevel::NotKnown) {
        let basis = format!("Threshold: {} ({})", caution.threshold, caution.source);
        page.faint_wrapped(&basis, "            ", "            ");
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
        facts.push(caution.names.join(", "));
    }
    if let (Some(from), Some(to)) = (caution.from, caution.to) {
        facts.push(format!("{} to {}", reader.hour(from), reader.hour(to)));
    }
    let advice = words::advice(caution.hazard, caution.level);
    if facts.is_empty() {
        format!("{hazard}: {advice}.")
    } else {
        format!("{hazard}: {advice}. {}.", words::capitalised(&facts.join(", ")))
    }
}
