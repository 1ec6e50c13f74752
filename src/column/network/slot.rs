//! What comes into and goes out of one column in a step.

use crate::column::layered::{LayerSource, Water};

/// Where water that a source takes goes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Route {
    /// It comes in.
    Into,
    /// Out through an outlet.
    Outlet,
    /// Straight out.
    Direct,
    /// Into another column, same layer of the common grid.
    Column(usize),
    /// Into the closed water of a column.
    Closed(usize),
}

/// What comes into and goes out of one column.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    pub sources: Vec<LayerSource>,
    pub routes: Vec<Route>,
    pub taken: Vec<Water>,
    /// Net volume by layer of the common grid, m3: for the choice of layers at the face.
    pub net_m3: Vec<f64>,
    /// Flow through its face toward the lake by layer of the common grid, m3.
    pub face_m3: Vec<f64>,
    /// The same in all; its sign says which column gives.
    pub face_sum_m3: f64,
    pub done: bool,
}

impl Slot {
    /// For a number of layers of the common grid, with room for `most` sources.
    pub fn new(layers: usize, most: usize) -> Slot {
        Slot {
            sources: Vec::with_capacity(most),
            routes: Vec::with_capacity(most),
            taken: Vec::with_capacity(most),
            net_m3: vec![0.0; layers],
            face_m3: vec![0.0; layers],
            face_sum_m3: 0.0,
            done: false,
        }
    }

    /// A source that comes in.
    pub fn push_in(&mut self, source: LayerSource, first_layer: usize) {
        self.net_m3[source.layer + first_layer] += source.volume_m3;
        self.push(source, Route::Into);
    }

    /// A source with where its water goes.
    pub fn push(&mut self, source: LayerSource, route: Route) {
        self.sources.push(source);
        self.routes.push(route);
    }

    /// Ready for the next lane.
    pub fn clear(&mut self) {
        self.sources.clear();
        self.routes.clear();
        self.net_m3.fill(0.0);
        self.face_m3.fill(0.0);
        self.face_sum_m3 = 0.0;
        self.done = false;
    }
}
