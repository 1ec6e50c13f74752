//! Dissolved oxygen: what the air gives at the surface and what bed and water take.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::parameters::ColumnParameters;
use super::state::{Column, Lanes};
use crate::math::wide::wide;
use crate::physics::oxygen::{OxygenState, oxygen_saturation_mg_l, oxygen_transfer_m_s, rate_factor};
use crate::units::S_PER_DAY;

/// Oxygen at which demand has fallen to half (0.5-1 mg/L in the literature).
const HALF_DEMAND_MG_L: f64 = 0.5;
/// Temperature factors of the demands of bed and water.
const THETA: (f64, f64) = (1.065, 1.047);

/// Oxygen that fresh water holds in balance with the air at a pressure, mg/L.
#[inline(always)]
pub fn saturated_mg_l(temp_degc: f64, pressure_pa: f64) -> f64 {
    oxygen_saturation_mg_l(OxygenState {
        temp_degc,
        solids_g_kg: 0.0,
        pressure_pa,
    })
}

/// Lets air into the surface layer of every lane: `dC/dt = k (C_sat - C) A / V`, implicit. Returns the oxygen gained, g. In
/// lanes that are not `open` nothing changes.
pub fn aerate<const L: usize>(
    column: &mut Column<L>,
    open: [bool; L],
    (wind_speed_m_s, pressure_pa): (&Lanes<L>, &Lanes<L>),
    step_s: f64,
) -> Lanes<L> {
    wide(
        #[inline(always)]
        || {
            let of_surface = |field: &[Lanes<L>]| -> Lanes<L> {
                std::array::from_fn(|lane| field[column.top[lane]][lane])
            };
            let held_m3 = of_surface(&column.volume_m3);
            let temp_degc = of_surface(&column.temp_degc);
            let before_mg_l = of_surface(&column.oxygen_mg_l);
            let (mut saturated, mut rate, mut gained_mg_l) = ([0.0; L], [0.0; L], [0.0; L]);
            for lane in 0..L {
                saturated[lane] = saturated_mg_l(temp_degc[lane], pressure_pa[lane]);
            }
            for lane in 0..L {
                let transfer_m_s = oxygen_transfer_m_s(wind_speed_m_s[lane], temp_degc[lane]);
                rate[lane] = transfer_m_s * column.surface_area_m2[lane] * step_s / held_m3[lane];
            }
            for lane in 0..L {
                let after_mg_l = (before_mg_l[lane] + rate[lane] * saturated[lane]) / (1.0 + rate[lane]);
                gained_mg_l[lane] = after_mg_l - before_mg_l[lane];
            }
            let mut gained_g = [0.0; L];
            for lane in (0..L).filter(|lane| open[*lane]) {
                column.oxygen_mg_l[column.top[lane]][lane] = before_mg_l[lane] + gained_mg_l[lane];
                gained_g[lane] = gained_mg_l[lane] * held_m3[lane];
            }
            gained_g
        },
    )
}

/// Takes up oxygen in every layer:
///
/// ```text
/// dC/dt = -(J_bed 1.065^(T-20) A_bed/V + R 1.047^(T-20)) C/(C + 0.5)
/// ```
///
/// implicit, so that it never falls below 0. A_bed of a layer is its upper area less its lower one, and the bed's own
/// in the lowest. Returns the oxygen taken, g. Source: Livingstone & Imboden 1996, with a Monod cut-off.
#[inline(always)]
pub fn take_up<const L: usize>(
    grid: &Grid,
    column: &mut Column<L>,
    parameters: &[ColumnParameters; L],
    step_s: f64,
) -> Lanes<L> {
    let mut taken_g = [0.0; L];
    let days = step_s / S_PER_DAY;
    let (mut bed_g_m2, mut water_mg_l) = ([0.0; L], [0.0; L]);
    for lane in 0..L {
        bed_g_m2[lane] = parameters[lane].demand.bed_g_m2_day * days;
        water_mg_l[lane] = parameters[lane].demand.water_mg_l_day * days;
    }
    let (lowest, highest) = column.tops();
    for layer in 0..=highest {
        let mut bed_m2 = [grid.layer_bed_m2()[layer]; L];
        if layer >= lowest {
            for lane in 0..L {
                if layer == column.top[lane] {
                    bed_m2[lane] = grid.bed_of_layer_m2(layer, column.surface_area_m2[lane]);
                }
            }
        }
        let (volumes_m3, temps_degc) = (&column.volume_m3[layer], &column.temp_degc[layer]);
        let oxygen_mg_l = &mut column.oxygen_mg_l[layer];
        let mut after_mg_l = [0.0; L];
        for lane in 0..L {
            let (volume_m3, temp_degc) = (volumes_m3[lane], temps_degc[lane]);
            let bed = bed_g_m2[lane] * rate_factor(THETA.0, temp_degc) * bed_m2[lane];
            let water = water_mg_l[lane] * rate_factor(THETA.1, temp_degc) * volume_m3;
            let held_mg_l = oxygen_mg_l[lane];
            // held / (1 + rate / (held + half)) with one division.
            let over = (held_mg_l + HALF_DEMAND_MG_L) * volume_m3;
            let left_mg_l = held_mg_l * over / (over + (bed + water));
            after_mg_l[lane] = if volume_m3 > 0.0 { left_mg_l } else { held_mg_l };
        }
        for lane in 0..L {
            taken_g[lane] += (oxygen_mg_l[lane] - after_mg_l[lane]) * volumes_m3[lane];
        }
        *oxygen_mg_l = after_mg_l;
    }
    taken_g
}
