//! Which pairs a figure is made of.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pairs::Pair;

/// Depth down to which the shallowest observation counts as the surface, m, where nothing else is asked for.
pub const SURFACE_DEPTH_M: f64 = 1.0;
/// Depth of the upper layer that has a figure of its own, m.
pub const UPPER_DEPTH_M: f64 = 5.0;

/// A part of the profiles that has its own figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// The shallowest observation of each day, if it is shallow enough.
    Surface,
    /// All observations of the upper 5 m.
    UpperFive,
    /// All observations.
    WholeProfile,
    /// Observations below the observed thermocline, of days that have one.
    BelowThermocline,
    /// All observations on days with modelled ice; they are part of the figures above as well.
    UnderIce,
}

impl Figure {
    /// All, in the order of a report.
    pub const ALL: [Figure; 5] = [
        Figure::Surface,
        Figure::UpperFive,
        Figure::WholeProfile,
        Figure::BelowThermocline,
        Figure::UnderIce,
    ];

    /// The key of it in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Figure::Surface => "surface",
            Figure::UpperFive => "upper_five",
            Figure::WholeProfile => "whole_profile",
            Figure::BelowThermocline => "below_thermocline",
            Figure::UnderIce => "under_ice",
        }
    }
}

/// Places of the pairs of `figure`. `pairs` are ordered by day and depth; `thermocline_m` are the observed ones by
/// day; the surface is the shallowest pair of a day, if not deeper than `surface_depth_m`.
pub fn places(
    figure: Figure,
    pairs: &[Pair],
    thermocline_m: &BTreeMap<NaiveDate, f64>,
    surface_depth_m: f64,
) -> Vec<usize> {
    let first_of_day = |i: usize| i == 0 || pairs[i - 1].day != pairs[i].day;
    let is_in = |i: &usize| {
        let pair = &pairs[*i];
        match figure {
            Figure::Surface => pair.depth_m <= surface_depth_m && first_of_day(*i),
            Figure::UpperFive => pair.depth_m <= UPPER_DEPTH_M,
            Figure::WholeProfile => true,
            Figure::BelowThermocline => thermocline_m
                .get(&pair.day)
                .is_some_and(|limit_m| pair.depth_m > *limit_m),
            Figure::UnderIce => pair.ice,
        }
    };
    (0..pairs.len()).filter(is_in).collect()
}

/// Days of the pairs that have no place in `figure`: without a surface value, or without a thermocline.
pub fn days_left_out(pairs: &[Pair], places: &[usize]) -> usize {
    let all: BTreeSet<NaiveDate> = pairs.iter().map(|p| p.day).collect();
    let within: BTreeSet<NaiveDate> = places.iter().map(|i| pairs[*i].day).collect();
    all.len() - within.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(day: u32, depth_m: f64, ice: bool) -> Pair {
        let day = NaiveDate::from_ymd_opt(2020, 7, day).unwrap();
        Pair {
            day,
            time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
            depth_m,
            observed: 10.0,
            modelled: 11.0,
            ice,
        }
    }

    #[test]
    fn each_figure_takes_its_depths() {
        let pairs = [
            pair(1, 0.0, false),
            pair(1, 1.0, false),
            pair(1, 8.0, false),
            pair(2, 2.0, true),
            pair(2, 8.0, true),
        ];
        let thermocline_m = BTreeMap::from([(pairs[0].day, 6.0)]);
        let of = |figure| places(figure, &pairs, &thermocline_m, SURFACE_DEPTH_M);
        // By hand: the second day begins too deep for a surface and has no thermocline.
        assert_eq!(of(Figure::Surface), [0]);
        assert_eq!(of(Figure::UpperFive), [0, 1, 3]);
        assert_eq!(of(Figure::WholeProfile), [0, 1, 2, 3, 4]);
        assert_eq!(of(Figure::BelowThermocline), [2]);
        assert_eq!(of(Figure::UnderIce), [3, 4]);
        assert_eq!(days_left_out(&pairs, &of(Figure::Surface)), 1);
        assert_eq!(days_left_out(&pairs, &of(Figure::WholeProfile)), 0);
    }
}
