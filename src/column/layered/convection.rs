//! Convective adjustment: water that is denser than what lies below it sinks and mixes, lane by lane.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::state::{Column, Lanes, Water};
use crate::math::wide::wide;
use crate::physics::water::water_density_kg_m3;

/// Layers that have become one: sums of their volumes times what they hold, so that one more joins by additions.
#[derive(Debug, Clone, Copy)]
struct Pool {
    volume_m3: f64,
    warmth_m3_degc: f64,
    oxygen_g: f64,
    river_m3: f64,
    density_kg_m3: f64,
    /// Lowest layer of the pool.
    lowest: usize,
}

/// The adjustment, with its working memory.
#[derive(Debug, Clone)]
pub struct Convection {
    pools: Vec<Pool>,
    /// Densities where nobody else wants them, `[layer][lane]` in one row.
    room_kg_m3: Vec<f64>,
}

impl Convection {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Convection {
            pools: Vec::with_capacity(layers),
            room_kg_m3: Vec::new(),
        }
    }

    /// Makes every lane stable: from the surface down, a pool that is denser than the next layer takes it in, and
    /// whatever then is denser than its neighbour above joins too, until no density falls with depth. Exact in volume,
    /// heat, oxygen and river water; densities are reckoned anew, so water under 3.98 degC is right.
    /// Returns the lowest layer of each lane's surface pool.
    pub fn step<const L: usize>(&mut self, column: &mut Column<L>) -> [usize; L] {
        let mut room_kg_m3 = std::mem::take(&mut self.room_kg_m3);
        room_kg_m3.resize(column.layers() * L, 0.0);
        let lowest = self.step_finding(column, room_kg_m3.as_chunks_mut().0);
        self.room_kg_m3 = room_kg_m3;
        lowest
    }

    /// [`Convection::step`] that leaves in `density_kg_m3`, shape `[layer][lane]`, the densities that there then are, up to the
    /// highest surface.
    pub(super) fn step_finding<const L: usize>(
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
            let (volume_m3, water) = (column.volume_m3[layer][lane], column.water(layer, lane));
            let mut pool = Pool {
                volume_m3,
                warmth_m3_degc: volume_m3 * water.temp_degc,
                oxygen_g: volume_m3 * water.oxygen_mg_l,
                river_m3: volume_m3 * water.river_frac,
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
            let has_grown = pool.volume_m3 > volume_m3;
            self.pools.push(pool);
            // What lies below is stable, and this layer did not change.
            if layer < inversion && !has_grown {
                break;
            }
        }
        let mut upper = column.top[lane] + 1;
        for pool in &self.pools {
            if upper - pool.lowest > 1 {
                let water = pool.water();
                for layer in pool.lowest..upper {
                    column.set(layer, lane, water);
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
            found[lane] = if inverse[lane] < found[lane] {
                inverse[lane]
            } else {
                found[lane]
            };
        }
    }
    found
}

impl Pool {
    /// This pool and the one below it as one.
    #[inline]
    fn with(self, below: Pool) -> Pool {
        let volume_m3 = self.volume_m3 + below.volume_m3;
        let warmth_m3_degc = self.warmth_m3_degc + below.warmth_m3_degc;
        Pool {
            volume_m3,
            warmth_m3_degc,
            oxygen_g: self.oxygen_g + below.oxygen_g,
            river_m3: self.river_m3 + below.river_m3,
            density_kg_m3: water_density_kg_m3(warmth_m3_degc / volume_m3),
            lowest: below.lowest,
        }
    }

    fn water(&self) -> Water {
        Water {
            temp_degc: self.warmth_m3_degc / self.volume_m3,
            oxygen_mg_l: self.oxygen_g / self.volume_m3,
            river_frac: self.river_m3 / self.volume_m3,
        }
    }
}
