//! The hours of a trip as a picture: light behind, gusts as bars, chop as a line. The figures stand in the table below it.

use maud::{Markup, html};

use crate::faces::text::block::Strip;
use crate::plan::Light;

/// Width of an hour, and height of the picture.
const HOUR: f64 = 10.0;
const HEIGHT: f64 = 30.0;
/// Gust and chop that reach the top: gales of 39 kt, and waves of a metre, are beyond any outing.
const TOP_GUST_M_S: f64 = 20.0;
const TOP_WAVE_M: f64 = 1.0;

/// The strip as inline SVG.
pub fn drawn_strip(strip: &Strip) -> Markup {
    let width = HOUR * strip.heads.len() as f64;
    let x = |i: usize| format!("{:.1}", HOUR * i as f64);
    // What is not known is not drawn, and a line does not run across it.
    let known: Vec<(usize, f64)> = strip
        .wave_height_m
        .iter()
        .enumerate()
        .filter_map(|(i, height_m)| Some((i, part((*height_m)?, TOP_WAVE_M))))
        .collect();
    html! {
        svg.strip viewBox=(format!("0 0 {width:.0} {HEIGHT:.0}")) preserveAspectRatio="none" aria-hidden="true" focusable="false" {
            @for (i, light) in strip.light.iter().enumerate() {
                rect class=(class(*light)) x=(x(i)) y="0" width=(format!("{HOUR:.0}")) height=(format!("{HEIGHT:.0}")) {}
            }
            @for (i, gust_m_s) in strip.gust_m_s.iter().enumerate() {
                @if let Some(gust_m_s) = gust_m_s {
                    @let high = HEIGHT * part(*gust_m_s, TOP_GUST_M_S);
                    rect class="fill" x=(format!("{:.1}", HOUR * i as f64 + 0.2 * HOUR)) y=(format!("{:.1}", HEIGHT - high))
                        width=(format!("{:.1}", 0.6 * HOUR)) height=(format!("{high:.1}")) {}
                }
            }
            @for pair in known.windows(2).filter(|p| p[1].0 == p[0].0 + 1) {
                line class="span" x1=(middle(pair[0].0)) y1=(up(pair[0].1)) x2=(middle(pair[1].0)) y2=(up(pair[1].1)) {}
            }
        }
    }
}

/// Part of the height; what is higher reaches the top.
fn part(value: f64, top: f64) -> f64 {
    (value / top).clamp(0.0, 1.0)
}

fn middle(hour: usize) -> String {
    format!("{:.1}", HOUR * (hour as f64 + 0.5))
}

fn up(part_frac: f64) -> String {
    format!("{:.1}", HEIGHT * (1.0 - part_frac))
}

fn class(light: Option<Light>) -> &'static str {
    match light {
        Some(Light::Dark) => "dark",
        Some(Light::HalfLight) => "half",
        Some(Light::Day) | None => "day",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_not_drawn() {
        let strip = Strip {
            heads: ["05", "06", "07"].map(str::to_owned).to_vec(),
            rows: Vec::new(),
            light: vec![Some(Light::Dark), Some(Light::HalfLight), None],
            gust_m_s: vec![Some(10.0), None, Some(40.0)],
            wave_height_m: vec![Some(0.2), None, Some(0.4)],
        };
        let drawn = drawn_strip(&strip).into_string();
        assert_eq!(drawn.matches("class=\"fill\"").count(), 2);
        assert_eq!(
            drawn.matches("<line").count(),
            0,
            "no line across an unknown hour"
        );
        // 10 of 20 m/s is half of the height; 40 is held at the top.
        assert!(drawn.contains("height=\"15.0\"") && drawn.contains("y=\"0.0\""));
        assert_eq!(drawn.matches("class=\"dark\"").count(), 1);
    }
}
