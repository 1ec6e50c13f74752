//! Closed reaches: too shallow or too small to be a column of their own; their water is one with their neighbour's surface.

use super::budget::Content;
use super::layout::{Layout, Place};
use crate::column::layered::{Column, Grid, Water};
use crate::lake::hypsography::{CLOSED_DEPTH_M, CLOSED_VOLUME_FRAC};

/// The water of a closed reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Volume, m3.
    pub volume_m3: f64,
    /// What it is.
    pub water: Water,
}

impl Held {
    /// Runs water in.
    pub fn run_in(&mut self, volume_m3: f64, water: Water) {
        let after_m3 = self.volume_m3 + volume_m3;
        if after_m3 > 0.0 {
            let mixed = |held: f64, new: f64| (held * self.volume_m3 + new * volume_m3) / after_m3;
            self.water = Water {
                temp_degc: mixed(self.water.temp_degc, water.temp_degc),
                oxygen_mg_l: mixed(self.water.oxygen_mg_l, water.oxygen_mg_l),
                river_frac: mixed(self.water.river_frac, water.river_frac),
            };
        }
        self.volume_m3 = after_m3;
    }
}

/// Which columns are closed, and what water they hold, `[column][lane]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Closed<const L: usize> {
    open: Vec<[bool; L]>,
    held: Vec<[Held; L]>,
}

impl<const L: usize> Closed<L> {
    /// All columns open.
    pub fn none(columns: usize, water: Water) -> Self {
        let nothing = Held {
            volume_m3: 0.0,
            water,
        };
        Closed {
            open: vec![[true; L]; columns],
            held: vec![[nothing; L]; columns],
        }
    }

    /// Of what is open and held, shape `[column][lane]`. `None` unless both are of one length and the first is open.
    pub fn of(open: Vec<[bool; L]>, held: Vec<[Held; L]>) -> Option<Self> {
        let fits = open.len() == held.len() && open.first() == Some(&[true; L]);
        fits.then_some(Closed { open, held })
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.open.len()
    }

    /// Whether a column is open in a lane.
    pub fn is_open(&self, column: usize, lane: usize) -> bool {
        self.open[column][lane]
    }

    /// Which lanes of a column are open.
    pub fn open(&self, column: usize) -> [bool; L] {
        self.open[column]
    }

    /// The water of a closed column.
    pub fn held(&self, column: usize, lane: usize) -> Held {
        self.held[column][lane]
    }

    pub(super) fn held_mut(&mut self, column: usize, lane: usize) -> &mut Held {
        &mut self.held[column][lane]
    }

    /// The nearest open column toward the lake: a column itself, where it is open.
    pub fn host(&self, layout: &Layout, mut column: usize, lane: usize) -> usize {
        while !self.open[column][lane] {
            match &layout.places[column].toward_lake {
                Some((next, _)) => column = *next,
                None => break,
            }
        }
        column
    }

    /// Closes and opens the columns of a lane for a lake whose level is nowhere under `lowest_m` in the coming step.
    /// What is closed goes into the neighbour's books with volume, heat and all; what opens begins with the water that
    /// was held. Ice goes to the neighbour and comes back at the thickness that it has there. Nothing comes or goes.
    pub(super) fn settle(
        &mut self,
        layout: &Layout,
        columns: &mut [Column<L>],
        lane: usize,
        (lowest_m, moved): (f64, &mut Content<L>),
    ) {
        let lake_m3 = layout.whole.volume_m3(lowest_m);
        for column in 1..layout.places.len() {
            let place = &layout.places[column];
            let next = place
                .toward_lake
                .as_ref()
                .is_none_or(|(next, _)| self.open[*next][lane]);
            let wanted = next && may_be_open(place, lowest_m, lake_m3);
            match (self.open[column][lane], wanted) {
                (true, false) => {
                    let next = place.toward_lake.as_ref().map_or(0, |(next, _)| *next);
                    let host = self.host(layout, next, lane);
                    share_ice(columns, lane, (column, host), 1.0);
                    self.close((column, place), &mut columns[column], lane, moved);
                }
                (false, true) => {
                    let host = self.host(layout, column, lane);
                    let [main, own] = match columns.get_disjoint_mut([0, column]) {
                        Ok(both) => both,
                        Err(_) => continue,
                    };
                    self.split_off(
                        (column, place),
                        (main, own),
                        (lane, layout.places[0].first_layer),
                        moved,
                    );
                    let level_m = columns[host].surface_elevation_m[lane];
                    let own_m2 = place.grid.surface_area_m2(level_m).unwrap_or(0.0);
                    let both_m2 = own_m2 + columns[host].surface_area_m2[lane];
                    share_ice(columns, lane, (host, column), own_m2 / both_m2);
                }
                _ => {}
            }
        }
    }

