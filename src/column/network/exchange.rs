//! Buoyant exchange between two columns: water of different density runs past each other through their face.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::face::{relaxed_s, take_off_mean};
use super::layout::{Face, Place};
use crate::column::layered::{Column, Lanes};
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::water::water_density_kg_m3;

/// Density by which pressure becomes motion, kg/m3.
const REFERENCE_KG_M3: f64 = 1000.0;
/// Share of `sqrt(g' h)` that an exchange flow runs at: Benjamin 1968, a current without loss in half the depth.
pub const FRONT_FROUDE: f64 = 0.5;
/// Largest share of a layer that a substep replaces.
const MOST_REPLACED: f64 = 0.25;
/// Most substeps of one step; the last takes what time is left, by relaxation.
const MOST_SUBSTEPS: usize = 200;

/// What one face does now, `[layer of the common grid][lane]`.
#[derive(Debug, Clone)]
pub struct Exchange<const L: usize> {
    /// Flow through the face, m3/s, positive from the column away from the lake to the one toward it.
    flow_m3s: Vec<Lanes<L>>,
    /// Pressure of the first column over that of the second, over the reference density, m2/s2; its mean is taken off.
    pressure_m2_s2: Vec<Lanes<L>>,
    /// How fast the flow changes that pressure.
    change: Vec<Lanes<L>>,
    /// Open area of the face, m2.
    area_m2: Vec<Lanes<L>>,
    /// Densities of both columns, kg/m3.
    density: [Vec<Lanes<L>>; 2],
    /// Flow up through the lower face of each layer, m3/s; one more than layers. Of the second column; the first
    /// has the opposite.
    up_m3s: Vec<Lanes<L>>,
    /// One field of a column as it was.
    before: [Vec<Lanes<L>>; 2],
    /// Factor on [`FRONT_FROUDE`], lane by lane.
    speed_frac: Lanes<L>,
}

/// The two columns of a face: the one away from the lake, then the one toward it.
pub struct Pair<'a, const L: usize> {
    /// Columns.
    pub columns: [&'a mut Column<L>; 2],
    /// Their places.
    pub places: [&'a Place; 2],
    /// The face between them.
    pub face: &'a Face,
    /// Which lanes exchange.
    pub open: [bool; L],
}

impl<const L: usize> Pair<'_, L> {
    /// The highest surface layer of any open lane, of the common grid.
    fn highest(&self) -> usize {
        (0..L)
            .filter(|lane| self.open[*lane])
            .map(|lane| self.top(lane))
            .max()
            .unwrap_or(0)
    }

    /// Surface layer of a lane, of the common grid: the same in both columns.
    fn top(&self, lane: usize) -> usize {
        self.columns[0].top[lane] + self.places[0].first_layer
    }

    fn volume_m3(&self, side: usize, layer: usize) -> &Lanes<L> {
        &self.columns[side].volume_m3[layer - self.places[side].first_layer]
    }
}

impl<const L: usize> Exchange<L> {
    /// For a number of layers of the common grid.
    pub fn new(layers: usize) -> Self {
        let empty = || vec![[0.0; L]; layers];
        Exchange {
            flow_m3s: empty(),
            pressure_m2_s2: empty(),
            change: empty(),
            area_m2: empty(),
            density: [empty(), empty()],
            up_m3s: vec![[0.0; L]; layers + 1],
            before: [empty(), empty()],
            speed_frac: [1.0; L],
        }
    }

    /// Sets the factor on the speed of the exchange of each lane; 1 at the beginning.
    pub fn set_speed_frac(&mut self, speed_frac: Lanes<L>) {
        self.speed_frac = speed_frac;
    }

