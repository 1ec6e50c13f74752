//! The blocks of the brief as HTML.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::curve::drawn_curve;
use super::ranks::drawn_ranks;
use super::strip::drawn_strip;
use super::style::style_sheet;
use crate::faces::reader::Reader;
use crate::faces::text::block::{Block, Curve, Detail, ShareBar, Tone, compose};
use crate::faces::text::skill::compose_skill;
use crate::faces::text::turnover::compose_turnover;
use crate::faces::words;
use crate::reports::{Brief, SkillPage, TurnoverOutlook};

/// Sections that a reader opens when wanted; all others stand open.
const FOLDED: [&str; 5] = ["WHY", "WHY THIS ORDER", "EVERY NUMBER", "INPUTS", "THRESHOLDS"];
/// The section that comes first whatever else there is.
const FIRST: &str = "CAUTIONS";

/// The brief as one HTML page for `reader`, with everything that it needs inside.
pub fn render_html(brief: &Brief, reader: &Reader) -> String {
    let title = format!("{}, {}", brief.lake.name, reader.stamp(brief.as_of));
    page_of(&title, &compose(brief, reader, Detail::Whole))
}

/// The turnover outlook as one HTML page.
pub fn render_turnover_html(outlook: &TurnoverOutlook, reader: &Reader) -> String {
    let title = format!("{}, turnover, {}", outlook.lake.name, reader.stamp(outlook.as_of));
    page_of(&title, &compose_turnover(outlook, reader))
}

/// The skill page as one HTML page for `reader`; `species_name` gives the name for people of a species.
pub fn render_skill_html(page: &SkillPage, reader: &Reader, species_name: &dyn Fn(&str) -> String) -> String {
    let title = format!("{}: how far the numbers can be trusted", page.lake.name);
    page_of(&title, &compose_skill(page, reader, species_name))
}

