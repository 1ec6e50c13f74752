//! One step of a column: sun, surface, ice, convection, wind, diffusion, oxygen.

use super::background::{densities_of_kg_m3, diffusivity_m2_s, stability_per_s2};
use super::convection::Convection;
use super::diffusion::{Diffusion, conductance_m3};
use super::grid::Grid;
use super::ice::{freeze, step_ice};
use super::light::absorb_light;
use super::memory::Memory;
use super::oxygen::{aerate, take_up};
use super::parameters::{ColumnParameters, Site};
use super::seiche::add_waves;
use super::state::{Column, Lanes};
use super::surface::{SurfaceGain, surface_air, surface_albedos, surface_gain};
use super::wind::SurfaceStress;
use crate::column::forcing::Weather;
use crate::math::wide::wide;
use crate::physics::mixing::buoyancy_flux_m2_s3;
use crate::physics::radiation::LightInWater;
use crate::physics::stratification::TwoLayers;
use crate::physics::turbulent_flux::{SurfaceAir, stable_fluxes};
use crate::physics::water::{HEAT_CAPACITY_J_M3_K, water_density_kg_m3};

/// The surface layer ends where the water is so much denser, kg/m3: less than what lies between 4 degC and ice.
const DENSER_KG_M3: f64 = 0.05;
/// The longest that shear lasts, s: half an inertial period at 45 degrees, by which the turning earth has brought the moving layer to
/// rest again (Pollard, Rhines & Thompson 1973, from memory). Without it a lake near 4 degC, which has no tilt to speak of, would be sheared
/// without end and stirred to freezing before ice forms.
const HALF_TURN_S: f64 = 3.05e4;

/// What a step brought into each lane through its surface and bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchanged<const L: usize> {
    /// Heat, J, ice counted as less heat; that of the bed with it.
    pub heat_j: Lanes<L>,
    /// Oxygen from the air, g.
    pub air_oxygen_g: Lanes<L>,
    /// Oxygen that bed and water took, g.
    pub taken_oxygen_g: Lanes<L>,
    /// Evaporation, m3; dew counts below 0. Still in the surface layer: the caller takes it out with the flows.
    pub evaporated_m3: Lanes<L>,
}

/// Steps a column, with the memory that it needs from step to step and within one.
#[derive(Debug, Clone)]
pub struct ColumnStep<const L: usize> {
    convection: Convection,
    memory: Memory<L>,
    diffusion: Diffusion<L>,
    density_kg_m3: Vec<Lanes<L>>,
    n2_per_s2: Vec<Lanes<L>>,
    diffusivity_m2_s: Vec<Lanes<L>>,
    conductance_m3: Vec<Lanes<L>>,
    stability_per_s: Vec<Lanes<L>>,
}

impl<const L: usize> ColumnStep<L> {
    /// For a column that begins at rest, on a bed as warm as its water.
    pub fn new(column: &Column<L>) -> Self {
        let layers = column.layers();
        ColumnStep {
            convection: Convection::new(layers),
            memory: Memory::of(column),
            diffusion: Diffusion::new(layers),
            density_kg_m3: vec![[0.0; L]; layers],
            n2_per_s2: vec![[0.0; L]; layers + 1],
            diffusivity_m2_s: vec![[0.0; L]; layers + 1],
            conductance_m3: vec![[0.0; L]; layers + 1],
            stability_per_s: vec![[0.0; L]; layers + 1],
        }
    }

    /// What a run that is taken up again has to have beside the column.
    pub fn memory(&self) -> &Memory<L> {
        &self.memory
    }

    /// The same, to be taken up from an earlier run or begun anew. Its bed has the layers of the column.
    pub fn memory_mut(&mut self) -> &mut Memory<L> {
        &mut self.memory
    }

