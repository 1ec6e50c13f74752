//! What the network holds and what has come and gone, term by term.

use crate::column::layered::{Column, Lanes, Water};
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

    /// Adds what a lane of a column holds.
    pub fn add_column(&mut self, lane: usize, column: &Column<L>) {
        for layer in 0..=column.top[lane] {
            self.add(lane, column.volume_m3[layer][lane], column.water(layer, lane));
        }
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
