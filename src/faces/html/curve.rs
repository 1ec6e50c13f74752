//! Cumulative chances as a picture: days to the right, chance upward, a step line a place.

use maud::{Markup, html};

use crate::faces::text::block::{Curve, CurveLine};

/// The picture, and the margins that its words need.
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 300.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 52.0;
/// Lines that have a look of their own.
const LOOKS: usize = 4;

/// A length in the picture.
fn at(value: f64) -> String {
    format!("{value:.1}")
}

struct Frame {
    days: usize,
}

impl Frame {
    fn x(&self, after_days: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * after_days / self.days.max(1) as f64
    }

    fn y(&self, prob: f64) -> f64 {
        TOP + (HEIGHT - TOP - BOTTOM) * (1.0 - prob.clamp(0.0, 1.0))
    }

    /// Steps: a day's chance stands through that day.
    fn path(&self, line: &CurveLine) -> String {
        let mut path = String::new();
        for (day, prob) in line.turned_over_prob.iter().enumerate() {
            let (from, to, y) = (self.x(day as f64), self.x(day as f64 + 1.0), self.y(*prob));
            path.push_str(&format!(
                "{}{} {}H{}",
                if day == 0 { "M" } else { "V" },
                if day == 0 { at(from) } else { String::new() },
                at(y),
                at(to)
            ));
        }
        path
    }
}

/// The curve drawn; the table beside it has its figures.
pub fn drawn_curve(curve: &Curve) -> Markup {
    let days = curve
        .lines
        .iter()
        .map(|line| line.turned_over_prob.len())
        .max()
        .unwrap_or(0);
    let frame = Frame { days };
    let (floor, foot) = (frame.y(0.0), frame.y(0.0) + 18.0);
    let share = (WIDTH - LEFT - RIGHT) / curve.lines.len().max(1) as f64;
    html! {
        svg.curve viewBox="0 0 640 300" role="img" aria-label="Chance that it has turned over, by day" {
            @for percent in [0, 25, 50, 75, 100] {
                @let y = frame.y(f64::from(percent) / 100.0);
                line class="grid" x1=(at(LEFT)) x2=(at(WIDTH - RIGHT)) y1=(at(y)) y2=(at(y)) {}
                text x=(at(LEFT - 6.0)) y=(at(y + 4.5)) text-anchor="end" { (percent) " %" }
            }
            @for (day, word) in &curve.ticks {
                @let x = frame.x(*day as f64);
                line class="grid" x1=(at(x)) x2=(at(x)) y1=(at(TOP)) y2=(at(floor)) {}
                text x=(at(x)) y=(at(foot)) text-anchor="middle" { (word) }
            }
            @for (i, line) in curve.lines.iter().enumerate().rev() {
                path class={ "line" (i % LOOKS) } d=(frame.path(line)) {}
                @if let Some(day) = line.median {
                    circle cx=(at(frame.x(day as f64))) cy=(at(frame.y(0.5))) r="4" {}
                }
            }
            @for (i, line) in curve.lines.iter().enumerate() {
                @let x = LEFT + share * i as f64;
                path class={ "line" (i % LOOKS) } d={ "M" (at(x)) " " (at(HEIGHT - 12.0)) "h26" } {}
                text x=(at(x + 32.0)) y=(at(HEIGHT - 7.5)) { (line.name) }
            }
        }
    }
}
