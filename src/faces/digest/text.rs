//! The text part: it stands alone, 72 columns.

use textwrap::{Options, WordSplitter};

use super::days::DayWords;
use super::words::{DigestWords, Labelled};

/// Columns of the text part: it is quoted in answers without being broken.
pub const DIGEST_WIDTH: usize = 72;
/// Columns of a label.
const LABEL: usize = 16;

/// The text of `words`; what is said to one reader alone is added behind it.
pub fn render_digest_text(words: &DigestWords) -> String {
    let mut page = Text::default();
    page.line(&words.lake.to_uppercase(), "", "");
    page.line(&words.stamp, "", "");
    if let Some(note) = &words.note {
        page.line(note, "", "");
    }
    for (i, line) in words.lacking.iter().enumerate() {
        if i == 0 {
            page.blank();
            page.line(&line.to_uppercase(), "", "");
        } else {
            page.line(line, "- ", "  ");
        }
    }
    page.heading("Cautions", &words.morning);
    for caution in &words.cautions {
        page.line(&format!("{}  {}", caution.level, caution.text), "", "  ");
    }
    for reminder in &words.reminders {
        page.line(reminder, "- ", "  ");
    }
    page.heading("Official alerts", "");
    words.alerts.iter().for_each(|line| page.line(line, "", ""));
    page.heading("At a glance", "");
    page.labelled(&words.glance);
    page.heading(
        "The week ahead",
        "share of the fish by zone, 80 % interval in brackets",
    );
    for day in &words.days {
        page.day(day);
    }
    page.blank();
    words.days_rest_on.iter().for_each(|line| page.line(line, "", ""));
    page.heading("Ramps", "by level only; gate, closure and surface are not known");
    page.labelled(&words.ramps);
    page.heading(
        "Calm hours",
        "from first light, wind and chop below their cautions",
    );
    if words.best.is_empty() {
        page.line("None of two hours or more is foreseen.", "", "");
    }
    words.best.iter().for_each(|line| page.line(line, "- ", "  "));
    page.heading("Where to start", "");
    page.labelled(&words.plan);
    page.heading("What changed", &words.since);
    words.changed.iter().for_each(|line| page.line(line, "- ", "  "));
    page.heading("The week behind", "");
    page.labelled(&words.behind);
    if !words.also.is_empty() {
        page.heading("Also", "");
        page.labelled(&words.also);
    }
    if !words.not_known.is_empty() {
        page.heading("Not known", "and what follows from it");
        words
            .not_known
            .iter()
            .for_each(|line| page.line(line, "- ", "  "));
    }
    page.blank();
    words.closing.iter().for_each(|line| page.line(line, "", ""));
    page.text
}

/// A paragraph as the text part has it, with its line end.
pub(super) fn digest_paragraph(text: &str) -> String {
    let mut page = Text::default();
    page.line(text, "", "");
    page.text
}

#[derive(Default)]
struct Text {
    text: String,
}

impl Text {
    fn blank(&mut self) {
        self.text.push('\n');
    }

    fn heading(&mut self, heading: &str, remark: &str) {
        self.blank();
        self.line(&heading.to_uppercase(), "", "");
        if !remark.is_empty() {
            self.line(&format!("({remark})"), "", "");
        }
    }

    /// A paragraph with its first and its further indents; a word that is longer than the line stands whole.
    fn line(&mut self, text: &str, first: &str, further: &str) {
        let options = Options::new(DIGEST_WIDTH)
            .initial_indent(first)
            .subsequent_indent(further)
            .word_splitter(WordSplitter::NoHyphenation)
            .break_words(false);
        // A number and its sign of percent or degree stay on one line.
        let held = text.replace(" %", "\u{a0}%").replace(" °", "\u{a0}°");
        let filled = textwrap::fill(&held, options);
        self.text.push_str(&filled.replace('\u{a0}', " "));
        self.blank();
    }

    /// Labels in a column of their own; one that is longer stands above its text.
    fn labelled(&mut self, lines: &[Labelled]) {
        let further = " ".repeat(LABEL);
        for (label, text) in lines {
            if label.chars().count() < LABEL {
                self.line(text, &format!("{label:<LABEL$}"), &further);
            } else {
                self.line(label, "", "");
                self.line(text, &further, &further);
            }
        }
    }

    fn day(&mut self, day: &DayWords) {
        self.blank();
        self.line(&day.day.to_uppercase(), "", "");
        if !day.cautions.is_empty() {
            let ashore = if day.ashore {
                ": stay ashore while it holds"
            } else {
                ""
            };
            self.line(&format!("! {}{ashore}", day.cautions.join(", ")), "  ", "    ");
        }
        let weather: Vec<String> = day
            .weather
            .iter()
            .map(|(label, text)| format!("{label} {text}"))
            .collect();
        self.line(&weather.join("; "), "  ", "    ");
        for call in &day.calls {
            match &call.not_known {
                Some(why) => self.line(&format!("{}: {why}", call.species), "  ", "    "),
                None => self.line(
                    &format!("{}: {}. Depth {}", call.species, call.shares_said(), call.depth),
                    "  ",
                    "    ",
                ),
            }
        }
    }
}
