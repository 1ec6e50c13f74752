//! Deepening of the surface layer by wind and cooling, by a budget of energy, lane by lane.

use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::water::water_density_kg_m3;

/// Density of water in the power of the moving layer, kg/m3.
const WATER_KG_M3: f64 = 1000.0;

/// How much of each kind of turbulence goes into mixing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixingEfficiency {
    /// Of convection: C_K, 0.2 (0.12-0.3; Spigel et al. 1986). It is the ratio of entrainment of a convective layer.
    pub convection_frac: f64,
    /// Of the wind's stirring: C_N, 0.23-1.33 in the literature, by how the friction velocity is counted; here of
    /// `0.5 u*^3` in the water. 1.4 was chosen near the end of that range.
    pub stirring_frac: f64,
    /// Of the shear at the base: C_S. 0.6 is what laboratory deepening asks for (Kato & Phillips 1969, P4-KP) and
    /// near the bulk Richardson number of 0.65 of Price et al. 1986; models of lakes have 0.2-0.3.
    pub shear_frac: f64,
}

impl Default for MixingEfficiency {
    fn default() -> Self {
        MixingEfficiency {
            convection_frac: 0.2,
            stirring_frac: 1.4,
            shear_frac: 0.6,
        }
    }
}

/// What drives the surface layer of one lane for a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceStress {
    /// Friction velocity in the water, m/s.
    pub friction_m_s: f64,
    /// Buoyancy that the surface loses by cooling, m2/s3; 0 under warming.
    pub buoyancy_loss_m2_s3: f64,
    /// Time after which the lake's tilt takes back the shear, a quarter of its first internal seiche, s; infinite for
    /// a lake without ends.
    pub shear_lasts_s: f64,
}

/// The moving surface layer of every lane.
#[derive(Debug, Clone, PartialEq)]
pub struct WindMixing<const L: usize> {
    /// Speed of the surface layer over the water below, m/s.
    pub speed_m_s: Lanes<L>,
    /// How deep it moves, m.
    pub moving_m: Lanes<L>,
}

impl<const L: usize> Default for WindMixing<L> {
    fn default() -> Self {
        WindMixing {
            speed_m_s: [0.0; L],
            moving_m: [0.0; L],
        }
    }
}

/// The surface pool while it deepens.
struct Pool {
    volume_m3: f64,
    temp_degc: f64,
    oxygen_mg_l: f64,
    river_frac: f64,
    /// Volume times elevation, for the work of mixing.
    volume_moment: f64,
    lowest: usize,
}

impl<const L: usize> WindMixing<L> {
    /// Brings the surface layer of a lane to rest, as ice does.
    pub fn rest(&mut self, lane: usize) {
        self.speed_m_s[lane] = 0.0;
        self.moving_m[lane] = 0.0;
    }

    /// Power that the tilted or turning lake takes back from the moving surface layer of a lane and gives to internal waves,
    /// W/m2: `rho h U^2 / tau`.
    pub fn power_taken_w_m2(&self, lane: usize, shear_lasts_s: f64) -> f64 {
        WATER_KG_M3 * self.moving_m[lane] * self.speed_m_s[lane] * self.speed_m_s[lane] / shear_lasts_s
    }