    /// Lets the columns of a face exchange water for `step_s`. Both have their surfaces at one level and in one layer.
    ///
    /// ```text
    /// p(z) = g/rho0 integral from z to the surface of (rho_a - rho_b),  p' = p - mean over the face
    /// u = C sign(p') sqrt(2 |p'|), less its mean over the face, |u| <= C sqrt(g' h),  C = 0.5
    /// ```
    ///
    /// g' of the greatest difference of density, h the depth over the sill. So two waters of one density each run at
    /// `0.5 sqrt(g' h)` along bed and surface (Benjamin 1968), and a thin layer at the speed of its own weight. What runs
    /// in at one layer rises or sinks within the column to where it runs out (continuity): every layer keeps its volume.
    /// Donor cells, in as many substeps as keep a layer from being replaced by more than a quarter; each substep is
    /// shortened to `(1 - exp(-x))/x`, x the share of p' that it would take away, so that the columns come to rest
    /// without a cut-off and without swinging. Substeps are counted lane by lane.
    /// Returns the flow at the beginning of the step to one side, m3/s.
    pub fn step(&mut self, pair: &mut Pair<'_, L>, step_s: f64) -> Lanes<L> {
        let (first, highest) = (pair.face.first_layer, pair.highest());
        let mut left_s = pair.open.map(|open| if open { step_s } else { 0.0 });
        let mut at_first = [0.0; L];
        for count in 0..MOST_SUBSTEPS {
            if left_s.iter().all(|s| *s <= 0.0) {
                break;
            }
            self.find_flow(pair, (first, highest));
            if count == 0 {
                at_first = self.one_way_m3s((first, highest));
            }
            let last = count + 1 == MOST_SUBSTEPS;
            let moved_s = self.substep_s(pair, (first, highest), &mut left_s, last);
            self.carry(pair, (first, highest), moved_s);
        }
        at_first
    }

    fn one_way_m3s(&self, (first, highest): (usize, usize)) -> Lanes<L> {
        let mut sum = [0.0; L];
        for flow in &self.flow_m3s[first..=highest] {
            for lane in 0..L {
                sum[lane] += 0.5 * flow[lane].abs();
            }
        }
        sum
    }

    /// The flow of this moment.
    fn find_flow(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        self.find_area(pair, (first, highest));
        for side in 0..2 {
            let (column, offset) = (&pair.columns[side], pair.places[side].first_layer);
            for layer in first..=highest {
                let temp = &column.temp_degc[layer - offset];
                for lane in 0..L {
                    self.density[side][layer][lane] = water_density_kg_m3(temp[lane]);
                }
            }
        }
        let depth_m = self.integrate(pair, (first, highest));
        let mut greatest = [0.0; L];
        for layer in first..=highest {
            for lane in 0..L {
                let apart = (self.density[0][layer][lane] - self.density[1][layer][lane]).abs();
                let counts = self.area_m2[layer][lane] > 0.0;
                greatest[lane] = if counts {
                    f64::max(greatest[lane], apart)
                } else {
                    greatest[lane]
                };
                let pressure = self.pressure_m2_s2[layer][lane];
                let speed_m_s = FRONT_FROUDE * pressure.signum() * (2.0 * pressure.abs()).sqrt();
                self.flow_m3s[layer][lane] = self.speed_frac[lane] * speed_m_s;
            }
        }
        take_off_mean(
            &mut self.flow_m3s[first..=highest],
            &self.area_m2[first..=highest],
        );
        let mut fastest = [0.0; L];
        for layer in first..=highest {
            for lane in 0..L {
                fastest[lane] = f64::max(fastest[lane], self.flow_m3s[layer][lane].abs());
            }
        }
        let mut scale = [1.0; L];
        for lane in 0..L {
            let reduced_m_s2 = GRAVITY_M_S2 * greatest[lane] / REFERENCE_KG_M3;
            let most_m_s = self.speed_frac[lane] * FRONT_FROUDE * (reduced_m_s2 * depth_m[lane]).sqrt();
            if fastest[lane] > most_m_s {
                scale[lane] = most_m_s / fastest[lane];
            }
        }
        for layer in first..=highest {
            for lane in 0..L {
                self.flow_m3s[layer][lane] *= scale[lane] * self.area_m2[layer][lane];
            }
        }
        self.close(pair, (first, highest));
    }

