//! The order of the page, its width, and its ink.

use owo_colors::{OwoColorize, Style};

use crate::faces::reader::Reader;
use crate::faces::words;
use crate::reports::Brief;

use super::{answer, cautions, conditions, tables, why};

/// Width of the page in columns.
pub const WIDTH: usize = 80;

/// Plain or coloured; without colour no escape code is written.
#[derive(Debug, Clone, Copy)]
pub struct Ink {
    /// Whether to write escape codes.
    pub colour: bool,
}

impl Ink {
    /// `text` in `style`, or plain.
    pub fn paint(self, style: Style, text: &str) -> String {
        if self.colour {
            text.style(style).to_string()
        } else {
            text.to_owned()
        }
    }

    /// A heading.
    pub fn heading(self, text: &str) -> String {
        self.paint(Style::new().bold(), text)
    }

    /// Small print.
    pub fn faint(self, text: &str) -> String {
        self.paint(Style::new().dimmed(), text)
    }
}

/// The brief as text for `reader`.
pub fn render_text(brief: &Brief, reader: &Reader, ink: Ink) -> String {
    let mut page = Page::new(ink);
    title(&mut page, brief, reader);
    cautions::write(&mut page, brief, reader);
    answer::write(&mut page, brief, reader);
    why::write(&mut page, brief, reader);
    tables::changes(&mut page, brief, reader);
    conditions::write(&mut page, brief, reader);
    tables::ramps(&mut page, brief, reader);
    tables::ladder(&mut page, brief, reader);
    tables::inputs(&mut page, brief, reader);
    tables::gaps(&mut page, brief, reader);
    cautions::thresholds(&mut page, brief);
    page.text
}

fn title(page: &mut Page, brief: &Brief, reader: &Reader) {
    let stamp = reader.stamp(brief.as_of);
    let name = &brief.lake.name;
    let fill = WIDTH
        .saturating_sub(name.chars().count() + stamp.chars().count())
        .max(2);
    let line = format!("{}{}{}", page.ink.heading(name), " ".repeat(fill), stamp);
    page.raw(&line);
    if let Some(note) = &brief.lake.note {
        page.faint_wrapped(note, "", "");
    }
    if !brief.trust.enough {
        page.blank();
        page.heading(
            "NOT ENOUGH TO TRUST",
            "what follows rests on data too old or too thin:",
        );
        for lacking in &brief.trust.lacking {
            page.wrapped(&words::lacking(lacking), "  - ", "    ");
        }
    }
}

/// A page under way.
pub struct Page {
    /// Text so far.
    pub text: String,
    /// Ink.
    pub ink: Ink,
}

impl Page {
    fn new(ink: Ink) -> Self {
        Page {
            text: String::new(),
            ink,
        }
    }

    /// One line as it is.
    pub fn raw(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// A heading with a remark after it.
    pub fn heading(&mut self, heading: &str, remark: &str) {
        let painted = self.ink.heading(heading);
        if remark.is_empty() {
            self.raw(&painted);
        } else if heading.chars().count() + 2 + remark.chars().count() <= WIDTH {
            let remark = self.ink.faint(remark);
            self.raw(&format!("{painted}  {remark}"));
        } else {
            self.raw(&painted);
            self.faint_wrapped(remark, "  ", "  ");
        }
    }

    /// Text broken at the width, with an indent for the first and one for the other lines.
    pub fn wrapped(&mut self, text: &str, first: &str, rest: &str) {
        for line in broken(text, first, rest) {
            self.raw(&line);
        }
    }

    /// The same in small print.
    pub fn faint_wrapped(&mut self, text: &str, first: &str, rest: &str) {
        for line in broken(text, first, rest) {
            let painted = self.ink.faint(&line);
            self.raw(&painted);
        }
    }
}

fn broken(text: &str, first: &str, rest: &str) -> Vec<String> {
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(first)
        .subsequent_indent(rest)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text, options)
        .into_iter()
        .map(|line| line.into_owned())
        .collect()
}

/// `text` filled with blanks to `width` columns, never cut.
pub fn padded(text: &str, width: usize) -> String {
    let length = text.chars().count();
    format!("{text}{}", " ".repeat(width.saturating_sub(length)))
}

/// `text` filled with blanks on the left.
pub fn padded_left(text: &str, width: usize) -> String {
    let length = text.chars().count();
    format!("{}{text}", " ".repeat(width.saturating_sub(length)))
}