    /// One step of all lanes, each under its own weather.
    pub fn step(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        weather: &[Weather; L],
        (parameters, site): (&[ColumnParameters; L], Site),
        step_s: f64,
    ) -> Exchanged<L> {
        let mut exchanged = Exchanged {
            heat_j: [0.0; L],
            air_oxygen_g: [0.0; L],
            taken_oxygen_g: [0.0; L],
            evaporated_m3: [0.0; L],
        };
        let mut entering_w_m2 = [0.0; L];
        let mut gains = [SurfaceGain::NONE; L];
        // Of lanes under ice too: what they would have is thrown away.
        let open_air: [SurfaceAir; L] = std::array::from_fn(|lane| {
            let wind_speed_m_s = parameters[lane].wind_frac * weather[lane].wind_speed_m_s;
            surface_air(column, lane, &weather[lane], wind_speed_m_s)
        });
        let fluxes = stable_fluxes(&open_air);
        let albedo = surface_albedos(weather);
        let is_open = column.ice_m3.map(|ice_m3| ice_m3 <= 0.0);
        for lane in 0..L {
            let (air, own) = (&weather[lane], &parameters[lane]);
            let sky_w_m2 = own.sky_frac * air.sky_longwave_w_m2;
            let wind_speed_m_s = own.wind_frac * air.wind_speed_m_s;
            if column.ice_m3[lane] > 0.0 {
                let ice = step_ice(column, lane, air, (sky_w_m2, wind_speed_m_s), step_s);
                exchanged.heat_j[lane] += ice.heat_j;
                entering_w_m2[lane] = ice.entering_w_m2;
                continue;
            }
            entering_w_m2[lane] = air.sunlight_w_m2 * (1.0 - albedo[lane]);
            let gain = surface_gain(column, lane, (&open_air[lane], &fluxes[lane]), sky_w_m2, step_s);
            let top = column.top[lane];
            let area_m2 = column.surface_area_m2[lane];
            let heat_j = gain.heat_w_m2 * area_m2 * step_s;
            column.temp_degc[top][lane] += heat_j / (HEAT_CAPACITY_J_M3_K * column.volume_m3[top][lane]);
            exchanged.heat_j[lane] += heat_j;
            exchanged.evaporated_m3[lane] = gain.evaporation_m_s * area_m2 * step_s;
            gains[lane] = gain;
        }
        let winds_m_s: Lanes<L> = std::array::from_fn(|lane| open_air[lane].wind_speed_m_s);
        let pressures_pa: Lanes<L> = std::array::from_fn(|lane| open_air[lane].pressure_pa);
        exchanged.air_oxygen_g = aerate(column, is_open, (&winds_m_s, &pressures_pa), step_s);
        let bed_j = self.memory.bed.step(grid, column, step_s);
        let light: [LightInWater; L] = std::array::from_fn(|lane| parameters[lane].light);
        let sun_j = wide(
            #[inline(always)]
            || absorb_light(grid, column, &light, entering_w_m2, step_s),
        );
        let lowest = self.convection.step_finding(column, &mut self.density_kg_m3);
        let tilt_s = wide(
            #[inline(always)]
            || tilt_periods_s(grid, column, &self.density_kg_m3, site),
        );
        let mut waves_w_m2 = [0.0; L];
        // The lowest layer in which wind or frost may change what the convection left.
        let mut changed = column.layers();
        for lane in 0..L {
            exchanged.heat_j[lane] += sun_j[lane] + bed_j[lane];
            if column.ice_m3[lane] > 0.0 {
                self.memory.wind.rest(lane);
                continue;
            }
            let own = &parameters[lane];
            let skin_sun_w_m2 = own.light.surface_frac * entering_w_m2[lane];
            let stress = surface_stress(column, lane, (&gains[lane], skin_sun_w_m2), (own, tilt_s[lane]));
            let wind = &mut self.memory.wind;
            let mixed = wind.step(grid, column, lane, (own.mixing, stress), (lowest[lane], step_s));
            waves_w_m2[lane] = wind.power_taken_w_m2(lane, stress.shear_lasts_s);
            let frozen = freeze(column, lane);
            changed = changed.min(mixed.saturating_sub(1)).min(frozen);
        }
        if let Some(rows) = self.density_kg_m3.get_mut(changed..) {
            wide(
                #[inline(always)]
                || densities_of_kg_m3(&column.temp_degc[changed..], rows),
            );
        }
        self.diffuse(grid, column, (parameters, site), (&waves_w_m2, step_s));
        exchanged.taken_oxygen_g = wide(
            #[inline(always)]
            || take_up(grid, column, parameters, step_s),
        );
        exchanged
    }