    /// Deepens one lane for `step_s`, from a surface pool whose lowest layer is `lowest` (of the convection).
    ///
    /// ```text
    /// e = dt rho (0.5 C_K w*^3 + 0.5 C_N u*^3),  w*^3 = B h
    /// dU/dt = u*^2/h - U/tau
    /// ```
    ///
    /// e is turbulent energy for each square metre. What is made over shoals, where the bed is shallower than the layer, is lost
    /// at the bed; the base has `e A(z)`, A the area of the face that the base stands at, anew as it moves down. The next
    /// layer is taken in while that and C_S times the motion that is lost in mixing it (`0.5 rho U^2 V1 V2/(V1+V2)`)
    /// pay for `g sum V (rho_after - rho_before) z`; of the last layer a part, as far as the energy goes. What is left
    /// over is lost, or results would depend on the step. Under warming the same budget gives the Monin-Obukhov
    /// depth. tau = `shear_lasts_s`: a relaxation (project choice) for the cut-off of Spigel & Imberger 1980.
    /// Exact in heat, oxygen and river water. Source: Kraus & Turner 1967; Spigel, Imberger & Rayner 1986.
    ///
    /// Returns the lowest layer that is now of the surface's water.
    pub fn step(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        lane: usize,
        (efficiency, stress): (MixingEfficiency, SurfaceStress),
        (lowest, step_s): (usize, f64),
    ) -> usize {
        let level_m = column.surface_elevation_m[lane];
        let mut pool = surface_pool(grid, column, lane, lowest);
        let deep_m = level_m - grid.face_elevation_m()[pool.lowest];
        let moving_m = self.moving_m[lane].max(deep_m);
        self.speed_m_s[lane] = accelerated(self.speed_m_s[lane], stress, moving_m, step_s);
        let density = water_density_kg_m3(pool.temp_degc);
        let turbulent_m3_s3 = 0.5 * efficiency.convection_frac * stress.buoyancy_loss_m2_s3 * deep_m
            + 0.5 * efficiency.stirring_frac * stress.friction_m_s.powi(3);
        let mut energy_j_m2 = step_s * density * turbulent_m3_s3;
        while pool.lowest > 0 {
            let next = pool.lowest - 1;
            let next_m3 = column.volume_m3[next][lane];
            let next_m = column.middle_m(grid, next, lane);
            let mixed = pool.with(column, next, lane, next_m);
            let work_j = work_j(&pool, (next_m3, column.temp_degc[next][lane], next_m), &mixed);
            // A layer that moved along before, and that diffusion or the sun has set off a little, has no shear to give.
            let moves_already = level_m - next_m < self.moving_m[lane];
            let reduced_m3 = pool.volume_m3 * next_m3 / mixed.volume_m3;
            let speed = if moves_already { 0.0 } else { self.speed_m_s[lane] };
            let shear_j = 0.5 * efficiency.shear_frac * density * speed * speed * reduced_m3;
            // Motion pays only for a layer that joins whole; a part is paid by turbulence alone.
            let base_m2 = grid.face_area_m2()[pool.lowest];
            let energy_j = energy_j_m2 * base_m2;
            let share = if work_j <= shear_j + energy_j {
                1.0
            } else {
                energy_j / work_j
            };
            if share < 1.0 {
                // The motion stays with the surface layer until the layer below has joined it whole, or it would be
                // given away anew at every step.
                spread(column, &pool, lane);
                exchange(column, &pool, &mixed, (next, lane), share);
                break;
            }
            if !moves_already {
                self.speed_m_s[lane] *= pool.volume_m3 / mixed.volume_m3;
            }
            energy_j_m2 += (shear_j - work_j).min(0.0) / base_m2;
            pool = mixed;
            if pool.lowest == 0 {
                spread(column, &pool, lane);
            }
        }
        self.moving_m[lane] = level_m - grid.face_elevation_m()[pool.lowest];
        pool.lowest
    }
}

/// Speed of the surface layer after a step of wind and of the pull of the tilted lake.
fn accelerated(speed_m_s: f64, stress: SurfaceStress, deep_m: f64, step_s: f64) -> f64 {
    let push_m_s2 = stress.friction_m_s * stress.friction_m_s / deep_m;
    if stress.shear_lasts_s.is_infinite() {
        return speed_m_s + push_m_s2 * step_s;
    }
    let kept = (-step_s / stress.shear_lasts_s).exp();
    speed_m_s * kept + push_m_s2 * stress.shear_lasts_s * (1.0 - kept)
}

