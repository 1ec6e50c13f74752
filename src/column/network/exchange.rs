//! Buoyant exchange between two columns: water of different density runs past each other through their face.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::face::{substep_s, take_off_mean};
use super::pair::Pair;
use crate::column::layered::{Column, Lanes};
use crate::math::wide::wide;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::water::water_density_kg_m3;

/// Density by which pressure becomes motion, kg/m3.
const REFERENCE_KG_M3: f64 = 1000.0;
/// Share of `sqrt(g' h)` that an exchange flow runs at: Benjamin 1968, a current without loss in half the depth.
pub const FRONT_FROUDE: f64 = 0.5;
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
    /// Inverse volumes of both columns, 1/m3; 0 of empty layers.
    per_m3: [Vec<Lanes<L>>; 2],
    /// Share of each layer of both columns that is replaced in a second: through the face, from below, from above.
    shares: [Vec<[Lanes<L>; 3]>; 2],
    /// Factor on [`FRONT_FROUDE`], lane by lane.
    speed_frac: Lanes<L>,
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
            per_m3: [empty(), empty()],
            shares: std::array::from_fn(|_| vec![[[0.0; L]; 3]; layers]),
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
        let span = (pair.face.first_layer, pair.highest());
        let mut left_s = pair.open.map(|open| if open { step_s } else { 0.0 });
        let mut at_first = [0.0; L];
        wide(
            #[inline(always)]
            || self.prepare(pair, span),
        );
        for count in 0..MOST_SUBSTEPS {
            if left_s.iter().all(|s| *s <= 0.0) {
                break;
            }
            let rates = wide(
                #[inline(always)]
                || {
                    self.find_flow(pair, span);
                    (self.replaced_per_s(span), self.eased_per_s(pair, span))
                },
            );
            if count == 0 {
                at_first = self.one_way_m3s(span);
            }
            let last = count + 1 == MOST_SUBSTEPS;
            let moved_s = substep_s(rates, &mut left_s, last);
            wide(
                #[inline(always)]
                || self.carry(pair, span, moved_s),
            );
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

    /// What stays through the step: areas and volumes.
    #[inline(always)]
    fn prepare(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        self.find_area(pair, (first, highest));
        for side in 0..2 {
            let (column, offset) = (&pair.columns[side], pair.places[side].first_layer);
            for layer in first..=highest {
                let (volume_m3, into) = (&column.volume_m3[layer - offset], &mut self.per_m3[side][layer]);
                for lane in 0..L {
                    into[lane] = if volume_m3[lane] > 0.0 {
                        1.0 / volume_m3[lane]
                    } else {
                        0.0
                    };
                }
            }
        }
    }

    /// The flow of this moment.
    #[inline(always)]
    fn find_flow(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        for side in 0..2 {
            let (column, offset) = (&pair.columns[side], pair.places[side].first_layer);
            for layer in first..=highest {
                let temp = &column.temp_degc[layer - offset];
                let into = &mut self.density[side][layer];
                for lane in 0..L {
                    into[lane] = water_density_kg_m3(temp[lane]);
                }
            }
        }
        let depth_m = self.integrate(pair, (first, highest));
        let mut greatest = [0.0; L];
        for layer in first..=highest {
            let [far, near] = [&self.density[0][layer], &self.density[1][layer]];
            let (area_m2, pressures) = (&self.area_m2[layer], &self.pressure_m2_s2[layer]);
            let into = &mut self.flow_m3s[layer];
            let mut apart = [0.0; L];
            for lane in 0..L {
                apart[lane] = (far[lane] - near[lane]).abs();
            }
            for lane in 0..L {
                apart[lane] = if area_m2[lane] > 0.0 { apart[lane] } else { 0.0 };
            }
            for lane in 0..L {
                greatest[lane] = f64::max(greatest[lane], apart[lane]);
            }
            for lane in 0..L {
                let speed_m_s = (2.0 * pressures[lane].abs()).sqrt().copysign(pressures[lane]);
                into[lane] = self.speed_frac[lane] * FRONT_FROUDE * speed_m_s;
            }
        }
        take_off_mean(
            &mut self.flow_m3s[first..=highest],
            &self.area_m2[first..=highest],
        );
        let mut fastest = [0.0; L];
        for flow in &self.flow_m3s[first..=highest] {
            for lane in 0..L {
                fastest[lane] = f64::max(fastest[lane], flow[lane].abs());
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
            let (flow, area_m2) = (&mut self.flow_m3s[layer], &self.area_m2[layer]);
            for lane in 0..L {
                flow[lane] *= scale[lane] * area_m2[lane];
            }
        }
        self.close(pair, (first, highest));
    }

    /// Open area by layer; 0 in closed lanes and above the surface.
    #[inline(always)]
    fn find_area(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        let offset = pair.places[1].first_layer;
        let faces_m = pair.places[1].grid.face_elevation_m();
        let level_m = &pair.columns[1].surface_elevation_m;
        let (top, open) = (pair.tops(), pair.open.map(|open| f64::from(u8::from(open))));
        for layer in first..=highest {
            let (lower_m, upper_m) = (faces_m[layer - offset], faces_m[layer - offset + 1]);
            let (width_m, number) = (pair.face.width_m[layer], layer as f64);
            let into = &mut self.area_m2[layer];
            for lane in 0..L {
                let upper_m = if number == top[lane] {
                    level_m[lane]
                } else {
                    upper_m
                };
                let is_open = (open[lane] > 0.0) & (number <= top[lane]);
                into[lane] = if is_open {
                    width_m * (upper_m - lower_m)
                } else {
                    0.0
                };
            }
        }
    }

    /// Pressure at the middle of each layer, less its mean over the face. Gives the depth of the open face, m.
    #[inline(always)]
    fn integrate(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) -> Lanes<L> {
        let (mut above, mut depth_m) = ([0.0; L], [0.0; L]);
        for layer in (first..=highest).rev() {
            let width_m = pair.face.width_m[layer];
            let per_m = if width_m > 0.0 { 1.0 / width_m } else { 0.0 };
            let [far, near] = [&self.density[0][layer], &self.density[1][layer]];
            let (area_m2, into) = (&self.area_m2[layer], &mut self.pressure_m2_s2[layer]);
            for lane in 0..L {
                let thick_m = area_m2[lane] * per_m;
                let half = 0.5 * GRAVITY_M_S2 / REFERENCE_KG_M3 * (far[lane] - near[lane]) * thick_m;
                into[lane] = above[lane] + half;
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
    #[inline(always)]
    fn close(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) {
        let (mut up, top) = ([0.0; L], pair.tops());
        for layer in first..=highest {
            self.up_m3s[layer] = up;
            let (flow, number) = (&mut self.flow_m3s[layer], layer as f64);
            for lane in 0..L {
                flow[lane] = if number == top[lane] {
                    -up[lane]
                } else {
                    flow[lane]
                };
                up[lane] += flow[lane];
            }
        }
        self.up_m3s[highest + 1] = [0.0; L];
    }

    /// Finds what share of each layer is replaced in a second; gives the largest.
    #[inline(always)]
    fn replaced_per_s(&mut self, (first, highest): (usize, usize)) -> Lanes<L> {
        let mut most = [0.0; L];
        for layer in first..=highest {
            let (flow, lower, upper) = (
                &self.flow_m3s[layer],
                &self.up_m3s[layer],
                &self.up_m3s[layer + 1],
            );
            for (side, sign) in [(0, -1.0), (1, 1.0)] {
                let (per_m3, shares) = (&self.per_m3[side][layer], &mut self.shares[side][layer]);
                for (share, runs_in) in shares
                    .iter_mut()
                    .zip([(flow, sign), (lower, sign), (upper, -sign)])
                {
                    let (flow, sign) = runs_in;
                    for lane in 0..L {
                        share[lane] = f64::max(sign * flow[lane], 0.0) * per_m3[lane];
                    }
                }
                for lane in 0..L {
                    let all = shares[0][lane] + shares[1][lane] + shares[2][lane];
                    most[lane] = f64::max(most[lane], all);
                }
            }
        }
        most
    }

    /// Rate at which the flow takes away the pressure that drives it, by projection: `-(p', dp'/dt)/(p', p')`, 1/s;
    /// 0 where it does not.
    #[inline(always)]
    fn eased_per_s(&mut self, pair: &Pair<'_, L>, (first, highest): (usize, usize)) -> Lanes<L> {
        let mut above = [0.0; L];
        for layer in (first..=highest).rev() {
            let per_m = 1.0 / pair.face.width_m[layer].max(f64::MIN_POSITIVE);
            let (below, above_it) = (layer.max(first + 1) - 1, (layer + 1).min(highest));
            let rates: [Lanes<L>; 2] = [0, 1].map(
                #[inline(always)]
                |side: usize| {
                    let (own, other) = (&self.density[side], &self.density[1 - side][layer]);
                    let runs_in = [other, &own[below], &own[above_it]];
                    gain(&self.shares[side][layer], &own[layer], runs_in)
                },
            );
            let (area_m2, into) = (&self.area_m2[layer], &mut self.change[layer]);
            for lane in 0..L {
                let apart = rates[0][lane] - rates[1][lane];
                let half = 0.5 * GRAVITY_M_S2 / REFERENCE_KG_M3 * apart * (area_m2[lane] * per_m);
                into[lane] = above[lane] + half;
                above[lane] += 2.0 * half;
            }
        }
        take_off_mean(&mut self.change[first..=highest], &self.area_m2[first..=highest]);
        let (mut both, mut own) = ([0.0; L], [0.0; L]);
        for layer in first..=highest {
            let (area_m2, pressure) = (&self.area_m2[layer], &self.pressure_m2_s2[layer]);
            let change = &self.change[layer];
            for lane in 0..L {
                let weighted = area_m2[lane] * pressure[lane];
                both[lane] += weighted * change[lane];
                own[lane] += weighted * pressure[lane];
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
    #[inline(always)]
    fn carry(&mut self, pair: &mut Pair<'_, L>, (first, highest): (usize, usize), moved_s: Lanes<L>) {
        let offsets = [0, 1].map(|side: usize| pair.places[side].first_layer);
        let [far, near] = &mut pair.columns;
        let moves = moved_s.map(|moved_s| if moved_s > 0.0 { 1.0 } else { 0.0 });
        // What was in the layer below, by field and side, before it was given what it gained.
        let mut below = [[[0.0; L]; 2]; 3];
        for layer in first..=highest {
            let over = (layer + 1).min(highest);
            for field in 0..3 {
                let fields = [field_of(far, field), field_of(near, field)];
                let held = [0, 1].map(|side: usize| fields[side][layer - offsets[side]]);
                let above = [0, 1].map(|side: usize| fields[side][over - offsets[side]]);
                for (side, values) in fields.into_iter().enumerate() {
                    let own = &held[side];
                    let runs_in = [&held[1 - side], &below[field][side], &above[side]];
                    let gain = gain(&self.shares[side][layer], own, runs_in);
                    let mut after = [0.0; L];
                    for lane in 0..L {
                        after[lane] = own[lane] + moved_s[lane] * gain[lane];
                    }
                    let values = &mut values[layer - offsets[side]];
                    for lane in 0..L {
                        values[lane] = if moves[lane] > 0.0 { after[lane] } else { own[lane] };
                    }
                }
                below[field] = held;
            }
        }
    }
}

/// What a layer gains of a field in a second, by the shares that are replaced and what runs in: through the face, from below,
/// from above.
#[inline(always)]
fn gain<const L: usize>(shares: &[Lanes<L>; 3], own: &Lanes<L>, runs_in: [&Lanes<L>; 3]) -> Lanes<L> {
    let mut gain = [0.0; L];
    for lane in 0..L {
        gain[lane] = shares[0][lane] * (runs_in[0][lane] - own[lane])
            + shares[1][lane] * (runs_in[1][lane] - own[lane])
            + shares[2][lane] * (runs_in[2][lane] - own[lane]);
    }
    gain
}

#[inline(always)]
fn field_of<const L: usize>(column: &mut Column<L>, field: usize) -> &mut [Lanes<L>] {
    match field {
        0 => &mut column.temp_degc,
        1 => &mut column.oxygen_mg_l,
        _ => &mut column.river_frac,
    }
}