    fn diffuse(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        (parameters, site): (&[ColumnParameters; L], Site),
        (waves_w_m2, step_s): (&Lanes<L>, f64),
    ) {
        wide(
            #[inline(always)]
            || {
                stability_per_s2(grid, column, &self.density_kg_m3, &mut self.n2_per_s2);
            },
        );
        wide(
            #[inline(always)]
            || {
                let (n2_per_s2, into) = (&self.n2_per_s2, &mut self.diffusivity_m2_s);
                diffusivity_m2_s(column, n2_per_s2, (parameters, site), into);
            },
        );
        wide(
            #[inline(always)]
            || {
                add_waves(
                    (grid, column),
                    &self.n2_per_s2,
                    (waves_w_m2, parameters),
                    &mut self.stability_per_s,
                    &mut self.diffusivity_m2_s,
                );
            },
        );
        conductance_m3(
            grid,
            column,
            &self.diffusivity_m2_s,
            step_s,
            &mut self.conductance_m3,
        );
        self.diffusion.step(
            &column.volume_m3,
            &self.conductance_m3,
            &mut [
                &mut column.temp_degc,
                &mut column.oxygen_mg_l,
                &mut column.river_frac,
            ],
        );
    }
}

/// What drives the surface layer of a lane: the wind's power less what the shores keep off, the buoyancy lost, and how
/// long the lake lets itself be tilted.
fn surface_stress<const L: usize>(
    column: &Column<L>,
    lane: usize,
    (gain, skin_sun_w_m2): (&SurfaceGain, f64),
    (own, tilt_s): (&ColumnParameters, f64),
) -> SurfaceStress {
    let top = column.top[lane];
    let temp_degc = column.temp_degc[top][lane];
    let warming_w_m2 = gain.heat_w_m2 + skin_sun_w_m2;
    SurfaceStress {
        friction_m_s: gain.friction_m_s * own.power_frac.cbrt(),
        buoyancy_loss_m2_s3: (-buoyancy_flux_m2_s3(warming_w_m2, temp_degc)).max(0.0),
        shear_lasts_s: (0.25 * tilt_s).min(HALF_TURN_S),
    }
}

/// Period of the first internal seiche of each lane's surface layer over the rest; infinite where there is no difference.
#[inline(always)]
fn tilt_periods_s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    density_kg_m3: &[Lanes<L>],
    site: Site,
) -> Lanes<L> {
    let mut base = column.top;
    for (lane, base) in base.iter_mut().enumerate() {
        let surface = density_kg_m3[*base][lane];
        while *base > 0 && density_kg_m3[*base - 1][lane] - surface < DENSER_KG_M3 {
            *base -= 1;
        }
    }
    let highest = base.into_iter().max().unwrap_or(0);
    let under = base.map(|base| base as f64);
    let (mut volume_m3, mut warmth) = ([0.0; L], [0.0; L]);
    let rows = column.volume_m3.iter().zip(&column.temp_degc).take(highest);
    for (layer, (held_m3, temp_degc)) in rows.enumerate() {
        let mut counted_m3 = [0.0; L];
        for lane in 0..L {
            counted_m3[lane] = if (layer as f64) < under[lane] {
                held_m3[lane]
            } else {
                0.0
            };
        }
        for lane in 0..L {
            volume_m3[lane] += counted_m3[lane];
            warmth[lane] += counted_m3[lane] * temp_degc[lane];
        }
    }
    let faces_m = grid.face_elevation_m();
    let mut periods_s = [f64::INFINITY; L];
    for lane in (0..L).filter(|lane| base[*lane] > 0) {
        let surface = density_kg_m3[column.top[lane]][lane];
        let base_m = faces_m[base[lane]];
        let two = TwoLayers {
            upper_kg_m3: surface,
            lower_kg_m3: water_density_kg_m3(warmth[lane] / volume_m3[lane]).max(surface + DENSER_KG_M3),
            upper_m: column.surface_elevation_m[lane] - base_m,
            lower_m: base_m - faces_m[0],
            length_m: site.length_m,
        };
        periods_s[lane] = two.seiche_period_s();
    }
    periods_s
}
