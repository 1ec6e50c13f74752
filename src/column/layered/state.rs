//! What a column holds: volume, temperature, oxygen and river water by layer, and where its surface is.

use super::grid::Grid;
use super::ice::{MELT_J_M3, MELT_SNOW_J_M3};
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// One value a lane.
pub type Lanes<const L: usize> = [f64; L];

/// Whether a mask of 1.0 and 0.0, or any other row, has a lane that is not 0: by bits, which goes faster than by numbers.
#[inline(always)]
pub fn any<const L: usize>(lanes: &Lanes<L>) -> bool {
    lanes.iter().fold(0, |bits, lane| bits | lane.to_bits()) != 0
}

/// Shares of a full layer between which the thickness of the surface layer stays.
const SURFACE_LAYER: (f64, f64) = (0.5, 1.5);

/// Temperature, oxygen and share of river water of some water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Temperature, degC.
    pub temp_degc: f64,
    /// Dissolved oxygen, mg/L.
    pub oxygen_mg_l: f64,
    /// Share of it that came in by a river, 0 to 1.
    pub river_frac: f64,
}

/// A column, `L` lanes beside each other. Arrays by layer have shape `[layer][lane]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Column<const L: usize> {
    /// Volume, m3; 0 above the surface.
    pub volume_m3: Vec<Lanes<L>>,
    /// Temperature, degC.
    pub temp_degc: Vec<Lanes<L>>,
    /// Dissolved oxygen, mg/L.
    pub oxygen_mg_l: Vec<Lanes<L>>,
    /// Share of river water, 0 to 1.
    pub river_frac: Vec<Lanes<L>>,
    /// The layer that holds the surface.
    pub top: [usize; L],
    /// Elevation of the surface, m.
    pub surface_elevation_m: Lanes<L>,
    /// Area of the surface, m2.
    pub surface_area_m2: Lanes<L>,
    /// Ice, m3; its heat is below that of water at 0 degC, its water stays counted to the layers.
    pub ice_m3: Lanes<L>,
    /// Snow on it, m3 of water, counted like the ice.
    pub snow_m3: Lanes<L>,
}

impl<const L: usize> Column<L> {
    /// A column with its surface at a level for each lane, filled by what `water` gives for the elevation of a
    /// layer's middle. `None` where a level is outside the grid.
    pub fn filled(grid: &Grid, level_m: Lanes<L>, water: impl Fn(f64, usize) -> Water) -> Option<Column<L>> {
        let layers = grid.layers();
        let empty = vec![[0.0; L]; layers];
        let mut column = Column {
            volume_m3: empty.clone(),
            temp_degc: empty.clone(),
            oxygen_mg_l: empty.clone(),
            river_frac: empty,
            top: [0; L],
            surface_elevation_m: level_m,
            surface_area_m2: [0.0; L],
            ice_m3: [0.0; L],
            snow_m3: [0.0; L],
        };
        for (lane, level_m) in level_m.into_iter().enumerate() {
            let top = surface_layer(grid, level_m)?;
            let whole_m3 = grid.volume_m3(level_m)?;
            column.top[lane] = top;
            column.surface_area_m2[lane] = grid.surface_area_m2(level_m)?;
            for layer in 0..layers {
                let middle_m = if layer < top {
                    0.5 * (grid.face_elevation_m()[layer] + grid.face_elevation_m()[layer + 1])
                } else {
                    0.5 * (grid.face_elevation_m()[top] + level_m)
                };
                column.volume_m3[layer][lane] = match layer.cmp(&top) {
                    std::cmp::Ordering::Less => grid.full_volume_m3(layer),
                    std::cmp::Ordering::Equal => whole_m3 - grid.volume_below_m3(top),
                    std::cmp::Ordering::Greater => 0.0,
                };
                column.set(layer, lane, water(middle_m, lane));
            }
        }
        Some(column)
    }

    /// Number of layers of the grid.
    pub fn layers(&self) -> usize {
        self.volume_m3.len()
    }

    /// The lowest and the highest of the layers that hold the surface of a lane.
    #[inline(always)]
    pub(super) fn tops(&self) -> (usize, usize) {
        let (mut lowest, mut highest) = (self.top[0], self.top[0]);
        for top in self.top {
            lowest = lowest.min(top);
            highest = highest.max(top);
        }
        (lowest, highest)
    }

    /// The water of a layer.
    #[inline]
    pub fn water(&self, layer: usize, lane: usize) -> Water {
        Water {
            temp_degc: self.temp_degc[layer][lane],
            oxygen_mg_l: self.oxygen_mg_l[layer][lane],
            river_frac: self.river_frac[layer][lane],
        }
    }

    /// Sets the water of a layer.
    #[inline]
    pub fn set(&mut self, layer: usize, lane: usize, water: Water) {
        self.temp_degc[layer][lane] = water.temp_degc;
        self.oxygen_mg_l[layer][lane] = water.oxygen_mg_l;
        self.river_frac[layer][lane] = water.river_frac;
    }

    /// Runs water into a layer: volumes add up, heat and what rides along with them.
    #[inline]
    pub fn run_in(&mut self, layer: usize, lane: usize, volume_m3: f64, water: Water) {
        let held_m3 = self.volume_m3[layer][lane];
        let after_m3 = held_m3 + volume_m3;
        if after_m3 > 0.0 {
            let mixed = |held: f64, new: f64| (held * held_m3 + new * volume_m3) / after_m3;
            let held = self.water(layer, lane);
            self.set(
                layer,
                lane,
                Water {
                    temp_degc: mixed(held.temp_degc, water.temp_degc),
                    oxygen_mg_l: mixed(held.oxygen_mg_l, water.oxygen_mg_l),
                    river_frac: mixed(held.river_frac, water.river_frac),
                },
            );
        }
        self.volume_m3[layer][lane] = after_m3;
    }

