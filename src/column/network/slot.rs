//! What comes into and goes out of one column in a step.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::column::layered::{Lanes, LayerFlows, Water, any};

/// Where water goes that is taken out of a single layer of a single lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Route {
    /// Straight out.
    Direct,
    /// Into the closed water of a column.
    Closed(usize),
}

/// Water taken out of a layer of a lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Taken {
    pub layer: usize,
    pub lane: usize,
    /// Not negative, m3.
    pub volume_m3: f64,
    pub route: Route,
}

/// What comes into and goes out of one column.
#[derive(Debug, Clone)]
pub(super) struct Slot<const L: usize> {
    pub flows: LayerFlows<L>,
    /// What is taken out but through outlets and faces.
    pub taken: Vec<Taken>,
    /// What outlets take by layer of the column, m3.
    pub outlet_m3: Vec<Lanes<L>>,
    /// Net volume by layer of the common grid, m3: for the choice of layers at the face. Empty in a lake of one column.
    pub net_m3: Vec<Lanes<L>>,
    /// Flow through its face toward the lake by layer of the common grid, m3.
    pub face_m3: Vec<Lanes<L>>,
    /// The same in all; its sign says which column gives. Until its own turn a column gathers here what crosses the faces
    /// behind it.
    pub face_sum_m3: Lanes<L>,
    pub done: [bool; L],
}

impl<const L: usize> Slot<L> {
    /// For a column of a number of layers, out of `common` of the common grid; 0 of them in a lake of one column.
    pub fn new(layers: usize, common: usize) -> Slot<L> {
        Slot {
            flows: LayerFlows::new(layers),
            // Straight flows and closed reaches of all lanes; more would be asked for once.
            taken: Vec::with_capacity(16 * L),
            outlet_m3: vec![[0.0; L]; layers],
            net_m3: vec![[0.0; L]; common],
            face_m3: vec![[0.0; L]; common],
            face_sum_m3: [0.0; L],
            done: [false; L],
        }
    }

    /// Counts water into a layer of the common grid for the choice of layers at the face.
    #[inline]
    pub fn count(&mut self, layer: usize, lane: usize, volume_m3: f64) {
        if let Some(net_m3) = self.net_m3.get_mut(layer) {
            net_m3[lane] += volume_m3;
        }
    }

    /// Water that comes into a layer of a lane.
    pub fn push_in(
        &mut self,
        (layer, first_layer): (usize, usize),
        lane: usize,
        (volume_m3, water): (f64, Water),
    ) {
        self.count(layer + first_layer, lane, volume_m3);
        self.flows.add(layer, lane, volume_m3, water);
    }

    /// Water that goes out of a layer of a lane.
    pub fn push_out(&mut self, taken: Taken, first_layer: usize) {
        self.count(taken.layer + first_layer, taken.lane, -taken.volume_m3);
        // What goes out is the layer's own.
        let none = Water {
            temp_degc: 0.0,
            oxygen_mg_l: 0.0,
            river_frac: 0.0,
        };
        self.flows.add(taken.layer, taken.lane, -taken.volume_m3, none);
        self.taken.push(taken);
    }

    /// Adds what outlets take to what goes out.
    pub fn push_outlets(&mut self, first_layer: usize) {
        for (layer, outlet_m3) in self.outlet_m3.iter().enumerate() {
            if !any(outlet_m3) {
                continue;
            }
            self.flows.take_row(layer, outlet_m3);
            if let Some(net_m3) = self.net_m3.get_mut(layer + first_layer) {
                for lane in 0..L {
                    net_m3[lane] -= outlet_m3[lane];
                }
            }
        }
    }

    /// Ready for the next step.
    pub fn clear(&mut self) {
        self.flows.clear();
        self.taken.clear();
        self.outlet_m3.fill([0.0; L]);
        self.net_m3.fill([0.0; L]);
        self.face_m3.fill([0.0; L]);
        self.face_sum_m3 = [0.0; L];
        self.done = [false; L];
    }
}
