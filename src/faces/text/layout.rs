//! The blocks of the page as text: its width, and its ink.

use owo_colors::{OwoColorize, Style};

use crate::faces::reader::Reader;
use crate::reports::Brief;

use super::block::{Block, Curve, Detail, HELD, ShareBar, Tone, compose};

/// Width of the page in columns.
pub const WIDTH: usize = 80;
/// Columns before a table, and those of the heads of its rows.
const TABLE_INDENT: usize = 12;
const ROW_HEAD: usize = 7;
/// Columns before a bar, and cells of a bar beside a name of 16 columns; a longer name takes from it.
const BAR_INDENT: &str = "    ";
const BAR_CELLS: usize = 20;
const SHORT_NAME: usize = 16;
/// Longest name of a zone that shares its line with a bar.
const LONGEST_NAME: usize = 30;
/// Columns of the days of a curve, and cells that a bar needs.
const CURVE_HEAD: usize = 10;
const CURVE_LEAST_CELLS: usize = 10;
/// What stands before each line of a quotation.
const QUOTE: &str = "    | ";

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

    fn heading(self, text: &str) -> String {
        self.paint(Style::new().bold(), text)
    }

    fn faint(self, text: &str) -> String {
        self.paint(Style::new().dimmed(), text)
    }

    fn tone(self, tone: Tone, text: &str) -> String {
        let style = match tone {
            Tone::Danger => Style::new().bold().red(),
            Tone::Caution => Style::new().bold().yellow(),
            Tone::Bold => Style::new().bold(),
            Tone::Faint => Style::new().dimmed(),
        };
        self.paint(style, text)
    }
}

/// The brief as text for `reader`, as much of it as `detail` says.
pub fn render_text(brief: &Brief, reader: &Reader, ink: Ink, detail: Detail) -> String {
    render_blocks(&compose(brief, reader, detail), ink)
}

/// Blocks as text.
pub(super) fn render_blocks(blocks: &[Block], ink: Ink) -> String {
    let mut sheet = Sheet {
        text: String::new(),
        ink,
    };
    blocks.iter().for_each(|block| sheet.draw(block));
    sheet.text
}

/// The plan alone as text for `reader`: one screen. Whoever shows it shows the cautions before it.
pub fn render_plan_text(brief: &Brief, reader: &Reader, ink: Ink) -> String {
    render_blocks(&super::plan::alone(brief, reader), ink)
}

/// Lines under way.
struct Sheet {
    text: String,
    ink: Ink,
}

