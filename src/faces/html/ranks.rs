//! Ranks as bars, with a line where they would all end were every rank as likely.

use maud::{Markup, html};

/// Width of a class, height of the picture, and of the line of equal chance.
const CLASS: f64 = 10.0;
const HEIGHT: f64 = 30.0;

/// The counts as inline SVG; the figures stand below.
pub fn drawn_ranks(label: &str, counts: &[usize]) -> Markup {
    let width = CLASS * counts.len() as f64;
    let most = counts.iter().copied().max().unwrap_or(0).max(1) as f64;
    let up = |count: f64| HEIGHT * count / most;
    let even = counts.iter().sum::<usize>() as f64 / counts.len().max(1) as f64;
    let line_y = format!("{:.1}", HEIGHT - up(even));
    let said: Vec<String> = counts.iter().map(usize::to_string).collect();
    html! {
        figure.ranks {
            svg viewBox=(format!("0 0 {width:.0} {HEIGHT:.0}")) preserveAspectRatio="none" aria-hidden="true" focusable="false" {
                @for (i, count) in counts.iter().enumerate() {
                    @let high = up(*count as f64);
                    rect class="fill" x=(format!("{:.1}", CLASS * i as f64 + 0.5)) y=(format!("{:.1}", HEIGHT - high))
                        width=(format!("{:.1}", CLASS - 1.0)) height=(format!("{high:.1}")) {}
                }
                line class="span" x1="0" x2=(format!("{width:.0}")) y1=(line_y) y2=(line_y) {}
            }
            figcaption { (label) ": " (said.join(", ")) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_highest_bar_is_as_high_as_the_picture_and_the_line_lies_at_the_mean() {
        let drawn = drawn_ranks("day 1", &[4, 0, 2]).into_string();
        assert_eq!(drawn.matches("class=\"fill\"").count(), 3);
        // 4 is the most: 30 high; 2 is half of it; the mean of 2 lies at 15.
        assert!(
            drawn.contains("height=\"30.0\"")
                && drawn.contains("height=\"15.0\"")
                && drawn.contains("y1=\"15.0\"")
        );
        assert!(drawn.contains("day 1: 4, 0, 2"));
        assert!(!drawn_ranks("none", &[]).into_string().contains("NaN"));
    }
}
