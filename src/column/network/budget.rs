//! What the network holds and what has come and gone, term by term.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::column::layered::{Column, Lanes, Water};
use crate::math::wide::wide;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// An amount of water with what it carries, lane by lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Content<const L: usize> {
    /// Volume, m3.
    pub volume_m3: Lanes<L>,
    /// Volume times temperature, m3 degC; [`Content::heat_j`] has it as heat.
    pub warmth: Lanes<L>,
    /// Dissolved oxygen, m3 mg/L, which is g.
    pub oxygen: Lanes<L>,
    /// River water, m3.
    pub river_m3: Lanes<L>,
}

impl<const L: usize> Default for Content<L> {
    fn default() -> Self {
        Content {
            volume_m3: [0.0; L],
            warmth: [0.0; L],
            oxygen: [0.0; L],
            river_m3: [0.0; L],
        }
    }
}

impl<const L: usize> Content<L> {
    /// Adds water to a lane; takes it away where the volume is negative.
    pub fn add(&mut self, lane: usize, volume_m3: f64, water: Water) {
        self.volume_m3[lane] += volume_m3;
        self.warmth[lane] += volume_m3 * water.temp_degc;
        self.oxygen[lane] += volume_m3 * water.oxygen_mg_l;
        self.river_m3[lane] += volume_m3 * water.river_frac;
    }

    /// Takes away water of given temperature, oxygen and river water, each lane its own.
    pub(super) fn take_row(&mut self, volume_m3: &Lanes<L>, water: [&Lanes<L>; 3]) {
        let [temp_degc, oxygen_mg_l, river_frac] = water;
        for lane in 0..L {
            self.volume_m3[lane] -= volume_m3[lane];
            self.warmth[lane] -= volume_m3[lane] * temp_degc[lane];
            self.oxygen[lane] -= volume_m3[lane] * oxygen_mg_l[lane];
            self.river_m3[lane] -= volume_m3[lane] * river_frac[lane];
        }
    }

    /// What a column holds in the given lanes; nothing in the others.
    pub fn of_column(column: &Column<L>, lanes: [bool; L]) -> Self {
        wide(
            #[inline(always)]
            || Content::summed(column, lanes),
        )
    }

    #[inline(always)]
    fn summed(column: &Column<L>, lanes: [bool; L]) -> Self {
        let highest = column.top.iter().max().map_or(0, |top| top + 1);
        let (mut volume_m3, mut warmth) = ([0.0; L], [0.0; L]);
        let (mut oxygen, mut river_m3) = ([0.0; L], [0.0; L]);
        // Layers above the surface of a lane are empty. All sums in one walk: one alone would wait for its own last row.
        let riders = column
            .temp_degc
            .iter()
            .zip(&column.oxygen_mg_l)
            .zip(&column.river_frac);
        for (held_m3, ((temp_degc, oxygen_mg_l), river_frac)) in
            column.volume_m3.iter().zip(riders).take(highest)
        {
            for lane in 0..L {
                volume_m3[lane] += held_m3[lane];
                warmth[lane] += held_m3[lane] * temp_degc[lane];
                oxygen[lane] += held_m3[lane] * oxygen_mg_l[lane];
                river_m3[lane] += held_m3[lane] * river_frac[lane];
            }
        }
        let mut content = Content {
            volume_m3,
            warmth,
            oxygen,
            river_m3,
        };
        for part in content.parts_mut() {
            for lane in 0..L {
                part[lane] = if lanes[lane] { part[lane] } else { 0.0 };
            }
        }
        content
    }

    /// Adds a multiple of another amount.
    pub fn add_times(&mut self, other: &Content<L>, factor: f64) {
        for (own, other) in self.parts_mut().into_iter().zip(other.parts()) {
            for lane in 0..L {
                own[lane] += factor * other[lane];
            }
        }
    }

    /// Heat above 0 degC, J.
    pub fn heat_j(&self, lane: usize) -> f64 {
        HEAT_CAPACITY_J_M3_K * self.warmth[lane]
    }

    /// Volume, warmth, oxygen, river water.
    pub fn parts(&self) -> [&Lanes<L>; 4] {
        [&self.volume_m3, &self.warmth, &self.oxygen, &self.river_m3]
    }

    #[inline(always)]
    fn parts_mut(&mut self) -> [&mut Lanes<L>; 4] {
        [
            &mut self.volume_m3,
            &mut self.warmth,
            &mut self.oxygen,
            &mut self.river_m3,
        ]
    }
}

/// The books since the network was filled; every term positive into the lake.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Budget<const L: usize> {
    /// What there was at the start.
    pub start: Content<L>,
    /// Through rivers.
    pub rivers: Content<L>,
    /// Straight into columns: rain, evaporation, unexplained flow.
    pub direct: Content<L>,
    /// Through outlets.
    pub outlets: Content<L>,
    /// By what the columns do in themselves: heat through the surface, oxygen used and taken up.
    pub physics: Content<L>,
    /// Through the surface of closed water.
    pub closed_surface: Content<L>,
    /// By observations that corrected the columns.
    pub analysis: Content<L>,
    /// Of that none came or went: turned into closed water, less what was split off again.
    pub closed: Content<L>,
}

impl<const L: usize> Budget<L> {
    /// Books that begin with what there is.
    pub fn new(start: Content<L>) -> Self {
        let none = Content::default();
        Budget {
            start,
            rivers: none,
            direct: none,
            outlets: none,
            physics: none,
            closed_surface: none,
            analysis: none,
            closed: none,
        }
    }

    /// What there is less what the books say there should be.
    pub fn residual(&self, now: &Content<L>) -> Content<L> {
        let mut left = *now;
        let terms = [
            &self.start,
            &self.rivers,
            &self.direct,
            &self.outlets,
            &self.physics,
            &self.closed_surface,
            &self.analysis,
        ];
        for term in terms {
            left.add_times(term, -1.0);
        }
        left
    }

    /// Greatest residual of any lane over what that lane holds: volume, warmth, oxygen, river water. River water is
    /// held against the volume.
    pub fn relative_residual(&self, now: &Content<L>) -> [f64; 4] {
        let left = self.residual(now);
        let scale = [&now.volume_m3, &now.warmth, &now.oxygen, &now.volume_m3];
        std::array::from_fn(|i| {
            let of = |lane: usize| (left.parts()[i][lane] / scale[i][lane]).abs();
            (0..L).map(of).fold(0.0, f64::max)
        })
    }
}