impl Sheet {
    fn draw(&mut self, block: &Block) {
        match block {
            Block::Title { name, stamp } => self.title(name, stamp),
            Block::Note(note) => self.paragraph(note, "", "", true),
            Block::Heading { heading, remark } => self.heading(heading, remark),
            Block::Text {
                text,
                indent,
                hanging,
                faint,
            } => self.paragraph(text, &" ".repeat(*indent), &" ".repeat(*hanging), *faint),
            Block::Lead(text) => self.paragraph(text, "  ", "    ", false),
            Block::Item { text, number } => match number {
                Some(number) => self.paragraph(text, &format!("  {number}. "), "     ", false),
                None => self.paragraph(text, "  - ", "    ", false),
            },
            Block::Row { label, width, text } => {
                let first = format!("  {}", padded(label, *width));
                self.paragraph(text, &first, &" ".repeat(2 + width), false);
            }
            Block::Labelled {
                tone,
                label,
                width,
                text,
            } => self.labelled(*tone, &padded(label, *width), text),
            Block::Amount { amount, text } => {
                let first = format!("    {}  ", padded_left(amount, 5));
                self.paragraph(text, &first, "           ", false);
            }
            Block::Shares(bars) => self.shares(bars),
            Block::Table { heads, rows } => self.table(heads, rows),
            Block::Ranks { label, counts } => {
                let counts: Vec<String> = counts.iter().map(|n| padded_left(&n.to_string(), 4)).collect();
                let first = padded_left(label, TABLE_INDENT + ROW_HEAD);
                self.line(&format!("{first}  {}", counts.join(" ")));
            }
            Block::Strip(strip) => self.table(&strip.heads, &strip.rows),
            Block::Curve(curve) => self.curve(curve),
            Block::Quote(lines) => {
                for line in lines {
                    if line.trim().is_empty() {
                        self.line(QUOTE);
                    } else {
                        self.paragraph(line, QUOTE, QUOTE, false);
                    }
                }
            }
            Block::Link(url) if url.chars().count() + 4 <= WIDTH => self.line(&format!("    {url}")),
            // Cut in two it could not be followed.
            Block::Link(url) => self.line(url),
        }
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn title(&mut self, name: &str, stamp: &str) {
        let long = name.chars().count() + 2 + stamp.chars().count();
        if long <= WIDTH {
            let fill = " ".repeat(WIDTH + 2 - long);
            let line = format!("{}{fill}{stamp}", self.ink.heading(name));
            self.line(&line);
        } else {
            for line in broken(name, "", "") {
                let painted = self.ink.heading(&line);
                self.line(&painted);
            }
            self.line(&padded_left(stamp, WIDTH));
        }
    }

    /// A heading, and a remark whose lines stand under each other.
    fn heading(&mut self, heading: &str, remark: &str) {
        self.line("");
        let painted = self.ink.heading(heading);
        if remark.is_empty() {
            self.line(&painted);
            return;
        }
        let beside = " ".repeat(heading.chars().count() + 2);
        for (i, line) in broken(remark, &beside, &beside).iter().enumerate() {
            let remark = self.ink.faint(line.trim_start());
            if i == 0 {
                self.line(&format!("{painted}  {remark}"));
            } else {
                self.line(&format!("{beside}{remark}"));
            }
        }
    }

    /// Text broken at the width, with an indent for the first and one for the other lines.
    fn paragraph(&mut self, text: &str, first: &str, rest: &str, faint: bool) {
        for line in broken(text, first, rest) {
            let line = if faint { self.ink.faint(&line) } else { line };
            self.line(&line);
        }
    }

    /// A painted label two columns in, and text beside it.
    fn labelled(&mut self, tone: Tone, label: &str, text: &str) {
        let beside = " ".repeat(2 + label.chars().count());
        let painted = self.ink.tone(tone, label);
        for (i, line) in broken(text, &beside, &beside).iter().enumerate() {
            match (i, line.strip_prefix(&beside)) {
                (0, Some(rest)) => self.line(&format!("  {painted}{rest}")),
                _ => self.line(line),
            }
        }
    }

    /// A bar a zone; a name too long to stand beside its bar has a line of its own.
    fn shares(&mut self, bars: &[ShareBar]) {
        let widest = bars.iter().map(|b| b.name.chars().count()).max().unwrap_or(0);
        let width = widest.clamp(SHORT_NAME, LONGEST_NAME);
        for bar in bars {
            let mut name = bar.name.as_str();
            if name.chars().count() > width {
                self.paragraph(name, BAR_INDENT, BAR_INDENT, false);
                name = "";
            }
            let remark = if bar.remark.is_empty() {
                String::new()
            } else {
                format!("  {}", bar.remark)
            };
            self.line(&format!(
                "{BAR_INDENT}{} {} {}  {}{remark}",
                padded(name, width),
                drawn(bar.share_frac, BAR_CELLS + SHORT_NAME - width),
                padded_left(&bar.share, 5),
                padded_left(&bar.interval, 8),
            ));
        }
    }

    /// Days with a cell a place, and beside them the chance of the first place as a bar; the bars make the curve, turned on its side.
    fn curve(&mut self, curve: &Curve) {
        let names: Vec<&str> = curve.lines.iter().map(|line| line.name.as_str()).collect();
        let widths: Vec<usize> = names.iter().map(|name| name.chars().count().max(9) + 2).collect();
        let taken: usize = CURVE_HEAD + widths.iter().sum::<usize>();
        // Beside more places than fit there is no room for bars, and the table goes on its own.
        if taken + CURVE_LEAST_CELLS + 2 > WIDTH {
            let heads: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
            self.table(&heads, &curve.rows);
            return;
        }
        let cells = WIDTH - 2 - taken;
        let row = |head: &str, cells: &[&str]| {
            let mut text = padded_left(head, CURVE_HEAD);
            for (cell, width) in cells.iter().zip(&widths) {
                text.push_str(&padded_left(cell, *width));
            }
            text
        };
        let head = row("", &names);
        self.line(&head);
        for ((day, texts), share) in curve.rows.iter().zip(&curve.bar_prob) {
            let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
            let line = format!("{}  {}", row(day, &texts), drawn(*share, cells));
            self.line(&line);
        }
    }

    /// A table; columns that do not fit beside each other follow below.
    fn table(&mut self, heads: &[String], rows: &[(String, Vec<String>)]) {
        let widths: Vec<usize> = (0..heads.len())
            .map(|c| {
                let cells = rows.iter().filter_map(|(_, cells)| cells.get(c));
                let widest = cells.chain([&heads[c]]).map(|t| t.chars().count()).max();
                widest.unwrap_or(0) + 2
            })
            .collect();
        let mut first = 0;
        while first < heads.len() {
            let mut last = first + 1;
            let sum = |last: usize| widths[first..last].iter().sum::<usize>();
            while last < heads.len() && TABLE_INDENT + ROW_HEAD + sum(last + 1) <= WIDTH {
                last += 1;
            }
            let mut draw = |head: &str, cells: &[String]| {
                // A name that is too long for its column has a line of its own.
                let long = head.chars().count() > TABLE_INDENT + ROW_HEAD;
                if long {
                    self.paragraph(head, "    ", "    ", false);
                }
                let mut text = padded_left(if long { "" } else { head }, TABLE_INDENT + ROW_HEAD);
                for (c, width) in widths.iter().enumerate().take(last).skip(first) {
                    let cell = cells.get(c).map_or("", String::as_str);
                    text.push_str(&padded_left(cell, *width));
                }
                self.line(&text);
            };
            draw("", heads);
            for (head, cells) in rows {
                draw(head, cells);
            }
            first = last;
        }
    }
}

/// A share as a bar in eighths of a cell.
fn drawn(share_frac: f64, cells: usize) -> String {
    const EIGHTHS: [char; 8] = [' ', '▏', '▎', '▍', '▌', '▋', '▊', '▉'];
    let eighths = (share_frac.clamp(0.0, 1.0) * (cells * 8) as f64).round() as usize;
    let mut text = "█".repeat(eighths / 8);
    if eighths / 8 < cells {
        text.push(EIGHTHS[eighths % 8]);
    }
    padded(&text, cells)
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

/// `text` filled with blanks to `width` columns, never cut.
fn padded(text: &str, width: usize) -> String {
    let length = text.chars().count();
    format!("{text}{}", " ".repeat(width.saturating_sub(length)))
}

/// `text` filled with blanks on the left.
fn padded_left(text: &str, width: usize) -> String {
    let length = text.chars().count();
    format!("{}{text}", " ".repeat(width.saturating_sub(length)))
}
