//! The page and the Markdown of a brief: the words and figures of the text, whole, and nothing that does harm.

use plungeline::faces::text::block::{Block, compose};
use plungeline::faces::{Reader, Units, render_html, render_markdown};
use plungeline::reports::Brief;
use pulldown_cmark::{Event, Options, Parser, Tag};
use rstest::rstest;
use scraper::{Html, Selector};

use super::demo::{MORNINGS, brief, run};
use crate::house::source::document;

/// Bytes that a page may have.
const LARGEST: usize = 400_000;

fn morning(day: &str) -> Brief {
    serde_json::from_value(brief(day)).expect("a brief")
}

fn reader(units: Units) -> Reader {
    Reader {
        units,
        zone: chrono_tz::America::Los_Angeles,
    }
}

/// Words parted by single blanks, so that line ends do not count.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a reader of the page sees.
fn seen(html: &str) -> String {
    let page = Html::parse_document(html);
    let body = Selector::parse("body").expect("a selector");
    let text: Vec<&str> = page.select(&body).flat_map(|b| b.text()).collect();
    flat(&text.join(" "))
}

/// What a reader of the Markdown sees.
fn rendered(markdown: &str) -> String {
    let mut text = String::new();
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES) {
        match event {
            Event::Text(t) | Event::Code(t) => text.push_str(&t),
            Event::Start(Tag::TableCell | Tag::Paragraph | Tag::Item) | Event::End(_) => text.push(' '),
            Event::SoftBreak | Event::HardBreak => text.push(' '),
            Event::Html(t) | Event::InlineHtml(t) => panic!("raw HTML in the Markdown: {t}"),
            _ => {}
        }
    }
    flat(&text)
}

/// Every text of the blocks of a page, as words.
fn texts(brief: &Brief, units: Units) -> Vec<String> {
    let mut found = Vec::new();
    for block in compose(brief, &reader(units)) {
        match block {
            Block::Title { name, stamp } => found.extend([name, stamp]),
            Block::Note(text)
            | Block::Lead(text)
            | Block::Text { text, .. }
            | Block::Item { text, .. }
            | Block::Row { text, .. }
            | Block::Labelled { text, .. }
            | Block::Amount { text, .. } => found.push(text),
            // Heading and remark begin with a capital letter on the page and are small otherwise.
            Block::Heading { remark, .. } => found.push(remark.chars().skip(1).collect()),
            Block::Shares(bars) => {
                found.extend(bars.into_iter().flat_map(|b| [b.name, b.share, b.interval]));
            }
            Block::Table { heads, rows } => {
                found.extend(heads);
                found.extend(
                    rows.into_iter()
                        .flat_map(|(head, cells)| std::iter::once(head).chain(cells)),
                );
            }
            Block::Strip(strip) => {
                found.extend(strip.heads);
                let rows = strip.rows.into_iter();
                found.extend(rows.flat_map(|(head, cells)| std::iter::once(head).chain(cells)));
            }
            Block::Quote(lines) => found.extend(lines),
            Block::Ranks { label, .. } => found.push(label),
            Block::Link(url) => found.push(url),
        }
    }
    found.iter().map(|t| flat(t)).filter(|t| !t.is_empty()).collect()
}

#[rstest]
fn the_page_and_the_markdown_say_all_that_the_text_says(
    #[values("2025-07-24", "2025-10-09", "2026-01-17", "2026-03-12")] day: &str,
    #[values(Units::Us, Units::Metric)] units: Units,
) {
    let brief = morning(day);
    let (page, sheet) = (
        seen(&render_html(&brief, &reader(units))),
        rendered(&render_markdown(&brief, &reader(units))),
    );
    let texts = texts(&brief, units);
    assert!(texts.len() > 100, "{}", texts.len());
    for text in texts {
        assert!(page.contains(&text), "{day}: {text:?} is not on the page\n{page}");
        assert!(
            sheet.contains(&text),
            "{day}: {text:?} is not in the Markdown\n{sheet}"
        );
    }
}

