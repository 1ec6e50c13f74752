//! Selective withdrawal: from which layers an outlet draws.

use std::cmp::Ordering;

use super::grid::Grid;
use super::state::Column;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::mixing::{withdrawal_height_m, withdrawal_weight};
use crate::physics::water::water_density_kg_m3;

/// Least difference of density that holds water back, kg/m3: under it the water counts as uniform.
const LEAST_STEP_KG_M3: f64 = 1e-9;

/// Most steps of Newton's rule, and the share of a layer within which it ends.
const NEWTON_STEPS: usize = 30;
const SETTLED_SHARE: f64 = 1e-7;

/// Water that is drawn through an outlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// Elevation of the outlet's middle, m.
    pub elevation_m: f64,
    /// Flow, m3/s; not negative.
    pub flow_m3s: f64,
    /// Angle of withdrawal, rad: pi on a free face.
    pub angle_rad: f64,
}

/// One side of the layer that an outlet draws from.
#[derive(Debug, Clone, Copy)]
struct Limit {
    /// Distance from the outlet, m; infinite in uniform water.
    height_m: f64,
    /// Difference of density over it, kg/m3.
    step_kg_m3: f64,
}

/// Adds to `into_m3s` what an outlet draws from each layer of a lane, m3/s, shape `[layer]`.
///
/// Limits: to each side the distance Z at which `Q = (theta/pi) Z^3 sqrt(g drho/(rho Z))`, drho the difference of density
/// from the outlet's level to the limit. Where surface or bed is nearer it cuts the layer off, and Z is that of the
/// density there. Velocity by `(1 - y drho_y/(Z drho_Z))^2`, times the layer's volume: the section before the outlet is
/// taken as wide at each level as the column is on average (project choice). An outlet above the surface or under the
/// bed draws at the nearest level there is. Outlets add up. Source: Bohan & Grace 1973.
pub fn withdraw_m3s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    lane: usize,
    outlet: Drawn,
    into_m3s: &mut [f64],
) {
    let density = |layer: usize| water_density_kg_m3(column.temp_degc[layer][lane]);
    withdraw_by_density_m3s(grid, column, lane, (outlet, density), |layer, flow_m3s| {
        into_m3s[layer] += flow_m3s;
    });
}

/// [`withdraw_m3s`] with the density of each layer of the lane given, kg/m3; hands over each layer that gives, and how much,
/// m3/s.
#[inline]
pub fn withdraw_by_density_m3s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    lane: usize,
    (outlet, density): (Drawn, impl Fn(usize) -> f64),
    mut give: impl FnMut(usize, f64),
) {
    if outlet.flow_m3s <= 0.0 {
        return;
    }
    let top = column.top[lane];
    let faces = grid.face_elevation_m();
    let at = faces[1..=top + 1]
        .partition_point(|face| *face <= outlet.elevation_m)
        .min(top);
    let at_kg_m3 = density(at);
    let away = |layer: usize| {
        let away_m = (column.middle_m(grid, layer, lane) - outlet.elevation_m).abs();
        (away_m, (density(layer) - at_kg_m3).abs())
    };
    let (up, highest) = limit(outlet, (at + 1..=top).map(|layer| (layer, away(layer))));
    let (down, lowest) = limit(outlet, (0..at).rev().map(|layer| (layer, away(layer))));
    let (first, last) = (lowest.unwrap_or(0), highest.unwrap_or(top));
    let (per_up, per_down) = (up.per_m_kg_m3(), down.per_m_kg_m3());
    let drawn = |layer: usize| {
        // In its own layer an outlet is no way off.
        let per = match layer.cmp(&at) {
            Ordering::Less => per_down,
            Ordering::Equal => 0.0,
            Ordering::Greater => per_up,
        };
        let (away_m, step) = away(layer);
        withdrawal_weight(away_m * step * per) * column.volume_m3[layer][lane]
    };
    let mut sum = 0.0;
    for layer in first..=last {
        sum += drawn(layer);
    }
    let scale = outlet.flow_m3s / sum;
    for layer in first..=last {
        give(layer, scale * drawn(layer));
    }
}

