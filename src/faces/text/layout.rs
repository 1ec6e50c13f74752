//! The order of the page, its width, and its ink.

use owo_colors::{OwoColorize, Style};

use crate::faces::reader::Reader;
use crate::faces::words;
use crate::reports::Brief;

use super::{answer, cautions, conditions, sources, tables, why};

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
    sources::write(&mut page, brief, reader);
    tables::not_known(&mut page, brief, reader);
    cautions::thresholds(&mut page, brief, reader);
    page.text
}

fn title(page: &mut Page, brief: &Brief, reader: &Reader) {
    let stamp = reader.stamp(brief.as_of);
    let name = &brief.lake.name;
    let long = name.chars().count() + 2 + stamp.chars().count();
    if long <= WIDTH {
        let fill = " ".repeat(WIDTH + 2 - long);
        let line = format!("{}{fill}{stamp}", page.ink.heading(name));
        page.raw(&line);
    } else {
        for line in broken(name, "", "") {
            let painted = page.ink.heading(&line);
            page.raw(&painted);
        }
        page.raw(&padded_left(&stamp, WIDTH));
    }
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
            page.wrapped(&words::lacking(brief, lacking), "  - ", "    ");
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

    /// A painted label two columns in, and text beside it.
    pub fn labelled(&mut self, style: Style, label: &str, text: &str) {
        let beside = " ".repeat(2 + label.chars().count());
        let painted = self.ink.paint(style, label);
        for (i, line) in broken(text, &beside, &beside).iter().enumerate() {
            match (i, line.strip_prefix(&beside)) {
                (0, Some(rest)) => self.raw(&format!("  {painted}{rest}")),
                _ => self.raw(line),
            }
        }
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

/// Lines of at most the width. A blank that must not become the end of a line is [`HELD`]; a word longer than
/// a whole line, such as an address, is cut.
fn broken(text: &str, first: &str, rest: &str) -> Vec<String> {
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text, options)
        .into_iter()
        .map(|line| line.replace(HELD, " "))
        .collect()
}

/// A blank at which a line is not broken.
pub const HELD: char = '\u{a0}';

/// `text` held together on one line.
pub fn held(text: &str) -> String {
    text.replace(' ', &HELD.to_string())
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