    fn close(
        &mut self,
        (column, place): (usize, &Place),
        held: &mut Column<L>,
        lane: usize,
        moved: &mut Content<L>,
    ) {
        let water = held.water(0, lane);
        let mut gathered = Held {
            volume_m3: 0.0,
            water,
        };
        for layer in 0..=held.top[lane] {
            gathered.run_in(held.volume_m3[layer][lane], held.water(layer, lane));
        }
        moved.add(lane, gathered.volume_m3, gathered.water);
        self.held[column][lane] = gathered;
        self.open[column][lane] = false;
        stand_in(&place.grid, held, lane, gathered.water);
    }

    fn split_off(
        &mut self,
        (column, place): (usize, &Place),
        (main, own): (&Column<L>, &mut Column<L>),
        (lane, main_first): (usize, usize),
        moved: &mut Content<L>,
    ) {
        let held = self.held[column][lane];
        let mut top = (main.top[lane] + main_first).saturating_sub(place.first_layer);
        while top > 0 && held.volume_m3 <= place.grid.volume_below_m3(top) {
            top -= 1;
        }
        for layer in 0..own.layers() {
            own.volume_m3[layer][lane] = match layer.cmp(&top) {
                std::cmp::Ordering::Less => place.grid.full_volume_m3(layer),
                std::cmp::Ordering::Equal => held.volume_m3 - place.grid.volume_below_m3(top),
                std::cmp::Ordering::Greater => 0.0,
            };
            own.set(layer, lane, held.water);
        }
        own.top[lane] = top;
        own.ice_m3[lane] = 0.0;
        own.snow_m3[lane] = 0.0;
        own.surface_elevation_m[lane] = main.surface_elevation_m[lane];
        moved.add(lane, -held.volume_m3, held.water);
        self.held[column][lane].volume_m3 = 0.0;
        self.open[column][lane] = true;
    }
}

/// Moves a share of ice and snow from one column to another.
fn share_ice<const L: usize>(
    columns: &mut [Column<L>],
    lane: usize,
    (from, to): (usize, usize),
    share_frac: f64,
) {
    let Ok([from, to]) = columns.get_disjoint_mut([from, to]) else {
        return;
    };
    for (from, to) in [
        (&mut from.ice_m3[lane], &mut to.ice_m3[lane]),
        (&mut from.snow_m3[lane], &mut to.snow_m3[lane]),
    ] {
        let moved_m3 = share_frac * *from;
        *from -= moved_m3;
        *to += moved_m3;
    }
}

/// Whether a column whose neighbour is open may be one of its own with the lake at a level and of a volume: at least 2 m deep and 0.1 % of
/// the lake (common practice, no source), and its lowest layer full enough to hold a surface.
pub(super) fn may_be_open(place: &Place, level_m: f64, lake_m3: Option<f64>) -> bool {
    let deep = level_m - place.bed_elevation_m >= CLOSED_DEPTH_M;
    let surface = level_m - place.grid.face_elevation_m()[0] > 0.75 * place.grid.thickness_m(0);
    let large = match (place.grid.volume_m3(level_m), lake_m3) {
        (Some(own_m3), Some(lake_m3)) => own_m3 > 0.0 && own_m3 >= CLOSED_VOLUME_FRAC * lake_m3,
        _ => false,
    };
    deep && surface && large
}

/// Half a column of water in the lane of a closed reach, so that what is done to all lanes at once finds layers and a
/// surface there; it belongs to no budget, and is made anew before each step.
pub(super) fn stand_in<const L: usize>(grid: &Grid, column: &mut Column<L>, lane: usize, water: Water) {
    let (layers, top) = (grid.layers(), grid.layers() / 2);
    let part = if layers == 1 { 0.5 } else { 1.0 };
    for layer in 0..layers {
        let full_m3 = if layer <= top {
            grid.full_volume_m3(layer)
        } else {
            0.0
        };
        column.volume_m3[layer][lane] = part * full_m3;
        column.set(layer, lane, water);
    }
    column.top[lane] = top;
    column.ice_m3[lane] = 0.0;
    column.snow_m3[lane] = 0.0;
    let faces_m = grid.face_elevation_m();
    column.surface_elevation_m[lane] = faces_m[0] + part * (faces_m[top + 1] - faces_m[0]);
}
