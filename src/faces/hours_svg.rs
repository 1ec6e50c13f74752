//! The hours of a trip as one picture, to keep on a phone or to print: light, gusts and chop over the figures of the plan.

use maud::{Markup, html};

use super::reader::Reader;
use super::text::block::Strip;
use super::text::plan_hours::{hours_said, strip};
use super::words;
use crate::plan::{CautionLevel, Light};
use crate::reports::Brief;

/// Sizes in points of the picture.
const MARGIN: f64 = 12.0;
const HOUR: f64 = 46.0;
const LINE: f64 = 18.0;
const PANEL: f64 = 84.0;
/// Width of a letter at the size of the figures, about; and the least width of the picture.
const LETTER: f64 = 7.0;
const NARROWEST: f64 = 560.0;
/// Gust and chop that reach the top of the panel, as on the page.
const TOP_GUST_M_S: f64 = 20.0;
const TOP_WAVE_M: f64 = 1.0;

const STYLE: &str = "text{font:13px sans-serif;fill:#1c2430}.head{font-weight:bold}.small{font-size:11px}\
.dark{fill:#59616e}.half{fill:#a9b1bd}.day{fill:#f1ede2}.none{fill:#ffffff;stroke:#a9b1bd}.gust{fill:#3f78ab}\
.chop{stroke:#7a2f14;stroke-width:2.5;fill:none}.dot{fill:#7a2f14}";

/// The hours as an SVG file of its own. The cautions stand in the brief: of them the picture has the names.
pub fn render_hours_svg(brief: &Brief, reader: &Reader) -> String {
    let strip = strip(brief, reader);
    let hours = strip.as_ref().map_or(0, |s| s.heads.len());
    let longest = strip
        .iter()
        .flat_map(|s| &s.rows)
        .map(|(head, _)| head.chars().count())
        .max();
    let labels = LETTER * longest.unwrap_or(0) as f64 + 2.0 * MARGIN;
    let said = [
        format!("{}, {}", brief.lake.name, reader.stamp(brief.as_of)),
        cautions(brief),
        words::capitalised(&hours_said(brief, reader)),
    ];
    let widest = said.iter().map(|line| line.chars().count()).max().unwrap_or(0);
    let width = (labels + HOUR * hours as f64 + MARGIN)
        .max(LETTER * widest as f64 + 2.0 * MARGIN)
        .max(NARROWEST);
    let top = MARGIN + LINE * said.len() as f64 + 6.0;
    let rows = strip.as_ref().map_or(1, |s| s.rows.len() + 2);
    let height = top + PANEL + LINE * rows as f64 + 2.0 * MARGIN;
    let title = format!("{}: the hours of the trip", brief.lake.name);
    let picture = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width:.0} {height:.0}"))
            width=(format!("{width:.0}")) height=(format!("{height:.0}")) role="img" {
            title { (title) }
            style { (maud::PreEscaped(STYLE)) }
            rect x="0" y="0" width=(format!("{width:.0}")) height=(format!("{height:.0}")) fill="#ffffff" {}
            @for (i, line) in said.iter().enumerate() {
                text class=(if i == 0 { "head" } else { "said" }) x=(at(MARGIN)) y=(at(MARGIN + LINE * (i as f64 + 0.7))) { (line) }
            }
            @match &strip {
                Some(strip) => (drawn(strip, labels, top)),
                None => text x=(at(MARGIN)) y=(at(top + LINE)) { "Nothing is known of any hour of this trip." },
            }
        }
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n",
        picture.into_string()
    )
}

/// The names of what is cautioned of, for nobody should look at the hours alone.
fn cautions(brief: &Brief) -> String {
    let mut names: Vec<String> = Vec::new();
    let held = brief
        .cautions
        .iter()
        .filter(|c| c.level != CautionLevel::Reminder);
    for caution in held {
        let name = words::hazard(caution.hazard).to_lowercase();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let stay = if brief.plan.stop.is_empty() {
        ""
    } else {
        "STAY ASHORE while they hold. "
    };
    if names.is_empty() {
        "Read the reminders of the brief first.".to_owned()
    } else {
        format!(
            "{stay}Cautions in the brief, to read first: {}.",
            names.join(", ")
        )
    }
}

/// Light, bars of gusts and the line of chop; under them the figures.
fn drawn(strip: &Strip, left: f64, top: f64) -> Markup {
    let x = |i: usize| left + HOUR * i as f64;
    let floor = top + PANEL;
    let known: Vec<(usize, f64)> = strip
        .wave_height_m
        .iter()
        .enumerate()
        .filter_map(|(i, height_m)| Some((i, floor - PANEL * part((*height_m)?, TOP_WAVE_M))))
        .collect();
    html! {
        @for (i, light) in strip.light.iter().enumerate() {
            rect class=(class(*light)) x=(at(x(i))) y=(at(top)) width=(at(HOUR)) height=(at(PANEL)) {}
        }
        @for (i, gust_m_s) in strip.gust_m_s.iter().enumerate() {
            @if let Some(gust_m_s) = gust_m_s {
                @let high = PANEL * part(*gust_m_s, TOP_GUST_M_S);
                rect class="gust" x=(at(x(i) + 0.3 * HOUR)) y=(at(floor - high)) width=(at(0.4 * HOUR)) height=(at(high)) {}
            }
        }
        @for pair in known.windows(2).filter(|p| p[1].0 == p[0].0 + 1) {
            line class="chop" x1=(at(x(pair[0].0) + 0.5 * HOUR)) y1=(at(pair[0].1)) x2=(at(x(pair[1].0) + 0.5 * HOUR)) y2=(at(pair[1].1)) {}
        }
        @for (i, y) in &known {
            circle class="dot" cx=(at(x(*i) + 0.5 * HOUR)) cy=(at(*y)) r="3.5" {}
        }
        (figures("hour", &strip.heads, left, floor + LINE))
        @for (row, (head, cells)) in strip.rows.iter().enumerate() {
            (figures(head, cells, left, floor + LINE * (row as f64 + 2.0)))
        }
        text class="small" x=(at(MARGIN)) y=(at(floor + LINE * (strip.rows.len() as f64 + 3.0))) {
            "Bars: gusts. Line: highest chop of the waters below. Behind: dark, half-light, day."
        }
    }
}

/// A head and a figure an hour.
fn figures(head: &str, cells: &[String], left: f64, y: f64) -> Markup {
    html! {
        text class="head" text-anchor="end" x=(at(left - MARGIN)) y=(at(y)) { (head) }
        @for (i, cell) in cells.iter().enumerate() {
            text text-anchor="middle" x=(at(left + HOUR * (i as f64 + 0.5))) y=(at(y)) { (cell) }
        }
    }
}

/// Part of the height; what is higher reaches the top.
fn part(value: f64, top: f64) -> f64 {
    (value / top).clamp(0.0, 1.0)
}

fn at(y: f64) -> String {
    format!("{y:.1}")
}

fn class(light: Option<Light>) -> &'static str {
    match light {
        Some(Light::Dark) => "dark",
        Some(Light::HalfLight) => "half",
        Some(Light::Day) => "day",
        None => "none",
    }
}
