//! Heat that the bed takes in summer and gives back in winter: two slabs of sediment under every layer.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::math::wide::wide;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Conductivity of wet sediment, W/(m K) (0.6-1.5 in the literature, from memory).
const BED_W_M_K: f64 = 1.0;
/// Heat capacity of wet sediment, J/(m3 K) (from memory).
const BED_J_M3_K: f64 = 3e6;
/// Thickness of the upper and of the lower slab, m: the yearly wave of heat goes down about 2 m.
const SLABS_M: (f64, f64) = (1.0, 3.33);
/// Heat that a square metre of each slab holds, J/(m2 K).
const HOLDS_J_M2_K: (f64, f64) = (SLABS_M.0 * BED_J_M3_K, SLABS_M.1 * BED_J_M3_K);
/// Conductance from the water to the middle of the upper slab, and from there to the middle of the lower, W/(m2 K).
const CONDUCTS_W_M2_K: (f64, f64) = (
    2.0 * BED_W_M_K / SLABS_M.0,
    2.0 * BED_W_M_K / (SLABS_M.0 + SLABS_M.1),
);

/// Temperature of the bed under every layer of every lane, shape `[layer][lane]`.
///
/// It is a memory of the water that lay on it and no part of the lake: what it gives and takes is booked like heat through the
/// surface.
#[derive(Debug, Clone, PartialEq)]
pub struct BedHeat<const L: usize> {
    /// Of the upper slab, degC.
    pub upper_degc: Vec<Lanes<L>>,
    /// Of the lower slab, degC.
    pub lower_degc: Vec<Lanes<L>>,
}

impl<const L: usize> BedHeat<L> {
    /// A bed as warm as the water on it.
    pub fn under(column: &Column<L>) -> Self {
        BedHeat {
            upper_degc: column.temp_degc.clone(),
            lower_degc: column.temp_degc.clone(),
        }
    }

    /// Forgets what one lane's bed was.
    pub fn forget(&mut self, column: &Column<L>, lane: usize) {
        let slabs = self.upper_degc.iter_mut().zip(&mut self.lower_degc);
        for ((upper, lower), water) in slabs.zip(&column.temp_degc) {
            (upper[lane], lower[lane]) = (water[lane], water[lane]);
        }
    }

    /// Lets heat between bed and water for a step.
    ///
    /// ```text
    /// C1 dT1/dt = G1 (Tw - T1) + G2 (T2 - T1),  C2 dT2/dt = G2 (T1 - T2),  rho cp V dTw/dt = A_bed G1 (T1 - Tw)
    /// ```
    ///
    /// A_bed of a layer is its upper area less its lower one, and the bed's own in the lowest; G1 = k/(d1/2) and
    /// G2 = k/((d1 + d2)/2). Each exchange is an implicit Euler step of two bodies that keeps their heat. Two slabs answer a
    /// yearly wave with 0.84 of the flux of a deep bed, and 3 degrees of phase late; a third slab would mend that.
    /// Source: heat conduction in lake sediment after Fang & Stefan 1996 (from memory), in two slabs for their many layers.
    ///
    /// Returns the heat that each lane's water gained, J.
    pub fn step(&mut self, grid: &Grid, column: &mut Column<L>, step_s: f64) -> Lanes<L> {
        wide(
            #[inline(always)]
            || self.exchange(grid, column, step_s),
        )
    }

    #[inline(always)]
    fn exchange(&mut self, grid: &Grid, column: &mut Column<L>, step_s: f64) -> Lanes<L> {
        let slabs = Slabs::over(step_s);
        let (lowest, highest) = column.tops();
        let mut gained = [0.0; L];
        let water = column.volume_m3.iter().zip(&mut column.temp_degc);
        let bed = self.upper_degc.iter_mut().zip(&mut self.lower_degc);
        for (layer, (water, bed)) in water.zip(bed).enumerate().take(highest + 1) {
            let mut bed_m2 = [grid.layer_bed_m2()[layer]; L];
            if layer >= lowest {
                for lane in 0..L {
                    if layer == column.top[lane] {
                        bed_m2[lane] = grid.bed_of_layer_m2(layer, column.surface_area_m2[lane]);
                    }
                }
            }
            let warmed_m3_k = slabs.exchange(&bed_m2, water, bed);
            for lane in 0..L {
                gained[lane] += warmed_m3_k[lane];
            }
        }
        gained.map(|gained| gained * HEAT_CAPACITY_J_M3_K)
    }
}

/// What two slabs of bed let through in a step.
#[derive(Clone, Copy)]
struct Slabs {
    /// From the upper slab to the water, J/(m2 K), and its part in the implicit step that falls to the upper slab.
    through_j_m2_k: f64,
    share: f64,
    /// From the lower slab to the upper one, J/(m2 K), implicit.
    between_j_m2_k: f64,
}

impl Slabs {
    fn over(step_s: f64) -> Slabs {
        let (through, between) = (CONDUCTS_W_M2_K.0 * step_s, CONDUCTS_W_M2_K.1 * step_s);
        let (upper_j, lower_j) = HOLDS_J_M2_K;
        Slabs {
            through_j_m2_k: through,
            share: 1.0 + through / upper_j,
            between_j_m2_k: between / (1.0 + between * (1.0 / upper_j + 1.0 / lower_j)),
        }
    }

    /// Lets heat between a layer of water, by its volume and temperature, and the slabs; gives what the water has got, m3 K.
    #[inline(always)]
    fn exchange<const L: usize>(
        &self,
        bed_m2: &Lanes<L>,
        (volume_m3, temp_degc): (&Lanes<L>, &mut Lanes<L>),
        (upper, lower): (&mut Lanes<L>, &mut Lanes<L>),
    ) -> Lanes<L> {
        let (mut held_j_k, mut is_water, mut warmed_m3_k) = ([0.0; L], [0.0; L], [0.0; L]);
        for lane in 0..L {
            // A dry bed stays as it was, or a lane would depend on how high the lake of another stands.
            is_water[lane] = if volume_m3[lane] > 0.0 { 1.0 } else { 0.0 };
            held_j_k[lane] = HEAT_CAPACITY_J_M3_K * (volume_m3[lane] + (1.0 - is_water[lane]));
        }
        for lane in 0..L {
            // With one division: G1 dt (T1 - Tw) / (1 + G1 dt (1/C1 + A/(rho cp V))) of a square metre, over what the water holds.
            let exchange = is_water[lane] * self.through_j_m2_k * (upper[lane] - temp_degc[lane])
                / (self.share * held_j_k[lane] + self.through_j_m2_k * bed_m2[lane]);
            let rise_j_m2 = is_water[lane] * self.between_j_m2_k * (lower[lane] - upper[lane]);
            let warmed_k = exchange * bed_m2[lane];
            temp_degc[lane] += warmed_k;
            warmed_m3_k[lane] = warmed_k * volume_m3[lane];
            upper[lane] += (rise_j_m2 - exchange * held_j_k[lane]) * (1.0 / HOLDS_J_M2_K.0);
            lower[lane] -= rise_j_m2 * (1.0 / HOLDS_J_M2_K.1);
        }
        warmed_m3_k
    }
}
