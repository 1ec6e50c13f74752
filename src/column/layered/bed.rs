//! Heat that the bed takes in summer and gives back in winter: two slabs of sediment under every layer.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::state::{Column, Lanes};
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
        let (through, between) = (CONDUCTS_W_M2_K.0 * step_s, CONDUCTS_W_M2_K.1 * step_s);
        let (upper_j, lower_j) = HOLDS_J_M2_K;
        let between = between / (1.0 + between * (1.0 / upper_j + 1.0 / lower_j));
        let areas = grid.face_area_m2();
        let highest = column.top.iter().max().map_or(0, |top| top + 1);
        let mut gained_j = [0.0; L];
        for layer in 0..highest {
            let under_m2 = if layer == 0 { 0.0 } else { areas[layer] };
            let mut over_m2 = [areas[layer + 1]; L];
            for lane in 0..L {
                if layer == column.top[lane] {
                    over_m2[lane] = column.surface_area_m2[lane];
                }
            }
            let (volumes_m3, temps_degc) = (&column.volume_m3[layer], &mut column.temp_degc[layer]);
            let (upper, lower) = (&mut self.upper_degc[layer], &mut self.lower_degc[layer]);
            for lane in 0..L {
                let is_water = volumes_m3[lane] > 0.0;
                let bed_m2 = (over_m2[lane] - under_m2).max(0.0);
                let held_j_k = HEAT_CAPACITY_J_M3_K * if is_water { volumes_m3[lane] } else { 1.0 };
                let share = 1.0 + through * (1.0 / upper_j + bed_m2 / held_j_k);
                let up_j_m2 = through * (upper[lane] - temps_degc[lane]) / share;
                let up_j_m2 = if is_water { up_j_m2 } else { 0.0 };
                temps_degc[lane] += up_j_m2 * bed_m2 / held_j_k;
                gained_j[lane] += up_j_m2 * bed_m2;
                // A dry bed stays as it was, or a lane would depend on how high the lake of another stands.
                let rise_j_m2 = if is_water {
                    between * (lower[lane] - upper[lane])
                } else {
                    0.0
                };
                upper[lane] += (rise_j_m2 - up_j_m2) / upper_j;
                lower[lane] -= rise_j_m2 / lower_j;
            }
        }
        gained_j
    }
}
