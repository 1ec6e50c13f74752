//! Selective withdrawal: from which layers an outlet draws.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::limit::{LEAST_STEP_KG_M3, NOWHERE, Off, Side};
use super::state::{Column, Lanes};
use crate::math::wide::wide;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::mixing::withdrawal_weight;

/// Water that is drawn through an outlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn<const L: usize> {
    /// Elevation of the outlet's middle, m.
    pub elevation_m: f64,
    /// Flow of each lane, m3/s; not negative.
    pub flow_m3s: Lanes<L>,
    /// Angle of withdrawal, rad: pi on a free face.
    pub angle_rad: f64,
}

/// The layers that are drawn from, and the inverse of distance times difference of density at the limit of each side.
struct Reach<const L: usize> {
    first: Lanes<L>,
    last: Lanes<L>,
    per_up: Lanes<L>,
    per_down: Lanes<L>,
}

/// Column and outlet.
struct Sight<'a, const L: usize> {
    grid: &'a Grid,
    column: &'a Column<L>,
    density_kg_m3: &'a [Lanes<L>],
    outlet: Drawn<L>,
    top: Lanes<L>,
    /// The layer of the outlet, and its density.
    at: Lanes<L>,
    at_kg_m3: Lanes<L>,
    /// Z is no longer than a distance, `Z = (Q pi/theta)^(2/5) (g drho/rho)^(-1/5)`, where drho y^5 is at least this.
    least: Lanes<L>,
}

/// Adds to `into_m3s` what an outlet draws from each layer, m3/s, shape `[layer][lane]` as that of the densities, kg/m3.
///
/// Limits: to each side the distance Z at which `Q = (theta/pi) Z^3 sqrt(g drho/(rho Z))`, drho the difference of density
/// from the outlet's level to the limit. Where surface or bed is nearer it cuts the layer off, and Z is that of the
/// density there. Velocity by `(1 - y drho_y/(Z drho_Z))^2`, times the layer's volume: the section before the outlet is
/// taken as wide at each level as the column is on average (project choice). An outlet above the surface or under the
/// bed draws at the nearest level there is. Outlets add up. Source: Bohan & Grace 1973.
pub fn withdraw_m3s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    density_kg_m3: &[Lanes<L>],
    outlet: Drawn<L>,
    into_m3s: &mut [Lanes<L>],
) {
    if outlet.flow_m3s.iter().any(|flow_m3s| *flow_m3s > 0.0) {
        wide(
            #[inline(always)]
            || Sight::of(grid, column, density_kg_m3, outlet).draw(into_m3s),
        );
    }
}

impl<'a, const L: usize> Sight<'a, L> {
    #[inline(always)]
    fn of(grid: &'a Grid, column: &'a Column<L>, density_kg_m3: &'a [Lanes<L>], outlet: Drawn<L>) -> Self {
        let under = grid.face_elevation_m()[1..].partition_point(|face_m| *face_m <= outlet.elevation_m);
        let at: [usize; L] = column.top.map(|top| under.min(top));
        Sight {
            grid,
            column,
            density_kg_m3,
            outlet,
            top: column.top.map(|top| top as f64),
            at: at.map(|at| at as f64),
            at_kg_m3: std::array::from_fn(|lane| density_kg_m3[at[lane]][lane]),
            least: outlet.flow_m3s.map(|flow_m3s| {
                let turned_m3s = flow_m3s * std::f64::consts::PI / outlet.angle_rad;
                turned_m3s * turned_m3s * 1000.0 / GRAVITY_M_S2
            }),
        }
    }

    #[inline(always)]
    fn off(&self, layer: usize) -> Off<L> {
        let faces_m = self.grid.face_elevation_m();
        let (mut away_m, mut step_kg_m3, mut upper_m) = ([0.0; L], [0.0; L], [faces_m[layer + 1]; L]);
        for lane in 0..L {
            let is_top = layer as f64 == self.top[lane];
            let level_m = self.column.surface_elevation_m[lane];
            upper_m[lane] = if is_top { level_m } else { upper_m[lane] };
        }
        for lane in 0..L {
            away_m[lane] = (0.5 * (faces_m[layer] + upper_m[lane]) - self.outlet.elevation_m).abs();
            step_kg_m3[lane] = (self.density_kg_m3[layer][lane] - self.at_kg_m3[lane]).abs();
        }
        Off { away_m, step_kg_m3 }
    }

