//! Climatology test (QARTOD test 5): is the value usual for the season? Never a failure.

use super::range::Span;
use crate::math::quantiles::quantile_nearest_rank;
use crate::series::Flag;

/// Days of a piece of the year for which a span is kept.
const PIECE_DAYS: usize = 5;
/// Pieces of a year.
const PIECES: usize = 73;
/// Pieces on either side that count as the same season: 31 days or so in all.
const REACH: usize = 3;

/// Usual span by season.
#[derive(Debug, Clone, PartialEq)]
pub struct Seasons {
    /// Span of each piece of five days; `None` where the record is too thin. Shape `[73]`.
    spans: Vec<Option<Span>>,
}

impl Seasons {
    /// The quantiles `low_frac` and `high_frac` of the values within about 15 days of each piece of
    /// the year, over all years, by the nearest rank. `day` is the day of the year from 0. A season
    /// with fewer than `at_least` values gets none.
    pub fn of(day: &[usize], values: &[f64], quantiles: (f64, f64), at_least: usize) -> Seasons {
        let mut pieces: Vec<Vec<f64>> = vec![Vec::new(); PIECES];
        for (&day, &value) in day.iter().zip(values) {
            pieces[piece(day)].push(value);
        }
        let mut season: Vec<f64> = Vec::new();
        let mut span = |middle: usize| {
            season.clear();
            for offset in 0..=2 * REACH {
                season.extend(&pieces[(middle + PIECES + offset - REACH) % PIECES]);
            }
            if season.len() < at_least {
                return None;
            }
            Some(Span {
                low: quantile_nearest_rank(&mut season, quantiles.0)?,
                high: quantile_nearest_rank(&mut season, quantiles.1)?,
            })
        };
        Seasons {
            spans: (0..PIECES).map(&mut span).collect(),
        }
    }

    /// The usual span on a day of the year, from 0.
    pub fn span(&self, day: usize) -> Option<Span> {
        self.spans[piece(day)]
    }
}

/// 3 where a value lies outside the season's span by more than `margin` (in the unit of the values),
/// 1 inside, 2 where the season has no span, 9 where there is no value.
///
/// Source: QARTOD water level manual v2.1, test 5. `day` is the day of the year from 0, as long as
/// `values`.
pub fn check_climatology(day: &[usize], values: &[Option<f64>], seasons: &Seasons, margin: f64) -> Vec<Flag> {
    let flag = |(day, value): (&usize, &Option<f64>)| match (value, seasons.span(*day)) {
        (None, _) => Flag::Missing,
        (Some(_), None) => Flag::NotEvaluated,
        (Some(value), Some(span)) => {
            let wide = Span {
                low: span.low - margin,
                high: span.high + margin,
            };
            if wide.holds(*value) {
                Flag::Pass
            } else {
                Flag::Suspect
            }
        }
    };
    day.iter().zip(values).map(flag).collect()
}

fn piece(day: usize) -> usize {
    (day / PIECE_DAYS).min(PIECES - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warm_day_is_usual_in_july_and_suspect_in_january() {
        // Two years of a wave between 5 (January) and 25 (July).
        let day: Vec<usize> = (0..730).map(|i| i % 365).collect();
        let wave = |d: &usize| 15.0 - 10.0 * (std::f64::consts::TAU * *d as f64 / 365.0).cos();
        let values: Vec<f64> = day.iter().map(wave).collect();
        let seasons = Seasons::of(&day, &values, (0.005, 0.995), 30);
        let flags = check_climatology(&[190, 10, 10], &[Some(25.0), Some(25.0), None], &seasons, 2.0);
        assert_eq!(flags, [Flag::Pass, Flag::Suspect, Flag::Missing]);
    }

    #[test]
    fn the_turn_of_the_year_parts_no_season() {
        // Values only in December: the first days of January are the same season.
        let day: Vec<usize> = (350..365).collect();
        let seasons = Seasons::of(&day, &[7.0; 15], (0.0, 1.0), 15);
        assert_eq!(seasons.span(0), Some(Span { low: 7.0, high: 7.0 }));
        assert_eq!(seasons.span(180), None);
    }

    #[test]
    fn a_thin_record_says_nothing() {
        let seasons = Seasons::of(&[100; 5], &[1.0; 5], (0.0, 1.0), 6);
        assert_eq!(
            check_climatology(&[100], &[Some(99.0)], &seasons, 0.0),
            [Flag::NotEvaluated]
        );
    }
}
