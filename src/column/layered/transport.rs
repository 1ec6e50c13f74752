//! Water that comes into layers and goes out of them, and the flow up or down that follows.

use super::grid::Grid;
use super::state::{Column, Water};
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Largest share of a layer that leaves it in one substep.
const MOST_LEAVES: f64 = 0.5;

/// Sums begin with this.
const NOTHING: Water = Water {
    temp_degc: 0.0,
    oxygen_mg_l: 0.0,
    river_frac: 0.0,
};

/// Water into a layer (positive), or out of it (negative, with the layer's own water).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerSource {
    /// Layer.
    pub layer: usize,
    /// Volume in the whole step, m3.
    pub volume_m3: f64,
    /// What comes in; of no account where water goes out.
    pub water: Water,
}

/// What left a lane with the water that went out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Left {
    /// Volume, m3.
    pub volume_m3: f64,
    /// Heat above water at 0 degC, J.
    pub heat_j: f64,
    /// Oxygen, g.
    pub oxygen_g: f64,
    /// River water, m3.
    pub river_m3: f64,
}

impl Left {
    fn add(&mut self, volume_m3: f64, water: Water) {
        self.volume_m3 += volume_m3;
        self.heat_j += HEAT_CAPACITY_J_M3_K * volume_m3 * water.temp_degc;
        self.oxygen_g += volume_m3 * water.oxygen_mg_l;
        self.river_m3 += volume_m3 * water.river_frac;
    }
}

/// The transport, with its working memory.
#[derive(Debug, Clone)]
pub struct Transport {
    /// Net volume into each layer, m3.
    net_m3: Vec<f64>,
    /// Water of the donor of each face before the substep.
    donor: Vec<Water>,
}

impl Transport {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Transport {
            net_m3: vec![0.0; layers],
            donor: vec![NOTHING; layers + 1],
        }
    }

    /// Lets water in and out of the layers of a lane. Layers under the surface keep their volume: what comes in at the
    /// bottom lifts what is above it through the faces, donor cell by donor cell, in as many substeps as keep a layer
    /// from giving more than half of itself; the surface rises or falls. Exact in volume, heat and what rides along.
    ///
    /// Returns what left; `None` where a layer would have to give more than it has or the surface leaves the
    /// hypsography: the lane is then not to be used.
    #[must_use]
    pub fn step<const L: usize>(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        lane: usize,
        sources: &[LayerSource],
    ) -> Option<Left> {
        self.run(grid, column, lane, sources, &mut [])
    }

    /// As [`Transport::step`], and says what went out: `taken[i]` is the mean water that source `i` took, where it takes
    /// any; of a source that comes in it is left as it was. `taken` is as long as `sources`.
    #[must_use]
    pub fn step_recording<const L: usize>(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        lane: usize,
        sources: &[LayerSource],
        taken: &mut [Water],
    ) -> bool {
        for (taken, _) in taken.iter_mut().zip(sources).filter(|(_, s)| s.volume_m3 < 0.0) {
            *taken = NOTHING;
        }
        self.run(grid, column, lane, sources, taken).is_some()
    }

    fn run<const L: usize>(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        lane: usize,
        sources: &[LayerSource],
        taken: &mut [Water],
    ) -> Option<Left> {
        let top = column.top[lane];
        // A layer from which a river drew water on its way, or that rounding left short, is filled up again.
        for (layer, net_m3) in self.net_m3.iter_mut().enumerate() {
            *net_m3 = if layer < top {
                column.volume_m3[layer][lane] - grid.full_volume_m3(layer)
            } else {
                0.0
            };
        }
        for source in sources {
            // A layer above the surface cannot give or take: the surface layer stands for it.
            self.net_m3[source.layer.min(top)] += source.volume_m3;
        }
        let count = self.substeps(column, lane, sources);
        if count == 0 {
            return None;
        }
        let mut left = Left::default();
        for _ in 0..count {
            self.substep(column, lane, sources, (1.0 / count as f64, &mut left), taken);
        }
        column.settle_surface(grid, lane).then_some(left)
    }

    /// How many substeps keep every layer from losing too much; 0 where none would.
    fn substeps<const L: usize>(&self, column: &Column<L>, lane: usize, sources: &[LayerSource]) -> usize {
        let mut most: f64 = 0.0;
        let mut up_m3 = 0.0;
        for layer in 0..=column.top[lane] {
            let volume_m3 = column.volume_m3[layer][lane];
            let taken_m3: f64 = sources
                .iter()
                .filter(|s| s.layer.min(column.top[lane]) == layer && s.volume_m3 < 0.0)
                .map(|s| -s.volume_m3)
                .sum();
            let down_m3 = f64::max(-up_m3, 0.0);
            up_m3 += self.net_m3[layer];
            let through_m3 = if layer == column.top[lane] {
                0.0
            } else {
                up_m3.max(0.0)
            };
            most = most.max((taken_m3 + down_m3 + through_m3) / volume_m3);
        }
        let count = (most / MOST_LEAVES).ceil().max(1.0);
        // More than this many substeps means that the lake is emptied within the step.
        if count.is_finite() && count <= 10_000.0 {
            count as usize
        } else {
            0
        }
    }

    fn substep<const L: usize>(
        &mut self,
        column: &mut Column<L>,
        lane: usize,
        sources: &[LayerSource],
        (share, left): (f64, &mut Left),
        taken: &mut [Water],
    ) {
        let top = column.top[lane];
        // The flow up through each face; its donor is the layer that it leaves, as it was before.
        let mut up_m3 = 0.0;
        for layer in 0..top {
            up_m3 += share * self.net_m3[layer];
            self.donor[layer + 1] = column.water(if up_m3 >= 0.0 { layer } else { layer + 1 }, lane);
        }
        for source in sources.iter().filter(|s| s.volume_m3 > 0.0) {
            column.run_in(
                source.layer.min(top),
                lane,
                share * source.volume_m3,
                source.water,
            );
        }
        for source in sources.iter().filter(|s| s.volume_m3 < 0.0) {
            let layer = source.layer.min(top);
            left.add(-share * source.volume_m3, column.water(layer, lane));
            column.volume_m3[layer][lane] += share * source.volume_m3;
        }
        for (taken, source) in taken.iter_mut().zip(sources).filter(|(_, s)| s.volume_m3 < 0.0) {
            let water = column.water(source.layer.min(top), lane);
            taken.temp_degc += share * water.temp_degc;
            taken.oxygen_mg_l += share * water.oxygen_mg_l;
            taken.river_frac += share * water.river_frac;
        }
        let mut up_m3 = 0.0;
        for layer in 0..top {
            up_m3 += share * self.net_m3[layer];
            let (from, to) = if up_m3 >= 0.0 {
                (layer, layer + 1)
            } else {
                (layer + 1, layer)
            };
            take_out(column, from, lane, up_m3.abs(), self.donor[layer + 1]);
            column.run_in(to, lane, up_m3.abs(), self.donor[layer + 1]);
        }
    }
}

/// Takes water of a known kind out of a layer.
fn take_out<const L: usize>(column: &mut Column<L>, layer: usize, lane: usize, volume_m3: f64, water: Water) {
    column.run_in(layer, lane, -volume_m3, water);
}
