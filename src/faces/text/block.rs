//! The page as blocks, before any form of it: what the terminal, the HTML page and Markdown all draw.

use crate::faces::reader::Reader;
use crate::faces::words;
use crate::plan::Light;
use crate::reports::Brief;

use super::{alerts, answer, cautions, conditions, notices, numbers, plan, sources, tables, why};

/// How hard a label speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// A danger, or an official alert.
    Danger,
    /// A caution.
    Caution,
    /// Something that cannot be judged.
    Bold,
    /// A reminder.
    Faint,
}

/// A zone's share of the fish, as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareBar {
    /// Zone.
    pub name: String,
    /// Share.
    pub share_frac: f64,
    /// 10 % quantile.
    pub low_frac: f64,
    /// 90 % quantile.
    pub high_frac: f64,
    /// Share in words.
    pub share: String,
    /// Interval in words.
    pub interval: String,
    /// What else is to be said.
    pub remark: &'static str,
}

/// The hours of a trip beside each other, as they are drawn: a table, and above it a picture where there are pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Hours.
    pub heads: Vec<String>,
    /// Rows: head, then a cell an hour.
    pub rows: Vec<(String, Vec<String>)>,
    /// Light by hour.
    pub light: Vec<Option<Light>>,
    /// Gust by hour.
    pub gust_m_s: Vec<Option<f64>>,
    /// Highest chop of any zone by hour.
    pub wave_height_m: Vec<Option<f64>>,
}

/// A chance that grows day by day, as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveLine {
    /// Place.
    pub name: String,
    /// Chance by day.
    pub turned_over_prob: Vec<f64>,
    /// Day by which it is even; `None` where that is not among the days.
    pub median: Option<usize>,
}

/// Cumulative chances: a table of some days with a bar of the first place, and above it a picture of all days where there are pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Places.
    pub lines: Vec<CurveLine>,
    /// Days that the axis names.
    pub ticks: Vec<(usize, String)>,
    /// Rows: day, then a cell a place.
    pub rows: Vec<(String, Vec<String>)>,
    /// Chance of the first place by row.
    pub bar_prob: Vec<f64>,
}

/// One block of the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// Name of the lake, and the clock of the brief.
    Title {
        /// Name.
        name: String,
        /// Clock.
        stamp: String,
    },
    /// Small print under the title.
    Note(String),
    /// A section begins.
    Heading {
        /// Heading, in capitals.
        heading: String,
        /// Remark after it.
        remark: String,
    },
    /// A paragraph so many columns in, its further lines a little more.
    Text {
        /// Text.
        text: String,
        /// Columns before the first line.
        indent: usize,
        /// Columns before the others.
        hanging: usize,
        /// Small print.
        faint: bool,
    },
    /// The line that what follows stands under.
    Lead(String),
    /// An item of a list.
    Item {
        /// Text.
        text: String,
        /// Its number, in a list that has an order.
        number: Option<usize>,
    },
    /// A label in a column of its own, and text beside it. An empty label goes on with the one above.
    Row {
        /// Label.
        label: String,
        /// Width of the label's column.
        width: usize,
        /// Text.
        text: String,
    },
    /// A label that speaks for itself, such as the level of a caution, and text beside it.
    Labelled {
        /// Tone.
        tone: Tone,
        /// Label.
        label: String,
        /// Width of the label's column.
        width: usize,
        /// Text; empty for a label alone.
        text: String,
    },
    /// A signed amount and what it is made of.
    Amount {
        /// Amount, with its sign.
        amount: String,
        /// Text.
        text: String,
    },
    /// Shares of one species.
    Shares(Vec<ShareBar>),
    /// A table: a corner, heads of columns, and rows that begin with their own head.
    Table {
        /// Heads of the columns, without that of the rows.
        heads: Vec<String>,
        /// Rows: head, then a cell a column, empty where there is none.
        rows: Vec<(String, Vec<String>)>,
    },
    /// How often what was observed had each rank among the members, in ten classes.
    Ranks {
        /// What of.
        label: String,
        /// Cases by class.
        counts: Vec<usize>,
    },
    /// Hours of a trip.
    Strip(Strip),
    /// Chances that grow day by day.
    Curve(Curve),
    /// Somebody's own words, a line each, empty lines as they are.
    Quote(Vec<String>),
    /// An address.
    Link(String),
}

/// A page under way.
#[derive(Debug, Default)]
pub struct Page {
    /// Blocks so far.
    pub blocks: Vec<Block>,
}

