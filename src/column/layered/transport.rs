//! Water that comes into layers and goes out of them, and the flow up or down that follows.

use super::grid::Grid;
use super::state::{Column, Water};
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Largest share of a layer that leaves it in one substep.
const MOST_LEAVES: f64 = 0.5;

/// Largest share of the surface layer by which the surface falls in one part of a step: what is left of it is water yet.
const MOST_SINKS: f64 = 0.95;
/// Least part of a step in which a falling surface is followed.
const LEAST_PART: f64 = 1e-4;

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
    #[inline]
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
    /// What sources brought to each layer less what they took, within a substep; nothing between.
    gained: Vec<Contents>,
    /// What sources take from each layer, m3.
    taken_m3: Vec<f64>,
}

impl Transport {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Transport {
            net_m3: vec![0.0; layers],
            gained: vec![[0.0; 4]; layers],
            taken_m3: vec![0.0; layers],
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
        let mut left = Left::default();
        // Where the surface falls by more than a layer the step goes in parts, and the surface layer is merged between
        // them: it cannot give more than it has.
        let sinks_m3 = -sources.iter().map(|s| s.volume_m3).sum::<f64>();
        let mut remaining = 1.0;
        while remaining > 0.0 {
            let held_m3 = column.volume_m3[column.top[lane]][lane];
            let part = if sinks_m3 * remaining > MOST_SINKS * held_m3 {
                MOST_LEAVES * held_m3 / sinks_m3
            } else {
                remaining
            };
            // So small a part of a lake that is left is none; not a number neither.
            if part.is_nan() || part <= LEAST_PART {
                return None;
            }
            self.find_net(grid, column, lane, (sources, part));
            let count = self.substeps(column, lane);
            if count == 0 {
                return None;
            }
            let mut whole_m3 = 0.0;
            for _ in 0..count {
                let share = part / count as f64;
                whole_m3 = self.substep(column, lane, sources, (share, part, &mut left), taken);
            }
            if !column.settle_surface_of(grid, lane, whole_m3) {
                return None;
            }
            remaining -= part;
        }
        Some(left)
    }

    /// What each layer gains, and what is taken from it, in a part of the step.
    fn find_net<const L: usize>(
        &mut self,
        grid: &Grid,
        column: &Column<L>,
        lane: usize,
        (sources, part): (&[LayerSource], f64),
    ) {
        let top = column.top[lane];
        // A layer from which a river drew water on its way, or that rounding left short, is filled up again.
        for (layer, net_m3) in self.net_m3.iter_mut().enumerate() {
            *net_m3 = if layer < top {
                column.volume_m3[layer][lane] - grid.full_volume_m3(layer)
            } else {
                0.0
            };
        }
        self.taken_m3.fill(0.0);
        for source in sources {
            // A layer above the surface cannot give or take: the surface layer stands for it.
            let layer = source.layer.min(top);
            self.net_m3[layer] += part * source.volume_m3;
            self.taken_m3[layer] += part * f64::max(-source.volume_m3, 0.0);
        }
    }

    /// How many substeps keep every layer from losing too much; 0 where none would.
    fn substeps<const L: usize>(&self, column: &Column<L>, lane: usize) -> usize {
        let top = column.top[lane];
        let mut most: f64 = 0.0;
        let mut up_m3 = 0.0;
        for layer in 0..=top {
            let down_m3 = f64::max(-up_m3, 0.0);
            up_m3 += self.net_m3[layer];
            let through_m3 = if layer == top { 0.0 } else { up_m3.max(0.0) };
            let leaving_m3 = self.taken_m3[layer] + down_m3 + through_m3;
            let volume_m3 = column.volume_m3[layer][lane];
            // The division is for layers that give more than any before; not a number counts too.
            let most_m3 = most * volume_m3;
            if leaving_m3.is_nan() || most_m3.is_nan() || leaving_m3 > most_m3 {
                most = leaving_m3 / volume_m3;
                if most.is_nan() {
                    return 0;
                }
            }
        }
        let count = (most / MOST_LEAVES).ceil().max(1.0);
        // More than this many substeps means that the lake is emptied within the step.
        if count.is_finite() && count <= 10_000.0 {
            count as usize
        } else {
            0
        }
    }