impl Limit {
    /// Inverse of distance times difference of density at the limit; 0 in uniform water, which is drawn alike.
    fn per_m_kg_m3(&self) -> f64 {
        if self.step_kg_m3 <= LEAST_STEP_KG_M3 {
            0.0
        } else {
            1.0 / (self.height_m * self.step_kg_m3)
        }
    }
}

/// Where the layer ends on one side, and the first layer that is beyond it; `layers` leads away from the outlet and gives
/// for each its distance, m, and its difference of density, kg/m3. `None` where the water of all of them is drawn.
fn limit(outlet: Drawn, layers: impl Iterator<Item = (usize, (f64, f64))>) -> (Limit, Option<usize>) {
    // Z no further than a distance, Z = (Q pi/theta)^(2/5) (g drho/rho)^(-1/5), without its roots: drho y^5 at least this.
    let turned_m3s = outlet.flow_m3s * std::f64::consts::PI / outlet.angle_rad;
    let least = turned_m3s * turned_m3s * 1000.0 / GRAVITY_M_S2;
    let holds = |(away_m, step): (f64, f64)| step > LEAST_STEP_KG_M3 && step * fifth_power(away_m) >= least;
    let mut before = (0.0, 0.0);
    for (layer, found) in layers {
        if holds(found) {
            return (between(before, found, (least, holds)), Some(layer));
        }
        before = found;
    }
    let step_kg_m3 = before.1;
    let height_m = if step_kg_m3 > LEAST_STEP_KG_M3 {
        withdrawal_height_m(outlet.flow_m3s, step_kg_m3, outlet.angle_rad)
    } else {
        f64::INFINITY
    };
    (Limit { height_m, step_kg_m3 }, None)
}

fn fifth_power(away_m: f64) -> f64 {
    let square = away_m * away_m;
    square * square * away_m
}

/// The limit between two layers, density linear between them: from the far one by Newton's rule, which comes down upon it,
/// since `drho y^5` bends upward where both grow; by halving where it does not.
fn between(near: (f64, f64), far: (f64, f64), (least, holds): (f64, impl Fn((f64, f64)) -> bool)) -> Limit {
    let slope = (far.0 - near.0, far.1 - near.1);
    let at = |share: f64| (near.0 + share * slope.0, near.1 + share * slope.1);
    let limit = |(height_m, step_kg_m3)| Limit { height_m, step_kg_m3 };
    if slope.0 > 0.0 && slope.1 > 0.0 {
        let mut share = 1.0;
        for _ in 0..NEWTON_STEPS {
            let (away_m, step) = at(share);
            let square = away_m * away_m;
            let fourth = square * square;
            let over = step * fourth * away_m - least;
            let steep = fourth * (slope.1 * away_m + 5.0 * step * slope.0);
            let back = over / steep;
            share -= back;
            if back <= SETTLED_SHARE {
                break;
            }
        }
        let found = at(share.clamp(0.0, 1.0));
        if found.1 > LEAST_STEP_KG_M3 {
            return limit(found);
        }
    }
    let (mut low, mut high) = (0.0, 1.0);
    // Twenty halvings: a millionth of a layer.
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if holds(at(middle)) {
            high = middle;
        } else {
            low = middle;
        }
    }
    limit(at(high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::layered::Water;
    use crate::lake::Hypsography;
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
        let mut into = vec![0.0; 60];
        let outlet = Drawn {
            elevation_m,
            flow_m3s,
            angle_rad: PI,
        };
        withdraw_m3s(&grid, &column(&grid, temp_degc), 0, outlet, &mut into);
        into
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
        let outlet = |elevation_m: f64| Drawn {
            elevation_m,
            flow_m3s: 10.0,
            angle_rad: PI,
        };
        let mut both = vec![0.0; 60];
        for elevation_m in [10.0, 40.0] {
            withdraw_m3s(&grid, &column, 0, outlet(elevation_m), &mut both);
        }
        let (low, high) = (
            drawn(|e| 5.0 + 0.3 * e, 10.0, 10.0),
            drawn(|e| 5.0 + 0.3 * e, 40.0, 10.0),
        );
        for i in 0..60 {
            assert!((both[i] - low[i] - high[i]).abs() < 1e-12);
        }
    }
}