    /// Open area by layer; 0 in closed lanes and above the surface.
    fn find_area(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        let grid = &pair.places[1].grid;
        let offset = pair.places[1].first_layer;
        let faces_m = grid.face_elevation_m();
        for layer in first..=highest {
            for lane in 0..L {
                let top = pair.top(lane);
                let upper_m = if layer == top {
                    pair.columns[1].surface_elevation_m[lane]
                } else {
                    faces_m[layer - offset + 1]
                };
                let lower_m = faces_m[layer - offset];
                let open = pair.open[lane] && layer <= top;
                self.area_m2[layer][lane] = if open {
                    pair.face.width_m[layer] * (upper_m - lower_m)
                } else {
                    0.0
                };
            }
        }
    }

    /// Pressure at the middle of each layer, less its mean over the face. Gives the depth of the open face, m.
    fn integrate(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) -> Lanes<L> {
        let (mut above, mut depth_m) = ([0.0; L], [0.0; L]);
        for layer in (first..=highest).rev() {
            let width_m = pair.face.width_m[layer];
            for lane in 0..L {
                let thick_m = if width_m > 0.0 {
                    self.area_m2[layer][lane] / width_m
                } else {
                    0.0
                };
                let apart = self.density[0][layer][lane] - self.density[1][layer][lane];
                let half = 0.5 * GRAVITY_M_S2 / REFERENCE_KG_M3 * apart * thick_m;
                self.pressure_m2_s2[layer][lane] = above[lane] + half;
                above[lane] += 2.0 * half;
                depth_m[lane] += thick_m;
            }
        }
        take_off_mean(
            &mut self.pressure_m2_s2[first..=highest],
            &self.area_m2[first..=highest],
        );
        depth_m
    }

    /// Flow up within the second column from continuity; the rounding that is left over goes through the surface layer.
    fn close(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        let mut up = [0.0; L];
        for layer in first..=highest {
            self.up_m3s[layer] = up;
            for lane in 0..L {
                let top = pair.top(lane);
                if layer == top {
                    self.flow_m3s[layer][lane] = -up[lane];
                }
                up[lane] += self.flow_m3s[layer][lane];
            }
        }
        self.up_m3s[highest + 1] = [0.0; L];
    }

    /// How much time this substep stands for, lane by lane, after relaxation.
    fn substep_s(
        &mut self,
        pair: &Pair<'_, L>,
        (first, highest): (usize, usize),
        left_s: &mut Lanes<L>,
        last: bool,
    ) -> Lanes<L> {
        let replaced = self.replaced_per_s(pair, (first, highest));
        let eased = self.eased_per_s(pair, (first, highest));
        let mut moved_s = [0.0; L];
        for lane in 0..L {
            let parts = (left_s[lane] * replaced[lane] / MOST_REPLACED).ceil().max(1.0);
            let span_s = if last { left_s[lane] } else { left_s[lane] / parts };
            let ended = last || parts <= 1.0;
            left_s[lane] = if ended { 0.0 } else { left_s[lane] - span_s };
            let rate = if last {
                f64::max(eased[lane], replaced[lane])
            } else {
                eased[lane]
            };
            moved_s[lane] = relaxed_s(span_s, rate);
        }
        moved_s
    }

    /// Largest share of any layer that is replaced in a second.
    fn replaced_per_s(&self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) -> Lanes<L> {
        let mut most = [0.0; L];
        for layer in first..=highest {
            for side in 0..2 {
                let volume_m3 = pair.volume_m3(side, layer);
                for lane in 0..L {
                    let inflow = self.inflow_m3s(side, layer, lane);
                    let share = inflow[0] + inflow[1] + inflow[2];
                    if share > 0.0 {
                        most[lane] = f64::max(most[lane], share / volume_m3[lane]);
                    }
                }
            }
        }
        most
    }

    /// What runs into a layer: through the face, from below, from above; m3/s.
    fn inflow_m3s(&self, side: usize, layer: usize, lane: usize) -> [f64; 3] {
        let sign = if side == 1 { 1.0 } else { -1.0 };
        [
            (sign * self.flow_m3s[layer][lane]).max(0.0),
            (sign * self.up_m3s[layer][lane]).max(0.0),
            (-sign * self.up_m3s[layer + 1][lane]).max(0.0),
        ]
    }