    /// One substep, a share of the step within a part of it; returns the volume of the lane after it, m3.
    fn substep<const L: usize>(
        &mut self,
        column: &mut Column<L>,
        lane: usize,
        sources: &[LayerSource],
        (share, part, left): (f64, f64, &mut Left),
        taken: &mut [Water],
    ) -> f64 {
        let top = column.top[lane];
        for source in sources.iter().filter(|s| s.volume_m3 > 0.0) {
            let gained = &mut self.gained[source.layer.min(top)];
            *gained = sum(*gained, contents(share * source.volume_m3, source.water));
        }
        for (i, source) in sources.iter().enumerate().filter(|(_, s)| s.volume_m3 < 0.0) {
            let layer = source.layer.min(top);
            let water = self.with_gains(column, layer, lane);
            left.add(-share * source.volume_m3, water);
            self.gained[layer] = sum(self.gained[layer], contents(share * source.volume_m3, water));
            if let Some(taken) = taken.get_mut(i) {
                taken.temp_degc += share * water.temp_degc;
                taken.oxygen_mg_l += share * water.oxygen_mg_l;
                taken.river_frac += share * water.river_frac;
            }
        }
        let whole_m3 = self.lift(column, lane, share / part);
        for source in sources {
            self.gained[source.layer.min(top)] = [0.0; 4];
        }
        whole_m3
    }

    /// The water of a layer with what its sources have brought so far.
    fn with_gains<const L: usize>(&self, column: &Column<L>, layer: usize, lane: usize) -> Water {
        let (water, gained) = (column.water(layer, lane), self.gained[layer]);
        if gained == [0.0; 4] {
            return water;
        }
        let all = sum(contents(column.volume_m3[layer][lane], water), gained);
        if all[0] > 0.0 { mean(all) } else { water }
    }

    /// Gives the layers what they gained and moves the flow through the faces, each with the water that its donor had
    /// before; returns the volume of the lane, m3.
    fn lift<const L: usize>(&self, column: &mut Column<L>, lane: usize, share: f64) -> f64 {
        let top = column.top[lane];
        let mut whole_m3 = 0.0;
        let mut up_m3 = 0.0;
        let mut from_below = [0.0; 4];
        let mut water = column.water(0, lane);
        for layer in 0..=top {
            let above = column.water((layer + 1).min(top), lane);
            up_m3 += if layer < top {
                share * self.net_m3[layer]
            } else {
                -up_m3
            };
            let upward = contents(up_m3, if up_m3 >= 0.0 { water } else { above });
            let gained = self.gained[layer];
            let held_m3 = column.volume_m3[layer][lane];
            if up_m3 == 0.0 && from_below[0] == 0.0 && gained == [0.0; 4] {
                whole_m3 += held_m3;
            } else {
                let net: Contents = std::array::from_fn(|i| gained[i] + (from_below[i] - upward[i]));
                let all = sum(contents(held_m3, water), net);
                if all[0] > 0.0 {
                    column.set(layer, lane, mean(all));
                }
                column.volume_m3[layer][lane] = all[0];
                whole_m3 += all[0];
            }
            (from_below, water) = (upward, above);
        }
        whole_m3
    }
}

/// Volume of some water and what rides along: m3, m3 degC, g, m3.
type Contents = [f64; 4];

#[inline(always)]
fn contents(volume_m3: f64, water: Water) -> Contents {
    [
        volume_m3,
        volume_m3 * water.temp_degc,
        volume_m3 * water.oxygen_mg_l,
        volume_m3 * water.river_frac,
    ]
}

#[inline(always)]
fn sum(a: Contents, b: Contents) -> Contents {
    std::array::from_fn(|i| a[i] + b[i])
}

#[inline(always)]
fn mean([volume_m3, warmth, oxygen_g, river_m3]: Contents) -> Water {
    let per_m3 = 1.0 / volume_m3;
    Water {
        temp_degc: warmth * per_m3,
        oxygen_mg_l: oxygen_g * per_m3,
        river_frac: river_m3 * per_m3,
    }
}
