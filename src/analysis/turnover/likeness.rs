//! Weights of years by how like they are to this one.

use crate::column::stored::WarmthBefore;
use crate::math::analogs;
use crate::math::quantiles::mean;

/// Weights of the years, adding up to 1: the nearer the air of the last month and of the two months before it was to this year's, in
/// standard deviations of the years, the more. `None` where this year's is not known, or that of a year.
pub(super) fn likeness(now: &WarmthBefore, years: &[WarmthBefore]) -> Option<Vec<f64>> {
    let parts = |of: &WarmthBefore| Some([of.month_degc?, of.earlier_degc?]);
    let now = parts(now)?;
    let years: Vec<[f64; 2]> = years.iter().map(parts).collect::<Option<_>>()?;
    let mut squares = vec![0.0; years.len()];
    for (part, now) in now.iter().enumerate() {
        let values: Vec<f64> = years.iter().map(|year| year[part]).collect();
        let middle = mean(&values)?;
        let variance = mean(&values.iter().map(|v| (v - middle).powi(2)).collect::<Vec<f64>>())?;
        if variance <= 0.0 {
            return None;
        }
        for (square, value) in squares.iter_mut().zip(&values) {
            *square += (value - now).powi(2) / variance;
        }
    }
    let distances: Vec<f64> = squares.iter().map(|square| square.sqrt()).collect();
    analogs::weights(&distances)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn warmth(year: i32, month_degc: f64, earlier_degc: f64) -> WarmthBefore {
        WarmthBefore {
            year,
            month_degc: Some(month_degc),
            earlier_degc: Some(earlier_degc),
        }
    }

    #[test]
    fn a_year_like_this_one_counts_most_and_an_unknown_one_is_not_guessed() {
        // The third is the nearest and the first the farthest in both parts.
        let years = [
            warmth(2001, 12.0, 20.0),
            warmth(2002, 15.0, 21.0),
            warmth(2003, 18.0, 22.0),
        ];
        let weights = likeness(&warmth(2025, 17.5, 21.8), &years).unwrap();
        assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(weights[2] > weights[1] && weights[1] > weights[0], "{weights:?}");
        let unknown = WarmthBefore {
            earlier_degc: None,
            ..years[0]
        };
        assert_eq!(likeness(&unknown, &years), None);
        assert_eq!(likeness(&years[0], &[unknown]), None);
        // Years that do not differ tell nothing apart.
        assert_eq!(likeness(&years[0], &[years[1], years[1]]), None);
    }
}