    /// Volume of a lane, m3.
    pub fn whole_m3(&self, lane: usize) -> f64 {
        self.volume_m3.iter().map(|row| row[lane]).sum()
    }

    /// Volume of every lane, m3.
    pub fn whole_lanes_m3(&self) -> Lanes<L> {
        let mut whole_m3 = [0.0; L];
        for row in &self.volume_m3 {
            for lane in 0..L {
                whole_m3[lane] += row[lane];
            }
        }
        whole_m3
    }

    /// Heat of a lane above water at 0 degC, J; ice is below it by what it takes to melt.
    pub fn heat_j(&self, lane: usize) -> f64 {
        let sum: f64 = self
            .volume_m3
            .iter()
            .zip(&self.temp_degc)
            .map(|(v, t)| v[lane] * t[lane])
            .sum();
        HEAT_CAPACITY_J_M3_K * sum - MELT_J_M3 * self.ice_m3[lane] - MELT_SNOW_J_M3 * self.snow_m3[lane]
    }

    /// Dissolved oxygen of a lane, g.
    pub fn oxygen_g(&self, lane: usize) -> f64 {
        self.volume_m3
            .iter()
            .zip(&self.oxygen_mg_l)
            .map(|(v, c)| v[lane] * c[lane])
            .sum()
    }

    /// River water of a lane, m3.
    pub fn river_m3(&self, lane: usize) -> f64 {
        self.volume_m3
            .iter()
            .zip(&self.river_frac)
            .map(|(v, r)| v[lane] * r[lane])
            .sum()
    }

    /// Elevation of the middle of a layer of a lane, m.
    #[inline]
    pub fn middle_m(&self, grid: &Grid, layer: usize, lane: usize) -> f64 {
        let faces = grid.face_elevation_m();
        let upper_m = if layer == self.top[lane] {
            self.surface_elevation_m[lane]
        } else {
            faces[layer + 1]
        };
        0.5 * (faces[layer] + upper_m)
    }

    /// Puts the surface where the volume of a lane has it, and merges or splits the surface layer so that it stays
    /// between half and one and a half of a full one. Volume, heat and what rides along are kept. `false` where the
    /// hypsography does not have that volume, and then nothing has changed.
    #[must_use]
    pub fn settle_surface(&mut self, grid: &Grid, lane: usize) -> bool {
        self.settle_surface_of(grid, lane, self.whole_m3(lane))
    }

    /// [`Column::settle_surface`] of a lane whose volume is known.
    pub(super) fn settle_surface_of(&mut self, grid: &Grid, lane: usize, whole_m3: f64) -> bool {
        let Some(level_m) = grid.surface_elevation_m(whole_m3) else {
            return false;
        };
        let Some(wanted) = surface_layer_from(grid, level_m, self.top[lane]) else {
            return false;
        };
        self.put_surface(grid, lane, level_m, wanted);
        true
    }

    /// Puts the surface of a lane at a level and into layer `wanted`, whatever its thickness then is: for columns that
    /// are to have their surfaces in the same layer. Volume, heat and what rides along are kept. A level outside the
    /// hypsography leaves the area as it was.
    pub fn put_surface(&mut self, grid: &Grid, lane: usize, level_m: f64, wanted: usize) {
        self.surface_elevation_m[lane] = level_m;
        if let Some(area_m2) = grid.surface_area_m2(level_m) {
            self.surface_area_m2[lane] = area_m2;
        }
        while self.top[lane] > wanted {
            let top = self.top[lane];
            let (volume_m3, water) = (self.volume_m3[top][lane], self.water(top, lane));
            self.run_in(top - 1, lane, volume_m3, water);
            self.volume_m3[top][lane] = 0.0;
            self.top[lane] = top - 1;
            self.copy_up(lane);
        }
        while self.top[lane] < wanted {
            let top = self.top[lane];
            let spill_m3 = self.volume_m3[top][lane] - grid.full_volume_m3(top);
            self.volume_m3[top][lane] -= spill_m3;
            self.volume_m3[top + 1][lane] = spill_m3;
            self.set(top + 1, lane, self.water(top, lane));
            self.top[lane] = top + 1;
        }
    }

    /// Gives the empty layers above the surface the water of the surface, so that they say nothing of their own.
    fn copy_up(&mut self, lane: usize) {
        let water = self.water(self.top[lane], lane);
        for layer in self.top[lane] + 1..self.layers() {
            self.set(layer, lane, water);
        }
    }
}

/// The layer that holds a level, thin layers counted to the one below; `None` outside the grid.
fn surface_layer(grid: &Grid, level_m: f64) -> Option<usize> {
    let faces = grid.face_elevation_m();
    let above = faces.iter().position(|face| *face >= level_m)?;
    surface_layer_from(grid, level_m, above.checked_sub(1)?)
}

/// The surface layer of a level: the one held as long as it is neither too thin nor too thick; `None` where the
/// level is below the grid or far above.
fn surface_layer_from(grid: &Grid, level_m: f64, held: usize) -> Option<usize> {
    let faces = grid.face_elevation_m();
    let mut top = held;
    while top > 0 && level_m - faces[top] < SURFACE_LAYER.0 * grid.thickness_m(top) {
        top -= 1;
    }
    while level_m - faces[top] > SURFACE_LAYER.1 * grid.thickness_m(top) {
        top += 1;
        if top == grid.layers() {
            return None;
        }
    }
    (level_m > faces[top]).then_some(top)
}
