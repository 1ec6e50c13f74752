//! Water that comes into the layers of a column and goes out of them in one step.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::state::{Lanes, Water};

/// What rides along with water: temperature, oxygen, river water.
pub(super) const RIDERS: usize = 3;

/// What one layer gets and gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LayerFlow<const L: usize> {
    /// Volume that comes in, m3.
    pub in_m3: Lanes<L>,
    /// Volume times temperature, oxygen and river water of it.
    pub carried: [Lanes<L>; RIDERS],
    /// Volume that goes out, with the layer's own water, m3; not negative.
    pub out_m3: Lanes<L>,
}

impl<const L: usize> LayerFlow<L> {
    const NOTHING: LayerFlow<L> = LayerFlow {
        in_m3: [0.0; L],
        carried: [[0.0; L]; RIDERS],
        out_m3: [0.0; L],
    };
}

/// What comes into and goes out of the layers of a column in one step, all lanes beside each other.
#[derive(Debug, Clone)]
pub struct LayerFlows<const L: usize> {
    rows: Vec<LayerFlow<L>>,
    /// First layer with a flow, and the one after the last.
    span: (usize, usize),
}

impl<const L: usize> LayerFlows<L> {
    /// None, for a number of layers.
    pub fn new(layers: usize) -> Self {
        LayerFlows {
            rows: vec![LayerFlow::NOTHING; layers],
            span: (layers, 0),
        }
    }

    /// Takes all flows away again.
    pub fn clear(&mut self) {
        if let Some(rows) = self.rows.get_mut(self.span.0..self.span.1) {
            rows.fill(LayerFlow::NOTHING);
        }
        self.span = (self.rows.len(), 0);
    }

    #[inline]
    fn reach(&mut self, layer: usize) -> &mut LayerFlow<L> {
        self.span = (self.span.0.min(layer), self.span.1.max(layer + 1));
        &mut self.rows[layer]
    }

    /// Water into a layer of a lane (positive), or out of it (negative, with the layer's own water), in the whole step. A
    /// layer above the surface stands for the surface layer.
    #[inline]
    pub fn add(&mut self, layer: usize, lane: usize, volume_m3: f64, water: Water) {
        let row = self.reach(layer);
        if volume_m3 > 0.0 {
            row.in_m3[lane] += volume_m3;
            row.carried[0][lane] += volume_m3 * water.temp_degc;
            row.carried[1][lane] += volume_m3 * water.oxygen_mg_l;
            row.carried[2][lane] += volume_m3 * water.river_frac;
        } else {
            row.out_m3[lane] -= volume_m3;
        }
    }

    /// Takes water out of a layer of every lane, m3; not negative.
    #[inline]
    pub fn take_row(&mut self, layer: usize, volume_m3: &Lanes<L>) {
        let row = self.reach(layer);
        for lane in 0..L {
            row.out_m3[lane] += volume_m3[lane];
        }
    }

    /// Lets water of given temperature, oxygen and river water into a layer of every lane, m3; not negative.
    #[inline]
    pub fn give_row(&mut self, layer: usize, volume_m3: &Lanes<L>, water: [&Lanes<L>; RIDERS]) {
        let row = self.reach(layer);
        for lane in 0..L {
            row.in_m3[lane] += volume_m3[lane];
        }
        for (carried, water) in row.carried.iter_mut().zip(water) {
            for lane in 0..L {
                carried[lane] += volume_m3[lane] * water[lane];
            }
        }
    }

    /// What comes in less what goes out, each lane, m3.
    pub fn net_m3(&self) -> Lanes<L> {
        let mut net_m3 = [0.0; L];
        for row in self.rows.get(self.span.0..self.span.1).unwrap_or_default() {
            for lane in 0..L {
                net_m3[lane] += row.in_m3[lane] - row.out_m3[lane];
            }
        }
        net_m3
    }

    /// First layer with a flow, and the one after the last.
    pub(super) fn span(&self) -> (usize, usize) {
        self.span
    }

    #[inline]
    pub(super) fn row(&self, layer: usize) -> &LayerFlow<L> {
        &self.rows[layer]
    }

    /// What is above the surface layer of a lane goes to it. `false` where nothing was.
    pub(super) fn fold(&mut self, top: usize, lane: usize) -> bool {
        let mut any = false;
        for layer in top + 1..self.span.1 {
            let row = self.rows[layer];
            let (gets, gives) = (row.in_m3[lane], row.out_m3[lane]);
            if gets == 0.0 && gives == 0.0 {
                continue;
            }
            any = true;
            let into = self.reach(top);
            into.in_m3[lane] += gets;
            into.out_m3[lane] += gives;
            for (into, carried) in into.carried.iter_mut().zip(row.carried) {
                into[lane] += carried[lane];
            }
            let row = &mut self.rows[layer];
            row.in_m3[lane] = 0.0;
            row.out_m3[lane] = 0.0;
            row.carried.iter_mut().for_each(|carried| carried[lane] = 0.0);
        }
        any
    }
}