    /// Walks away from the outlet, upward or downward.
    #[inline(always)]
    fn side(&self, layers: impl Iterator<Item = usize>, upward: bool) -> Side<L> {
        let here = Off {
            away_m: [0.0; L],
            step_kg_m3: [0.0; L],
        };
        let mut side = Side {
            near: here,
            far: here,
            beyond: [NOWHERE; L],
        };
        for layer in layers {
            let (off, number) = (self.off(layer), layer as f64);
            let (mut looks, mut ends, mut open) = ([0.0; L], [0.0; L], [0.0; L]);
            for lane in 0..L {
                // Within the column, beyond the outlet's layer, no limit found yet.
                let way = if upward {
                    number - self.at[lane]
                } else {
                    self.at[lane] - number
                };
                let room = f64::min(f64::min(way, self.top[lane] + 1.0 - number), -side.beyond[lane]);
                looks[lane] = if room > 0.0 { 1.0 } else { 0.0 };
            }
            for lane in 0..L {
                let (away_m, step) = (off.away_m[lane], off.step_kg_m3[lane]);
                let square = away_m * away_m;
                let held = f64::min(
                    step * (square * square * away_m) - self.least[lane],
                    step - LEAST_STEP_KG_M3,
                );
                ends[lane] = if held >= 0.0 { looks[lane] } else { 0.0 };
            }
            for lane in 0..L {
                side.beyond[lane] = if ends[lane] > 0.0 {
                    number
                } else {
                    side.beyond[lane]
                };
                open[lane] = if side.beyond[lane] < 0.0 { 1.0 } else { 0.0 };
            }
            for (far, near, new) in [
                (&mut side.far.away_m, &mut side.near.away_m, &off.away_m),
                (
                    &mut side.far.step_kg_m3,
                    &mut side.near.step_kg_m3,
                    &off.step_kg_m3,
                ),
            ] {
                for lane in 0..L {
                    far[lane] = if ends[lane] > 0.0 { new[lane] } else { far[lane] };
                }
                for lane in 0..L {
                    let goes_on = looks[lane] - ends[lane];
                    near[lane] = if goes_on > 0.0 { new[lane] } else { near[lane] };
                }
            }
            if open == [0.0; L] {
                break;
            }
        }
        side
    }

    #[inline(always)]
    fn draw(&self, into_m3s: &mut [Lanes<L>]) {
        let highest = self.column.top.iter().max().copied().unwrap_or(0);
        let bound = |fold: fn(f64, f64) -> f64| self.at.into_iter().fold(self.at[0], fold) as usize;
        let (at_least, at_most) = (bound(f64::min), bound(f64::max));
        let up = self.side(at_least + 1..=highest, true);
        let down = self.side((0..at_most).rev(), false);
        let (per_up, per_down) = (
            up.per_m_kg_m3(&self.outlet, &self.least),
            down.per_m_kg_m3(&self.outlet, &self.least),
        );
        let (mut first, mut last) = ([0.0; L], [0.0; L]);
        for lane in 0..L {
            first[lane] = f64::max(down.beyond[lane], 0.0);
            let ends = up.beyond[lane] >= 0.0;
            last[lane] = if ends { up.beyond[lane] } else { self.top[lane] };
        }
        let lowest = first.into_iter().fold(first[0], f64::min) as usize;
        let highest = last.into_iter().fold(last[0], f64::max) as usize;
        let reach = Reach {
            first,
            last,
            per_up,
            per_down,
        };
        let (mut sum, mut scale) = ([0.0; L], [0.0; L]);
        for layer in lowest..=highest {
            let drawn = self.drawn(layer, &reach);
            for lane in 0..L {
                sum[lane] += drawn[lane];
            }
        }
        for lane in 0..L {
            let flow_m3s = self.outlet.flow_m3s[lane];
            scale[lane] = if flow_m3s > 0.0 { flow_m3s / sum[lane] } else { 0.0 };
        }
        for layer in lowest..=highest {
            let drawn = self.drawn(layer, &reach);
            for lane in 0..L {
                into_m3s[layer][lane] += scale[lane] * drawn[lane];
            }
        }
    }

