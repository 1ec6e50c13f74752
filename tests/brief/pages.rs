//! The page and the Markdown of a brief: the words and figures of the text, whole, and nothing that does harm.

use plungeline::faces::text::block::{Block, Detail, compose};
use plungeline::faces::{Reader, Units, render_hours_svg, render_html, render_markdown};
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
    Reader::new(units, chrono_tz::America::Los_Angeles)
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
    for block in compose(brief, &reader(units), Detail::Whole) {
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
            Block::Ranks { label, counts } => {
                found.push(label);
                found.extend(counts.iter().map(ToString::to_string));
            }
            Block::Strip(strip) => {
                found.extend(strip.heads);
                let rows = strip.rows.into_iter();
                found.extend(rows.flat_map(|(head, cells)| std::iter::once(head).chain(cells)));
            }
            Block::Curve(curve) => {
                found.extend(curve.lines.into_iter().map(|line| line.name));
                let rows = curve.rows.into_iter();
                found.extend(rows.flat_map(|(head, cells)| std::iter::once(head).chain(cells)));
            }
            Block::Quote(lines) => found.extend(lines),
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
        rendered(&render_markdown(&brief, &reader(units), Detail::Whole)),
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
        rendered(&render_markdown(&brief, &reader(Units::Us), Detail::Whole)),
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
    let sheet = render_markdown(&brief, &reader(Units::Us), Detail::Whole);
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
    let sheet = render_markdown(&brief, &reader(Units::Us), Detail::Whole);
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
        ("svg", "<?xml version"),
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

#[test]
fn the_page_holds_every_number_folded_without_being_asked() {
    let html = render_html(&morning("2025-10-09"), &reader(Units::Us));
    let page = Html::parse_document(&html);
    let heads = Selector::parse("details:not([open]) summary h2").expect("a selector");
    let folded: Vec<String> = page.select(&heads).map(|h| h.text().collect()).collect();
    assert_eq!(
        folded,
        ["Why", "Why this order", "Every number", "Inputs", "Thresholds"]
    );
}

#[test]
fn the_hours_as_a_picture_are_sound_xml_with_every_figure_of_the_strip() {
    for day in MORNINGS {
        for units in [Units::Us, Units::Metric] {
            let brief = morning(day);
            let svg = render_hours_svg(&brief, &reader(units));
            let document = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{day}: {e}\n{svg}"));
            let root = document.root_element();
            assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
            let size = |key: &str| {
                root.attribute(key)
                    .and_then(|v| v.parse::<f64>().ok())
                    .expect("a size")
            };
            let (width, height) = (size("width"), size("height"));
            let number = |node: roxmltree::Node<'_, '_>, key: &str| -> f64 {
                node.attribute(key)
                    .map_or(0.0, |v| v.parse().unwrap_or_else(|_| panic!("{key}: {v}")))
            };
            for node in root.descendants().filter(|n| n.is_element()) {
                for (x, y) in [("x", "y"), ("x1", "y1"), ("x2", "y2"), ("cx", "cy")] {
                    let (x, y) = (number(node, x), number(node, y));
                    assert!(
                        (0.0..=width).contains(&x) && (0.0..=height).contains(&y),
                        "{day}: {node:?}"
                    );
                }
                assert!(
                    number(node, "x") + number(node, "width") <= width,
                    "{day}: {node:?}"
                );
            }
            let texts: Vec<&str> = root
                .descendants()
                .filter_map(|n| n.text())
                .map(str::trim)
                .collect();
            let strip = plungeline::faces::text::plan_hours::strip(&brief, &reader(units)).expect("hours");
            for (head, cells) in &strip.rows {
                assert!(texts.contains(&head.as_str()), "{day}: {head}");
                assert!(
                    cells.iter().all(|c| texts.contains(&c.as_str())),
                    "{day}: {cells:?}"
                );
            }
            // Nobody should look at the hours alone.
            assert!(
                texts
                    .iter()
                    .any(|t| t.contains("Cautions in the brief, to read first")),
                "{texts:?}"
            );
            let stay = texts.iter().any(|t| t.starts_with("STAY ASHORE"));
            assert_eq!(stay, !brief.plan.stop.is_empty(), "{day}");
        }
    }
}

#[test]
fn a_picture_of_hours_of_which_nothing_is_known_says_so_and_names_do_no_harm() {
    let mut brief = morning("2025-10-09");
    brief.lake.name = "</text><script>alert(1)</script> & Co".to_owned();
    brief.plan.hours.hours.clear();
    let svg = render_hours_svg(&brief, &reader(Units::Us));
    let document = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{e}\n{svg}"));
    assert!(!document.descendants().any(|n| n.has_tag_name("script")));
    assert!(svg.contains("Nothing is known of any hour"), "{svg}");
}