/// Blocks as a page: what comes before the first heading is its head.
fn page_of(title: &str, blocks: &[Block]) -> String {
    let starts = |b: &Block| matches!(b, Block::Heading { .. });
    let head_end = blocks.iter().position(starts).unwrap_or(blocks.len());
    let (head, body) = blocks.split_at(head_end);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(style_sheet())) }
            }
            body {
                header {
                    @for block in head { (plain(block)) }
                    (colours())
                }
                main {
                    @for section in body.chunk_by(|_, next| !starts(next)) { (section_of(section)) }
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// The choice of colours. Only the style sheet looks at it.
fn colours() -> Markup {
    let choices = [
        ("system", "as the system"),
        ("light", "light"),
        ("dark", "dark"),
        ("night", "red night"),
    ];
    html! {
        fieldset {
            legend { "Colours" }
            @for (id, word) in choices {
                label {
                    input type="radio" name="colours" id=(id) checked[id == "system"];
                    (word)
                }
            }
        }
    }
}

fn section_of(blocks: &[Block]) -> Markup {
    let Some((Block::Heading { heading, remark }, rest)) = blocks.split_first() else {
        return html! {};
    };
    let head = html! { h2 { (words::capitalised(&heading.to_lowercase())) } };
    let remark = html! { @if !remark.is_empty() { p.remark { (words::capitalised(remark)) } } };
    let body = html! { @for run in rest.chunk_by(|a, b| kind(a) == kind(b)) { (run_of(run)) } };
    if FOLDED.contains(&heading.as_str()) {
        html! { section { details { summary { (head) } (remark) (body) } } }
    } else {
        html! { section.first[heading == FIRST] { (head) (remark) (body) } }
    }
}

/// Which blocks that follow each other make one list.
fn kind(block: &Block) -> u8 {
    match block {
        Block::Item { number: None, .. } => 1,
        Block::Item { .. } => 2,
        Block::Row { .. } => 3,
        Block::Labelled { .. } => 4,
        Block::Amount { .. } => 5,
        _ => 0,
    }
}

/// Blocks of one kind that follow each other.
fn run_of(run: &[Block]) -> Markup {
    match run.first().map(kind) {
        Some(1) => html! { ul { @for b in run { (item(b)) } } },
        Some(2) => html! { ol { @for b in run { (item(b)) } } },
        Some(3) => html! { dl { @for row in run.chunk_by(|_, next| goes_on(next)) { (row_of(row)) } } },
        Some(4) => html! { dl.notes { @for b in run { (labelled(b)) } } },
        Some(5) => html! { dl.amounts { @for b in run { (amount(b)) } } },
        _ => html! { @for b in run { (plain(b)) } },
    }
}

fn item(block: &Block) -> Markup {
    match block {
        Block::Item { text, .. } => html! { li { (text) } },
        _ => html! {},
    }
}

/// A row without a label belongs to the one above.
fn goes_on(block: &Block) -> bool {
    matches!(block, Block::Row { label, .. } if label.is_empty())
}

fn row_of(rows: &[Block]) -> Markup {
    let texts = rows.iter().filter_map(|b| match b {
        Block::Row { text, .. } => Some(text),
        _ => None,
    });
    match rows.first() {
        Some(Block::Row { label, .. }) => {
            html! { dt { (label) } dd { @for text in texts { div { (text) } } } }
        }
        _ => html! {},
    }
}

fn labelled(block: &Block) -> Markup {
    let Block::Labelled {
        tone, label, text, ..
    } = block
    else {
        return html! {};
    };
    let class = match tone {
        Tone::Danger => "danger",
        Tone::Caution => "caution",
        Tone::Bold => "bold",
        Tone::Faint => "faint",
    };
    html! { dt class=(class) { (label) } dd { (text) } }
}

fn amount(block: &Block) -> Markup {
    match block {
        Block::Amount { amount, text } => html! { dt { (amount) } dd { (text) } },
        _ => html! {},
    }
}

/// A block that stands alone.
fn plain(block: &Block) -> Markup {
    match block {
        Block::Title { name, stamp } => html! { h1 { (name) } p.clock { (stamp) } },
        Block::Note(note) => html! { p.faint { (note) } },
        Block::Text { text, faint, .. } => html! { p.faint[*faint] { (text) } },
        Block::Lead(text) => html! { h3 { (text) } },
        Block::Shares(bars) => shares(bars),
        Block::Table { heads, rows } => table(heads, rows),
        Block::Curve(curve) => html! { (drawn_curve(curve)) (curve_table(curve)) },
        Block::Ranks { label, counts } => drawn_ranks(label, counts),
        Block::Strip(strip) => html! { (drawn_strip(strip)) (table(&strip.heads, &strip.rows)) },
        Block::Quote(lines) => html! { blockquote { @for line in lines { p { (line) } } } },
        Block::Link(url) if url.starts_with("https://") || url.starts_with("http://") => {
            html! { p { a href=(url) { (url) } } }
        }
        Block::Link(url) => html! { p { (url) } },
        Block::Heading { .. }
        | Block::Item { .. }
        | Block::Row { .. }
        | Block::Labelled { .. }
        | Block::Amount { .. } => run_of(std::slice::from_ref(block)),
    }
}

fn shares(bars: &[ShareBar]) -> Markup {
    html! {
        table.shares {
            thead {
                tr { th scope="col" { "Zone" } th scope="col" colspan="2" { "Share" } th scope="col" { "80 % interval" } }
            }
            tbody {
                @for bar in bars {
                    tr {
                        th scope="row" {
                            (bar.name)
                            @if !bar.remark.is_empty() { small.faint { (bar.remark) } }
                        }
                        td.bar { (drawn(bar)) }
                        td.share { (bar.share) }
                        td.interval { (bar.interval) " %" }
                    }
                }
            }
        }
    }
}

/// The share as a bar and its interval as a line across it, on a scale from 0 to 100 %. The figures stand beside it.
fn drawn(bar: &ShareBar) -> Markup {
    let at = |frac: f64| format!("{:.1}", (100.0 * frac).clamp(0.0, 100.0));
    html! {
        svg viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true" focusable="false" {
            rect class="fill" x="0" y="4" width=(at(bar.share_frac)) height="12" {}
            line class="span" x1=(at(bar.low_frac)) x2=(at(bar.high_frac)) y1="10" y2="10" {}
            line class="span" x1=(at(bar.low_frac)) x2=(at(bar.low_frac)) y1="6" y2="14" {}
            line class="span" x1=(at(bar.high_frac)) x2=(at(bar.high_frac)) y1="6" y2="14" {}
        }
    }
}

fn curve_table(curve: &Curve) -> Markup {
    let heads: Vec<String> = curve.lines.iter().map(|line| line.name.clone()).collect();
    table(&heads, &curve.rows)
}

fn table(heads: &[String], rows: &[(String, Vec<String>)]) -> Markup {
    html! {
        div.wide {
            table.water {
                thead { tr { td {} @for head in heads { th scope="col" { (head) } } } }
                tbody {
                    @for (head, cells) in rows {
                        tr { th scope="row" { (head) } @for cell in cells { td { (cell) } } }
                    }
                }
            }
        }
    }
}