#[test]
fn the_page_is_one_sound_file_that_asks_for_nothing() {
    for day in MORNINGS {
        let html = render_html(&morning(day), &reader(Units::Us));
        assert!(html.len() <= LARGEST, "{day}: {} bytes", html.len());
        let page = Html::parse_document(&html);
        assert!(page.errors.is_empty(), "{day}: {:?}", page.errors);
        for asks in [
            "<script",
            " src=",
            "url(",
            "@import",
            "<link",
            "<iframe",
            " onload",
            "javascript:",
        ] {
            assert!(!html.contains(asks), "{day}: {asks}");
        }
        let count = |css: &str| page.select(&Selector::parse(css).expect("a selector")).count();
        assert_eq!(count("h1"), 1);
        assert_eq!(
            count("table th:not([scope])"),
            0,
            "every head says what it is the head of"
        );
        assert!(
            count("table.shares tbody tr") >= 10,
            "five zones for each of two species"
        );
        assert_eq!(
            count("input[type=radio][checked]"),
            1,
            "the colours of the system, unless chosen"
        );
        assert_eq!(count("section.first h2"), 1);
    }
}

#[test]
fn cautions_come_before_all_else_and_then_the_official_alerts() {
    let brief = morning("2026-03-12");
    let (page, sheet) = (
        seen(&render_html(&brief, &reader(Units::Us))),
        rendered(&render_markdown(&brief, &reader(Units::Us))),
    );
    for text in [page, sheet] {
        let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words:?} is missing"));
        assert!(at("Cautions") < at("Official alerts") && at("Official alerts") < at("Where they are"));
    }
}

#[test]
fn names_from_outside_do_no_harm() {
    let mut brief = morning("2026-03-12");
    let name = "<script>alert(1)</script> | *Bad* & `worse` [x](javascript:1) _lake_ 1. #";
    brief.lake.name = name.to_owned();
    brief.lake.note = Some("</style><b>".to_owned());
    if let Some(alert) = brief.alerts.list.first_mut() {
        alert.description = Some("# no heading\n<img src=x onerror=1>\n- no item\n1. no number".to_owned());
        alert.url = Some("javascript:alert(1)".to_owned());
    }
    let html = render_html(&brief, &reader(Units::Us));
    let page = Html::parse_document(&html);
    let count = |css: &str| page.select(&Selector::parse(css).expect("a selector")).count();
    assert_eq!(
        (count("script"), count("img"), count("b"), count("a")),
        (0, 0, 0, 0)
    );
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    assert!(seen(&html).contains(&flat(name)));
    let sheet = render_markdown(&brief, &reader(Units::Us));
    let shown = rendered(&sheet);
    for text in [
        name,
        "# no heading",
        "<img src=x onerror=1>",
        "- no item",
        "1. no number",
        "</style><b>",
    ] {
        assert!(shown.contains(&flat(text)), "{text}\n{shown}");
    }
    let links = Parser::new_ext(&sheet, Options::ENABLE_TABLES)
        .filter(|e| matches!(e, Event::Start(Tag::Link { .. } | Tag::Image { .. })));
    assert_eq!(links.count(), 0);
}

#[test]
fn the_tables_of_the_markdown_are_tables() {
    let brief = morning("2025-10-09");
    let sheet = render_markdown(&brief, &reader(Units::Us));
    let tables = Parser::new_ext(&sheet, Options::ENABLE_TABLES)
        .filter(|e| matches!(e, Event::Start(Tag::Table(_))))
        .count();
    assert_eq!(
        tables, 4,
        "two of shares, one of hours and one of temperatures\n{sheet}"
    );
}

#[test]
fn the_program_prints_the_page_and_the_markdown() {
    for (format, begins) in [
        ("html", "<!DOCTYPE html>"),
        ("markdown", "# Harrow Gap Reservoir"),
    ] {
        let output = run(&["brief", "--demo", "--format", format]);
        assert_eq!(output.status.code(), Some(0));
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        assert!(text.starts_with(begins), "{text}");
        assert!(
            document("README.md").contains(&format!("--format {format}")),
            "{format} in the README"
        );
    }
}