impl Page {
    /// A section.
    pub fn heading(&mut self, heading: &str, remark: &str) {
        self.blocks.push(Block::Heading {
            heading: heading.to_owned(),
            remark: remark.to_owned(),
        });
    }

    /// A paragraph `indent` columns in.
    pub fn text(&mut self, text: &str, indent: usize) {
        self.hanging(text, indent, indent);
    }

    /// A paragraph whose further lines stand `hanging` columns in.
    pub fn hanging(&mut self, text: &str, indent: usize, hanging: usize) {
        self.blocks.push(Block::Text {
            text: text.to_owned(),
            indent,
            hanging,
            faint: false,
        });
    }

    /// A table.
    pub fn table(&mut self, heads: &[&str], rows: Vec<(String, Vec<String>)>) {
        self.blocks.push(Block::Table {
            heads: heads.iter().map(|head| (*head).to_owned()).collect(),
            rows,
        });
    }

    /// The line that what follows stands under.
    pub fn lead(&mut self, text: &str) {
        self.blocks.push(Block::Lead(text.to_owned()));
    }

    /// A paragraph in small print.
    pub fn faint(&mut self, text: &str, indent: usize, hanging: usize) {
        self.blocks.push(Block::Text {
            text: text.to_owned(),
            indent,
            hanging,
            faint: true,
        });
    }

    /// An item of a list without order.
    pub fn item(&mut self, text: &str) {
        self.blocks.push(Block::Item {
            text: text.to_owned(),
            number: None,
        });
    }

    /// An item of a list with order.
    pub fn numbered(&mut self, number: usize, text: &str) {
        self.blocks.push(Block::Item {
            text: text.to_owned(),
            number: Some(number),
        });
    }

    /// A row with a label.
    pub fn row(&mut self, label: &str, width: usize, text: &str) {
        self.blocks.push(Block::Row {
            label: label.to_owned(),
            width,
            text: text.to_owned(),
        });
    }

    /// A label that speaks for itself.
    pub fn labelled(&mut self, tone: Tone, label: &str, width: usize, text: &str) {
        self.blocks.push(Block::Labelled {
            tone,
            label: label.to_owned(),
            width,
            text: text.to_owned(),
        });
    }

    /// A signed amount.
    pub fn amount(&mut self, amount: &str, text: &str) {
        self.blocks.push(Block::Amount {
            amount: amount.to_owned(),
            text: text.to_owned(),
        });
    }
}

/// How much of a brief is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// What an angler needs before going out: reasons and ages a line each.
    Short,
    /// Every number opened to what it is made of.
    Whole,
}

/// The brief as blocks, for `reader`.
pub fn compose(brief: &Brief, reader: &Reader, detail: Detail) -> Vec<Block> {
    let mut page = Page::default();
    title(&mut page, brief, reader);
    cautions::write(&mut page, brief, reader);
    alerts::write(&mut page, brief, reader);
    notices::write(&mut page, brief, reader);
    answer::write(&mut page, brief, reader);
    plan::write(&mut page, brief, reader);
    if detail == Detail::Whole {
        why::write(&mut page, brief, reader);
        plan::why(&mut page, brief);
        numbers::write(&mut page, brief, reader);
    }
    tables::changes(&mut page, brief, reader);
    conditions::write(&mut page, brief, reader);
    tables::ramps(&mut page, brief, reader);
    match detail {
        Detail::Whole => {
            tables::inputs(&mut page, brief, reader);
            sources::write(&mut page, brief, reader);
        }
        Detail::Short => tables::ages(&mut page, brief),
    }
    tables::not_known(&mut page, brief, reader);
    if detail == Detail::Whole {
        cautions::thresholds(&mut page, brief, reader);
    }
    page.blocks
}

fn title(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.blocks.push(Block::Title {
        name: brief.lake.name.clone(),
        stamp: reader.stamp(brief.as_of),
    });
    if let Some(note) = &brief.lake.note {
        page.blocks.push(Block::Note(note.clone()));
    }
    if !brief.trust.enough {
        let (heading, remark) = words::trust_heading(&brief.trust);
        page.heading(heading, remark);
        for lacking in &brief.trust.lacking {
            page.item(&words::lacking(brief, lacking));
        }
    }
}

/// A blank at which a line is not broken.
pub const HELD: char = '\u{a0}';

/// `text` held together on one line.
pub fn held(text: &str) -> String {
    text.replace(' ', &HELD.to_string())
}