    /// Rate at which the flow takes away the pressure that drives it, by projection: `-(p', dp'/dt)/(p', p')`, 1/s;
    /// 0 where it does not.
    fn eased_per_s(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) -> Lanes<L> {
        let mut above = [0.0; L];
        for layer in (first..=highest).rev() {
            let width_m = pair.face.width_m[layer].max(f64::MIN_POSITIVE);
            for lane in 0..L {
                let mut apart = 0.0;
                for side in 0..2 {
                    let own = &self.density[side];
                    let inflow = self.inflow_m3s(side, layer, lane);
                    let held = own[layer][lane];
                    let below = if layer > first { own[layer - 1][lane] } else { held };
                    let over = if layer < highest {
                        own[layer + 1][lane]
                    } else {
                        held
                    };
                    let gain = inflow[0] * (self.density[1 - side][layer][lane] - held)
                        + inflow[1] * (below - held)
                        + inflow[2] * (over - held);
                    let volume_m3 = pair.volume_m3(side, layer)[lane];
                    let rate = if gain != 0.0 { gain / volume_m3 } else { 0.0 };
                    apart += if side == 0 { rate } else { -rate };
                }
                let half = 0.5 * GRAVITY_M_S2 / REFERENCE_KG_M3 * apart * self.area_m2[layer][lane] / width_m;
                self.change[layer][lane] = above[lane] + half;
                above[lane] += 2.0 * half;
            }
        }
        take_off_mean(&mut self.change[first..=highest], &self.area_m2[first..=highest]);
        let (mut both, mut own) = ([0.0; L], [0.0; L]);
        for layer in first..=highest {
            for lane in 0..L {
                let weighted = self.area_m2[layer][lane] * self.pressure_m2_s2[layer][lane];
                both[lane] += weighted * self.change[layer][lane];
                own[lane] += weighted * self.pressure_m2_s2[layer][lane];
            }
        }
        let mut rate = [0.0; L];
        for lane in 0..L {
            if own[lane] > 0.0 {
                rate[lane] = (-both[lane] / own[lane]).max(0.0);
            }
        }
        rate
    }

    /// Carries temperature, oxygen and river water with the flow for `moved_s`. A lane that does not move stays as it is
    /// to the last bit.
    fn carry(&mut self, pair: &mut Pair<'_, L>, (first, highest): (usize, usize), moved_s: Lanes<L>) {
        for field in 0..3 {
            for side in 0..2 {
                let offset = pair.places[side].first_layer;
                let held = field_of(pair.columns[side], field);
                self.before[side][first..=highest].copy_from_slice(&held[first - offset..=highest - offset]);
            }
            for side in 0..2 {
                let offset = pair.places[side].first_layer;
                for layer in first..=highest {
                    let gain = self.gain(side, layer, (first, highest));
                    let column = &mut *pair.columns[side];
                    let volume_m3 = column.volume_m3[layer - offset];
                    let held = &mut field_of(column, field)[layer - offset];
                    for lane in 0..L {
                        if gain[lane] != 0.0 {
                            held[lane] += moved_s[lane] * gain[lane] / volume_m3[lane];
                        }
                    }
                }
            }
        }
    }

    /// What a layer gains of a field, times volume, in a second.
    fn gain(&self, side: usize, layer: usize, (first, highest): (usize, usize)) -> Lanes<L> {
        let own = &self.before[side];
        let (held, other) = (own[layer], self.before[1 - side][layer]);
        let below = if layer > first { own[layer - 1] } else { held };
        let over = if layer < highest { own[layer + 1] } else { held };
        let mut gain = [0.0; L];
        for lane in 0..L {
            let inflow = self.inflow_m3s(side, layer, lane);
            gain[lane] = inflow[0] * (other[lane] - held[lane])
                + inflow[1] * (below[lane] - held[lane])
                + inflow[2] * (over[lane] - held[lane]);
        }
        gain
    }
}

fn field_of<const L: usize>(column: &mut Column<L>, field: usize) -> &mut [Lanes<L>] {
    match field {
        0 => &mut column.temp_degc,
        1 => &mut column.oxygen_mg_l,
        _ => &mut column.river_frac,
    }
}
