//! Convective adjustment: water that is denser than what lies below it sinks and mixes, lane by lane.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::state::{Column, Lanes, Water};
use crate::math::wide::wide;
use crate::physics::water::water_density_kg_m3;

/// Layers that have become one.
#[derive(Debug, Clone, Copy)]
struct Pool {
    volume_m3: f64,
    water: Water,
    density_kg_m3: f64,
    /// Lowest layer of the pool.
    lowest: usize,
}

/// The adjustment, with its working memory.
#[derive(Debug, Clone)]
pub struct Convection {
    pools: Vec<Pool>,
}

impl Convection {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Convection {
            pools: Vec::with_capacity(layers),
        }
    }

    /// Makes every lane stable: from the surface down, a pool that is denser than the next layer takes it in, and
    /// whatever then is denser than its neighbour above joins too, until no density falls with depth. Exact in volume,
    /// heat, oxygen and river water; densities are reckoned anew, so water under 3.98 degC is right.
    /// Returns the lowest layer of each lane's surface pool. `density_kg_m3`, shape `[layer][lane]`, gets the densities that there
    /// then are, up to the highest surface.
    pub fn step<const L: usize>(
        &mut self,
        column: &mut Column<L>,
        density_kg_m3: &mut [Lanes<L>],
    ) -> [usize; L] {
        let mut lowest = column.top;
        let unstable = wide(
            #[inline(always)]
            || lowest_inversions(column, density_kg_m3),
        );
        for (lane, lowest) in lowest.iter_mut().enumerate() {
            if unstable[lane] < f64::INFINITY {
                *lowest = self.lane(column, density_kg_m3, (lane, unstable[lane] as usize));
            }
        }
        lowest
    }

    /// One lane, whose lowest face under denser water is `inversion`.
    fn lane<const L: usize>(
        &mut self,
        column: &mut Column<L>,
        density_kg_m3: &mut [Lanes<L>],
        (lane, inversion): (usize, usize),
    ) -> usize {
        self.pools.clear();
        for layer in (0..=column.top[lane]).rev() {
            let water = column.water(layer, lane);
            let mut pool = Pool {
                volume_m3: column.volume_m3[layer][lane],
                water,
                density_kg_m3: density_kg_m3[layer][lane],
                lowest: layer,
            };
            while let Some(above) = self
                .pools
                .last()
                .copied()
                .filter(|a| a.density_kg_m3 > pool.density_kg_m3)
            {
                self.pools.pop();
                pool = above.with(pool);
            }
            let has_grown = pool.lowest < layer || pool.volume_m3 > column.volume_m3[layer][lane];
            self.pools.push(pool);
            // What lies below is stable, and this layer did not change.
            if layer < inversion && !has_grown {
                break;
            }
        }
        let mut upper = column.top[lane] + 1;
        for pool in &self.pools {
            if upper - pool.lowest > 1 {
                for layer in pool.lowest..upper {
                    column.set(layer, lane, pool.water);
                    density_kg_m3[layer][lane] = pool.density_kg_m3;
                }
            }
            upper = pool.lowest;
        }
        self.pools.first().map_or(column.top[lane], |pool| pool.lowest)
    }
}

/// The lowest face of each lane over which the water is denser than under it; infinite in stable lanes. Finds the densities on
/// its way.
#[inline(always)]
fn lowest_inversions<const L: usize>(column: &Column<L>, density_kg_m3: &mut [Lanes<L>]) -> Lanes<L> {
    let (_, highest) = column.tops();
    for (row, temps_degc) in density_kg_m3.iter_mut().zip(&column.temp_degc).take(highest + 1) {
        for lane in 0..L {
            row[lane] = water_density_kg_m3(temps_degc[lane]);
        }
    }
    let top = column.top.map(|top| top as f64);
    let mut found = [f64::INFINITY; L];
    let pairs = density_kg_m3.iter().zip(density_kg_m3.iter().skip(1));
    for (face, (below, above)) in (1..=highest).zip(pairs) {
        let number = face as f64;
        let mut inverse = [f64::INFINITY; L];
        for lane in 0..L {
            let is_inverse = (above[lane] > below[lane]) & (number <= top[lane]);
            inverse[lane] = if is_inverse { number } else { f64::INFINITY };
        }
        for lane in 0..L {
            found[lane] = if inverse[lane] < found[lane] { inverse[lane] } else { found[lane] };
        }
    }
    found
}

impl Pool {
    /// This pool and the one below it as one.
    fn with(self, below: Pool) -> Pool {
        let volume_m3 = self.volume_m3 + below.volume_m3;
        let per_m3 = 1.0 / volume_m3;
        let (own, other) = (self.volume_m3 * per_m3, below.volume_m3 * per_m3);
        let mixed = |a: f64, b: f64| a * own + b * other;
        let water = Water {
            temp_degc: mixed(self.water.temp_degc, below.water.temp_degc),
            oxygen_mg_l: mixed(self.water.oxygen_mg_l, below.water.oxygen_mg_l),
            river_frac: mixed(self.water.river_frac, below.water.river_frac),
        };
        Pool {
            volume_m3,
            water,
            density_kg_m3: water_density_kg_m3(water.temp_degc),
            lowest: below.lowest,
        }
    }
}
