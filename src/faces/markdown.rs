//! The brief as Markdown (CommonMark with the tables of GitHub's), to paste into a mail or a forum.

use super::reader::Reader;
use super::text::block::{Block, Detail, ShareBar, compose};
use super::words;
use crate::reports::Brief;

/// The brief as Markdown for `reader`, as much of it as `detail` says.
pub fn render_markdown(brief: &Brief, reader: &Reader, detail: Detail) -> String {
    let mut sheet = String::new();
    let mut in_list = false;
    for block in compose(brief, reader, detail) {
        let text = drawn(&block);
        let list = is_list(&block);
        // Items of one list follow each other; everything else is parted by an empty line.
        let goes_on = list && in_list;
        if !sheet.is_empty() && !goes_on {
            sheet.push('\n');
        }
        sheet.push_str(&text);
        sheet.push('\n');
        in_list = list;
    }
    sheet
}

fn is_list(block: &Block) -> bool {
    matches!(
        block,
        Block::Item { .. } | Block::Row { .. } | Block::Labelled { .. } | Block::Amount { .. }
    )
}

fn drawn(block: &Block) -> String {
    match block {
        Block::Title { name, stamp } => format!("# {}\n\n{}", escaped(name), opening(stamp)),
        Block::Note(note) => format!("*{}*", escaped(note)),
        Block::Heading { heading, remark } => {
            let heading = format!("## {}", escaped(&words::capitalised(&heading.to_lowercase())));
            if remark.is_empty() {
                heading
            } else {
                format!("{heading}\n\n*{}*", escaped(&words::capitalised(remark)))
            }
        }
        Block::Text { text, .. } => opening(text),
        Block::Lead(text) => format!("**{}**", escaped(text)),
        Block::Item { text, number } => match number {
            Some(number) => format!("{number}. {}", opening(text)),
            None => format!("- {}", opening(text)),
        },
        Block::Row { label, text, .. } if label.is_empty() => format!("- {}", opening(text)),
        Block::Row { label, text, .. } | Block::Labelled { label, text, .. } => {
            format!("- **{}** {}", escaped(label), escaped(text))
                .trim_end()
                .to_owned()
        }
        Block::Amount { amount, text } => format!("- `{amount}` {}", escaped(text)),
        Block::Shares(bars) => shares(bars),
        Block::Table { heads, rows } => table(heads, rows),
        Block::Ranks { label, counts } => {
            let counts: Vec<String> = counts.iter().map(usize::to_string).collect();
            format!("- **{}** {}", escaped(label), counts.join(", "))
        }
        Block::Strip(strip) => table(&strip.heads, &strip.rows),
        Block::Curve(curve) => {
            let heads: Vec<String> = curve.lines.iter().map(|line| line.name.clone()).collect();
            table(&heads, &curve.rows)
        }
        Block::Quote(lines) => {
            // Two blanks at the end keep the service's own line ends.
            let line = |l: &String| match l.trim() {
                "" => ">".to_owned(),
                text => format!("> {}  ", opening(text)),
            };
            lines.iter().map(line).collect::<Vec<_>>().join("\n")
        }
        Block::Link(url) => opening(url),
    }
}

fn shares(bars: &[ShareBar]) -> String {
    let mut text = "| zone | share | 80 % interval | |\n|---|--:|--:|---|".to_owned();
    for bar in bars {
        text.push_str(&format!(
            "\n| {} | {} | {} % | {} |",
            escaped(&bar.name),
            escaped(&bar.share),
            escaped(&bar.interval),
            bar.remark
        ));
    }
    text
}

fn table(heads: &[String], rows: &[(String, Vec<String>)]) -> String {
    let row = |first: &str, cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|c| escaped(c)).collect();
        format!("| {} | {} |", escaped(first), cells.join(" | "))
    };
    let mut lines = vec![row("", heads), format!("|--:|{}", "--:|".repeat(heads.len()))];
    lines.extend(rows.iter().map(|(head, cells)| row(head, cells)));
    lines.join("\n")
}

/// Text that Markdown shows as it is, anywhere within a line.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' => out.push(' '),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '#' => {
                out.push('\\');
                out.push(c);
            }
            _ => out.push(c),
        }
    }
    out
}

/// The same at the beginning of a line, where more characters mean something: a list, a heading, a rule.
fn opening(text: &str) -> String {
    let text = escaped(text.trim_start());
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    match text[digits..].chars().next() {
        Some(mark @ ('.' | ')')) if digits > 0 => {
            format!("{}\\{mark}{}", &text[..digits], &text[digits + 1..])
        }
        Some('-' | '+' | '=') if digits == 0 => format!("\\{text}"),
        _ => text,
    }
}