    /// What a layer gives for each unit of velocity at the outlet's level.
    #[inline(always)]
    fn drawn(&self, layer: usize, reach: &Reach<L>) -> Lanes<L> {
        let (off, number) = (self.off(layer), layer as f64);
        let (mut per, mut drawn) = ([0.0; L], [0.0; L]);
        for lane in 0..L {
            // In its own layer an outlet is no way off.
            let is_up = number > self.at[lane];
            per[lane] = if is_up {
                reach.per_up[lane]
            } else {
                reach.per_down[lane]
            };
        }
        for lane in 0..L {
            per[lane] = if number == self.at[lane] { 0.0 } else { per[lane] };
            let weight = withdrawal_weight(off.away_m[lane] * off.step_kg_m3[lane] * per[lane]);
            drawn[lane] = weight * self.column.volume_m3[layer][lane];
        }
        for lane in 0..L {
            let within = f64::min(number - reach.first[lane], reach.last[lane] - number);
            drawn[lane] = if within >= 0.0 { drawn[lane] } else { 0.0 };
        }
        drawn
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::layered::{Water, densities_kg_m3};
    use crate::lake::Hypsography;
    use crate::physics::water::water_density_kg_m3;
    use std::f64::consts::PI;

    fn grid() -> Grid {
        let table = Hypsography::from_areas(vec![0.0, 60.0], vec![2e6, 2e6]);
        Grid::new(table, (0..=60).map(f64::from).collect()).unwrap()
    }

    fn column(grid: &Grid, temp_degc: impl Fn(f64) -> f64) -> Column<1> {
        let water = |elevation_m: f64, _: usize| Water {
            temp_degc: temp_degc(elevation_m),
            oxygen_mg_l: 9.0,
            river_frac: 0.0,
        };
        Column::filled(grid, [50.0], water).unwrap()
    }

    fn drawn(temp_degc: impl Fn(f64) -> f64, elevation_m: f64, flow_m3s: f64) -> Vec<f64> {
        let grid = grid();
        draw(&grid, &column(&grid, temp_degc), &[(elevation_m, flow_m3s)])
    }

    /// What outlets at elevations draw, one after the other.
    fn draw(grid: &Grid, column: &Column<1>, outlets: &[(f64, f64)]) -> Vec<f64> {
        let (mut density, mut into) = (vec![[0.0]; 60], vec![[0.0]; 60]);
        densities_kg_m3(column, &mut density);
        for (elevation_m, flow_m3s) in outlets {
            let outlet = Drawn {
                elevation_m: *elevation_m,
                flow_m3s: [*flow_m3s],
                angle_rad: PI,
            };
            withdraw_m3s(grid, column, &density, outlet, &mut into);
        }
        into.into_iter().flatten().collect()
    }

    #[test]
    fn layers_give_the_flow_of_the_outlet_and_no_more() {
        for elevation_m in [-5.0, 0.0, 10.3, 49.0, 70.0] {
            let into = drawn(|e| 5.0 + 0.3 * e, elevation_m, 40.0);
            let sum: f64 = into.iter().sum();
            // Fifty additions.
            assert!(
                (sum - 40.0).abs() < 1e-12 && into.iter().all(|q| *q >= 0.0),
                "{elevation_m}: {sum}"
            );
            assert!(into[50..].iter().all(|q| *q == 0.0));
        }
    }

    #[test]
    fn uniform_water_is_drawn_from_every_layer_alike() {
        let into = drawn(|_| 12.0, 20.5, 40.0);
        assert!(into[..50].iter().all(|q| (q - 0.8).abs() < 1e-12), "{into:?}");
    }

    #[test]
    fn in_water_that_grows_denser_evenly_the_layer_ends_where_the_formula_has_it() {
        // P4-WD has Z 9.83 m for 30 m3/s and a step of 1 kg/m3; here the density falls upward by 1 kg/m3 over those 9.83 m.
        let density_at = |e: f64| 998.0 + (30.0 - e) / 9.83;
        let temp = |e: f64| {
            let (mut low, mut high) = (4.0, 40.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if water_density_kg_m3(middle) > density_at(e) {
                    low = middle
                } else {
                    high = middle
                }
            }
            low
        };
        let into = drawn(temp, 30.5, 30.0);
        let drawing: Vec<usize> = (0..60).filter(|i| into[*i] > 0.0).collect();
        let (low, high) = (drawing[0], drawing[drawing.len() - 1]);
        // Ten layers up and nine or ten down: the limit stands within a layer of 9.83 m from the outlet.
        assert!(
            (20..=21).contains(&low) && (39..=40).contains(&high),
            "{low} {high}"
        );
        assert!(into[30] > into[35] && into[35] > into[39]);
    }

    #[test]
    fn a_deep_outlet_spares_the_warm_water_above_a_thermocline() {
        let into = drawn(|e| if e > 35.0 { 22.0 } else { 7.0 }, 5.0, 20.0);
        let warm: f64 = into[35..].iter().sum();
        // Two waters of 2.2 kg/m3 apart hold 20 m3/s apart beyond 6 m; the outlet is 30 m off.
        assert!(warm < 1e-9, "{warm}");
        let near = drawn(|e| if e > 35.0 { 22.0 } else { 7.0 }, 33.0, 20.0);
        assert!(near[35..].iter().sum::<f64>() > 0.0);
    }

    #[test]
    fn outlets_add_up() {
        let grid = grid();
        let column = column(&grid, |e| 5.0 + 0.3 * e);
        let both = draw(&grid, &column, &[(10.0, 10.0), (40.0, 10.0)]);
        let (low, high) = (
            drawn(|e| 5.0 + 0.3 * e, 10.0, 10.0),
            drawn(|e| 5.0 + 0.3 * e, 40.0, 10.0),
        );
        for i in 0..60 {
            assert!((both[i] - low[i] - high[i]).abs() < 1e-12);
        }
    }
}