fn surface_pool<const L: usize>(grid: &Grid, column: &Column<L>, lane: usize, lowest: usize) -> Pool {
    let top = column.top[lane];
    let mut pool = Pool {
        volume_m3: column.volume_m3[top][lane],
        temp_degc: column.temp_degc[top][lane],
        oxygen_mg_l: column.oxygen_mg_l[top][lane],
        river_frac: column.river_frac[top][lane],
        volume_moment: column.volume_m3[top][lane] * column.middle_m(grid, top, lane),
        lowest: top,
    };
    // The convection has left these of one water.
    for layer in (lowest..top).rev() {
        let volume_m3 = column.volume_m3[layer][lane];
        pool.volume_m3 += volume_m3;
        pool.volume_moment += volume_m3 * column.middle_m(grid, layer, lane);
    }
    pool.lowest = lowest;
    pool
}

impl Pool {
    /// This pool with a layer below it, mixed.
    #[inline]
    fn with<const L: usize>(&self, column: &Column<L>, layer: usize, lane: usize, middle_m: f64) -> Pool {
        let below_m3 = column.volume_m3[layer][lane];
        let volume_m3 = self.volume_m3 + below_m3;
        let (own, other) = (self.volume_m3 / volume_m3, below_m3 / volume_m3);
        let mixed = |a: f64, b: f64| a * own + b * other;
        Pool {
            volume_m3,
            temp_degc: mixed(self.temp_degc, column.temp_degc[layer][lane]),
            oxygen_mg_l: mixed(self.oxygen_mg_l, column.oxygen_mg_l[layer][lane]),
            river_frac: mixed(self.river_frac, column.river_frac[layer][lane]),
            volume_moment: self.volume_moment + below_m3 * middle_m,
            lowest: layer,
        }
    }
}

/// Work against buoyancy of mixing the pool with the layer below (volume, temperature, elevation of the middle), J:
/// `g (sum V (rho_after - rho_before) z - gain z_c)`, gain the mass that mixing adds at fixed volume, z_c the centre of
/// the mixed water. With a density linear in temperature the gain is none.
#[inline]
fn work_j(pool: &Pool, (next_m3, next_degc, next_m): (f64, f64, f64), mixed: &Pool) -> f64 {
    let after = water_density_kg_m3(mixed.temp_degc);
    let of_pool = (after - water_density_kg_m3(pool.temp_degc)) * pool.volume_moment;
    let of_next = (after - water_density_kg_m3(next_degc)) * next_m3 * next_m;
    // Mixed water is a little denser than the mean of its parts. That mass appears where the mixing is, and was not
    // lifted there by the wind: without this the work would depend on the datum of the elevations.
    let gained_kg = after * mixed.volume_m3
        - water_density_kg_m3(pool.temp_degc) * pool.volume_m3
        - water_density_kg_m3(next_degc) * next_m3;
    GRAVITY_M_S2 * (of_pool + of_next - gained_kg * mixed.volume_moment / mixed.volume_m3)
}

/// Gives all layers of a pool its water.
fn spread<const L: usize>(column: &mut Column<L>, pool: &Pool, lane: usize) {
    for layer in pool.lowest..=column.top[lane] {
        column.temp_degc[layer][lane] = pool.temp_degc;
        column.oxygen_mg_l[layer][lane] = pool.oxygen_mg_l;
        column.river_frac[layer][lane] = pool.river_frac;
    }
}

/// Brings pool and next layer a part of the way to being mixed.
fn exchange<const L: usize>(
    column: &mut Column<L>,
    pool: &Pool,
    mixed: &Pool,
    (next, lane): (usize, usize),
    share: f64,
) {
    for layer in next..=column.top[lane] {
        let toward = |held: f64, whole: f64| held + share * (whole - held);
        column.temp_degc[layer][lane] = toward(column.temp_degc[layer][lane], mixed.temp_degc);
        column.oxygen_mg_l[layer][lane] = toward(column.oxygen_mg_l[layer][lane], mixed.oxygen_mg_l);
        column.river_frac[layer][lane] = toward(column.river_frac[layer][lane], mixed.river_frac);
    }
    debug_assert!(pool.lowest == next + 1);
}
