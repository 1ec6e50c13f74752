//! Rows of a weather table that its source drew straight over a gap, sunlight through the nights and rain through dry hours.

use crate::lake::WeatherWhat;

/// Fewest rows that follow each other on one line (project choice: measured sunlight is never straight for so long).
const FEWEST: usize = 6;
/// Longest step of a table that is looked at, s: over a day light may well rise straight.
const LONGEST_STEP_S: f64 = 3.0 * 3600.0;
/// How far off the line a row may lie, as a share of the sunlight: what is left of the figures' rounding.
const ROUNDING: f64 = 1e-9;

/// Whether each row lies within a line of sunlight that rises or falls by the same figure for six rows at least. None does
/// in tables of longer steps than 3 h.
pub(super) fn drawn_rows(sunlight: &[Option<f64>], step_s: f64) -> Vec<bool> {
    let mut drawn = vec![false; sunlight.len()];
    if step_s > LONGEST_STEP_S {
        return drawn;
    }
    let is_straight = |i: usize| match sunlight[i - 1..=i + 1] {
        [Some(a), Some(b), Some(c)] => a != b && (a - 2.0 * b + c).abs() <= ROUNDING * b.abs(),
        _ => false,
    };
    let mut first = 1;
    while first + 1 < sunlight.len() {
        let run = (first..sunlight.len() - 1)
            .take_while(|i| is_straight(*i))
            .count();
        if run >= FEWEST {
            drawn[first..first + run].fill(true);
        }
        first += run + 1;
    }
    drawn
}

/// Mends a column in its drawn rows. Sunlight is that of the same time of day before and after them, straight between the two;
/// rain and snow are none, as nothing is known of them; the rest stays as it was drawn.
pub(super) fn mend_drawn(
    what: WeatherWhat,
    values: &[Option<f64>],
    drawn: &[bool],
    a_day: usize,
) -> Vec<Option<f64>> {
    let known = |i: usize| if drawn[i] { None } else { values[i] };
    let sunlight = |i: usize| {
        let before = (1..=i / a_day).find_map(|days| Some((days, known(i - days * a_day)?)));
        let after =
            (1..=(values.len() - 1 - i) / a_day).find_map(|days| Some((days, known(i + days * a_day)?)));
        match (before, after) {
            (Some((back, a)), Some((ahead, b))) => Some(a + (b - a) * back as f64 / (back + ahead) as f64),
            (one, other) => one.or(other).map(|(_, value)| value),
        }
    };
    let mended = |(i, value): (usize, &Option<f64>)| match what {
        _ if !drawn[i] => *value,
        WeatherWhat::Shortwave => sunlight(i),
        WeatherWhat::Precipitation | WeatherWhat::Snowfall => Some(0.0),
        _ => *value,
    };
    values.iter().enumerate().map(mended).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three days of hours: sun from 6 to 18 h as a parabola, and a line drawn from the first evening to the third noon.
    fn light() -> Vec<Option<f64>> {
        let sun = |hour: usize| (36.0 - (hour as f64 - 12.0).powi(2)).max(0.0);
        let of = |i: usize| match i {
            20..60 => 5.0 + (i - 20) as f64 * 0.5,
            _ => sun(i % 24),
        };
        (0..72).map(|i| Some(of(i))).collect()
    }

    #[test]
    fn a_line_through_the_night_is_found_and_a_day_is_not() {
        let drawn = drawn_rows(&light(), 3600.0);
        assert!(drawn[21..59].iter().all(|d| *d));
        assert!(!drawn[..20].contains(&true) && !drawn[60..].contains(&true));
        assert!(!drawn_rows(&light(), 24.0 * 3600.0).contains(&true));
        // A night without light is straight and was not drawn.
        assert!(!drawn_rows(&[Some(0.0); 30], 3600.0).contains(&true));
    }

    #[test]
    fn sunlight_is_mended_from_its_neighbours_and_rain_is_not_known() {
        let (light, drawn) = (light(), drawn_rows(&light(), 3600.0));
        let mended = mend_drawn(WeatherWhat::Shortwave, &light, &drawn, 24);
        // Noon of the second day: the first day's, as the third one's is 36 too; midnight is dark.
        assert_eq!(
            (mended[36], mended[24], mended[40]),
            (Some(36.0), Some(0.0), Some(20.0))
        );
        let rain = mend_drawn(WeatherWhat::Precipitation, &[Some(1.0); 72], &drawn, 24);
        assert_eq!((rain[10], rain[30]), (Some(1.0), Some(0.0)));
        let air = mend_drawn(WeatherWhat::AirTemp, &[Some(1.0); 72], &drawn, 24);
        assert_eq!(air[30], Some(1.0));
    }
}
