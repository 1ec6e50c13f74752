//! The HTML part: one column, tables for labels, no script, nothing from elsewhere.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::chart::Chart;
use super::days::{CallWords, DayWords};
use super::style::{Style, caution, danger, dark_sheet};
use super::words::{CautionWords, DigestWords, Labelled};
use crate::faces::text::block::Tone;

/// The HTML of `words` with `charts`, each under the address that `source` gives it; `reader_part` is what is said to one reader alone.
pub fn render_digest_html(
    words: &DigestWords,
    charts: &[Chart],
    source: &dyn Fn(&Chart) -> String,
    reader_part: &str,
) -> String {
    let s = Style::new();
    let chart = |name: &str| charts.iter().find(|chart| chart.name == name);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="supported-color-schemes" content="light dark";
                title { (words.subject) }
                style { (PreEscaped(dark_sheet())) }
            }
            "\n"
            body class="pg" style=(s.page) {
                (preheader(words))
                div class="pg" style=(s.column) {
                    h1 class="ik" style="font-size:26px;line-height:1.2;margin:8px 0 2px" { (words.lake) }
                    p class="ft" style=(s.faint) { (words.stamp) }
                    @if let Some(note) = &words.note { p class="ft" style=(s.faint) { (note) } }
                    "\n"
                    @if !words.lacking.is_empty() { (lacking(&s, &words.lacking)) }
                    (cautions(&s, words))
                    (section(&s, "At a glance", ""))
                    (table(&s, &words.glance))
                    (section(&s, "The week ahead", "share of the fish by zone, 80 % interval in brackets"))
                    @if let Some(chart) = chart("shares") { (picture(chart, source)) }
                    @for day in &words.days { (day_box(&s, day)) }
                    @for line in &words.days_rest_on { p class="ft" style=(s.faint) { (line) } }
                    "\n"
                    (section(&s, "Calm hours", "from first light, wind and chop below their cautions"))
                    @if words.best.is_empty() { p { "None of two hours or more is foreseen." } }
                    (list(&words.best))
                    (section(&s, "Where to start", ""))
                    (table(&s, &words.plan))
                    (section(&s, "Ramps", "by level only; gate, closure and surface are not known"))
                    (table(&s, &words.ramps))
                    (section(&s, "What changed", &words.since))
                    (list(&words.changed))
                    (section(&s, "The week behind", ""))
                    @if let Some(chart) = chart("level") { (picture(chart, source)) }
                    (table(&s, &words.behind))
                    @if !words.also.is_empty() { (section(&s, "Also", "")) (table(&s, &words.also)) }
                    @if !words.not_known.is_empty() {
                        (section(&s, "Not known", "and what follows from it"))
                        (list(&words.not_known))
                    }
                    (section(&s, "Before you go", ""))
                    (list(&words.reminders))
                    @for line in &words.closing { p class="ft" style=(s.faint) { (line) } }
                    "\n"
                    (PreEscaped(reader_part))
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// What a list of messages shows beside the subject.
fn preheader(words: &DigestWords) -> Markup {
    let hidden = "display:none;max-height:0;overflow:hidden;font-size:1px;line-height:1px;opacity:0";
    let first = words.cautions.first().map(|c| format!("{}: {}", c.level, c.text));
    html! { @if let Some(first) = first { div style=(hidden) { (first) } "\n" } }
}

fn section(s: &Style, heading: &str, remark: &str) -> Markup {
    html! {
        h2 class="hd" style=(s.heading) { (heading) }
        @if !remark.is_empty() { p class="ft" style=(s.faint) { (crate::faces::words::capitalised(remark)) } }
        "\n"
    }
}

fn table(s: &Style, lines: &[Labelled]) -> Markup {
    html! {
        table role="presentation" cellpadding="0" cellspacing="0" border="0" width="100%" style="border-collapse:collapse" {
            @for (label, text) in lines {
                tr {
                    td class="ik" style=(s.label) { (label) }
                    td class="ik" style=(s.text) { (text) }
                }
                "\n"
            }
        }
    }
}

fn list(lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() {
            ul style="margin:6px 0;padding-left:20px" {
                @for line in lines { li style="margin:4px 0" { (line) } "\n" }
            }
        }
    }
}

fn lacking(s: &Style, lines: &[String]) -> Markup {
    html! {
        @if let Some((heading, rest)) = lines.split_first() {
            div class="ct" style=(s.cautions) {
                p class="dg" style=(format!("font-weight:700;margin:8px 0 2px;color:{}", danger())) { (heading) }
                (list(rest))
            }
        }
    }
}

fn cautions(s: &Style, words: &DigestWords) -> Markup {
    html! {
        div class="ct" style=(s.cautions) {
            h2 class="ik" style="font-size:19px;margin:8px 0 4px" { "Cautions first" }
            p class="ft" style=(s.faint) { (crate::faces::words::capitalised(&words.morning)) }
            @for caution in &words.cautions { (one_caution(caution)) }
            p class="ik" style="margin:10px 0 2px;font-weight:700" { "Official alerts" }
            @for line in &words.alerts { p class="ik" style="margin:2px 0;font-size:15px" { (line) } }
        }
        "\n"
    }
}

fn one_caution(words: &CautionWords) -> Markup {
    let (class, colour) = match words.tone {
        Tone::Danger => ("dg", danger()),
        Tone::Caution => ("cn", caution()),
        Tone::Bold | Tone::Faint => ("ik", "inherit".to_owned()),
    };
    html! {
        p class="ik" style="margin:7px 0;font-size:15px" {
            span class=(class) style=(format!("font-weight:700;color:{colour}")) { (words.level) }
            " " (words.text)
        }
        "\n"
    }
}

fn day_box(s: &Style, day: &DayWords) -> Markup {
    let small = "margin:3px 0;font-size:15px";
    html! {
        div class="dy" style=(s.day) {
            p class="ik" style="margin:0 0 2px;font-size:17px;font-weight:700" { (day.day) }
            @if !day.cautions.is_empty() {
                p class="dg" style=(format!("{small};font-weight:700;color:{}", danger())) {
                    (crate::faces::words::capitalised(&day.cautions.join(", ").to_lowercase()))
                    @if day.ashore { ": stay ashore while it holds" }
                }
            }
            @for (label, text) in &day.weather {
                p class="ik" style=(small) { strong { (label) } " " (text) }
            }
            @for call in &day.calls { p class="ik" style=(small) { (one_call(call)) } }
        }
        "\n"
    }
}

fn one_call(call: &CallWords) -> Markup {
    html! {
        strong { (call.species) } " "
        @match &call.not_known {
            Some(why) => { (why) },
            None => { (call.shares_said()) ". Depth " (call.depth) "." },
        }
    }
}

fn picture(chart: &Chart, source: &dyn Fn(&Chart) -> String) -> Markup {
    html! {
        img class="pc" src=(source(chart)) alt=(chart.alt) width=(chart.width)
            style="display:block;width:100%;max-width:568px;height:auto;border:0;border-radius:8px;margin:10px 0;background:#ffffff";
        "\n"
    }
}
