//! Temperature of the lake: one column of layers about 1 m thick, stepped hourly.
//!
//! Layers stand on the bed; the top one is 0.5 to 1.5 m thick and ends at the surface. Within a day the
//! volumes stand still; at the end of each day water goes in and out layer by layer and the column is
//! cut anew at the day's level, conserving volume and heat.

use super::bowl::Bowl;
use super::dice::{bell, exp, pow, sin};
use super::fluxes::{Air, EVAPORATION_J_M3, WATER_HEAT_J_M3, surface_exchange_w_m2};
use super::hours::LATITUDE_DEG;

const STEP_S: f64 = 3600.0;
const GRAVITY_M_S2: f64 = 9.81;
/// Light extinction of the lake.
const EXTINCTION_PER_M: f64 = 0.42;
/// Share of shortwave that the first half metre takes.
const NEAR_INFRARED_FRAC: f64 = 0.45;
/// Albedo of water.
const ALBEDO: f64 = 0.06;
/// Sheltering of the lake's surface: wind over water over wind of the weather cell.
const SHELTER: f64 = 1.05;
/// Molecular and background diffusivity.
const BACKGROUND_M2_S: f64 = 1.5e-7;
/// Greatest diffusivity that stratified deep water gets.
const DEEP_CAP_M2_S: f64 = 5.0e-5;

/// Share of the wind's work that deepens the mixed layer.
const STIRRING: f64 = 0.8;
/// Surface water that a river takes in as it plunges, per volume of river.
const ENTRAINMENT: f64 = 1.2;

/// The column.
pub struct Body {
    /// Temperature of each layer, bottom first.
    temp_degc: Vec<f64>,
    /// Volume of each layer, bottom first.
    volume_m3: Vec<f64>,
    /// Elevation of the surface.
    pub level_m: f64,
    /// Thickness of the top layer.
    top_thickness_m: f64,
    /// Work of the wind not yet spent on deepening the mixed layer.
    spare_j: f64,
}

/// Water that enters during a day.
#[derive(Clone, Copy)]
pub struct Entering {
    pub volume_m3: f64,
    pub temp_degc: f64,
}

impl Body {
    /// An isothermal column.
    pub fn isothermal(bowl: &Bowl, level_m: f64, temp_degc: f64) -> Body {
        let mut body = Body {
            temp_degc: vec![],
            volume_m3: vec![],
            level_m,
            top_thickness_m: 1.0,
            spare_j: 0.0,
        };
        body.cut(bowl, &[(bowl.volume_m3(level_m), temp_degc)]);
        body
    }

    /// Temperature at a depth, linear between the middles of the layers; constant outside of them.
    pub fn temp_at_degc(&self, bowl: &Bowl, depth_m: f64) -> f64 {
        let wanted_m = self.level_m - depth_m;
        let count = self.temp_degc.len();
        let middle_m = |layer: usize| {
            let bottom_m = bowl.bed_m() + layer as f64;
            if layer + 1 == count {
                0.5 * (bottom_m + self.level_m)
            } else {
                bottom_m + 0.5
            }
        };
        for layer in (0..count - 1).rev() {
            if wanted_m >= middle_m(layer) {
                let (low_m, high_m) = (middle_m(layer), middle_m(layer + 1));
                let part = ((wanted_m - low_m) / (high_m - low_m)).min(1.0);
                return self.temp_degc[layer] + part * (self.temp_degc[layer + 1] - self.temp_degc[layer]);
            }
        }
        self.temp_degc[0]
    }

    /// Temperature of the top layer.
    pub fn surface_degc(&self) -> f64 {
        self.temp_degc[self.temp_degc.len() - 1]
    }

    /// One hour of weather. Gives the evaporation of the hour as a depth.
    pub fn step_hour(&mut self, bowl: &Bowl, air: Air) -> f64 {
        let air = Air {
            wind_m_s: SHELTER * air.wind_m_s,
            ..air
        };
        let count = self.temp_degc.len();
        let (exchange, latent_w_m2) = surface_exchange_w_m2(air, self.surface_degc());
        self.absorb(bowl, exchange, (1.0 - ALBEDO) * air.shortwave_w_m2);
        let diffusivity = self.diffusivity_m2_s(air.wind_m_s);
        // Implicit diffusion with the areas of the faces: a tridiagonal solve, bottom first.
        let (mut upper, mut right) = (vec![0.0; count], vec![0.0; count]);
        for layer in 0..count {
            let face = |k: usize| {
                let area_m2 = bowl.area_m2(bowl.bed_m() + k as f64);
                STEP_S * diffusivity[k] * area_m2 / self.volume_m3[layer]
            };
            let below = if layer > 0 { face(layer) } else { 0.0 };
            let above = if layer + 1 < count { face(layer + 1) } else { 0.0 };
            let (before_upper, before_right) = if layer > 0 {
                (upper[layer - 1], right[layer - 1])
            } else {
                (0.0, 0.0)
            };
            let pivot = 1.0 + below + above + below * before_upper;
            upper[layer] = -above / pivot;
            right[layer] = (self.temp_degc[layer] + below * before_right) / pivot;
        }
        let mut above_degc = 0.0;
        for layer in (0..count).rev() {
            above_degc = right[layer] - upper[layer] * above_degc;
            self.temp_degc[layer] = above_degc;
        }
        self.overturn();
        self.stir(bowl, air.wind_m_s);
        latent_w_m2.max(0.0) * STEP_S / EVAPORATION_J_M3
    }

    /// Heat through the surface into the top layer, shortwave down through the layers; what reaches the
    /// bed heats the water over it.
    fn absorb(&mut self, bowl: &Bowl, exchange_w_m2: f64, sun_w_m2: f64) {
        let count = self.temp_degc.len();
        let light = |elevation_m: f64| {
            let depth_m = self.level_m - elevation_m;
            (1.0 - NEAR_INFRARED_FRAC) * sun_w_m2 * exp(-EXTINCTION_PER_M * depth_m)
        };
        let mut above = sun_w_m2;
        for layer in (0..count).rev() {
            let bottom_m = bowl.bed_m() + layer as f64;
            let top_m = if layer + 1 == count {
                self.level_m
            } else {
                bottom_m + 1.0
            };
            let (area_top, area_bottom) = (bowl.area_m2(top_m), bowl.area_m2(bottom_m));
            let through = if layer == 0 { 0.0 } else { light(bottom_m) };
            let mut heat_w = above * area_top - through * area_bottom;
            if layer + 1 == count {
                heat_w += exchange_w_m2 * area_top;
            }
            self.temp_degc[layer] += heat_w * STEP_S / (WATER_HEAT_J_M3 * self.volume_m3[layer]);
            above = through;
        }
    }

    /// Diffusivity at each face; face k lies at the bottom of layer k. Wind-driven part of Henderson-Sellers
    /// (1985); below it the stability-dependent part of Hondzo and Stefan (1993), capped.
    fn diffusivity_m2_s(&self, wind_m_s: f64) -> Vec<f64> {
        let count = self.temp_degc.len();
        let friction_m_s = 1.2e-3 * wind_m_s;
        let ekman_per_m = 6.6 * libm::sqrt(sin(LATITUDE_DEG.to_radians())) * pow(wind_m_s.max(0.5), -1.84);
        let top_bottom_m = (count - 1) as f64;
        let top_m = top_bottom_m + self.top_thickness_m;
        let at = |face: usize| {
            let depth_m = top_m - face as f64;
            let (low, high) = (
                density_kg_m3(self.temp_degc[face - 1]),
                density_kg_m3(self.temp_degc[face]),
            );
            let stability_per_s2 = (GRAVITY_M_S2 / 1000.0 * (low - high)).max(0.0);
            let decay = exp(-ekman_per_m * depth_m);
            let shear = (0.4 * depth_m / (friction_m_s * decay).max(1e-9)).min(1e6);
            let richardson = 0.05 * (-1.0 + libm::sqrt(1.0 + 40.0 * stability_per_s2 * shear * shear));
            let wind = 0.4 * friction_m_s * depth_m * decay / (1.0 + 37.0 * richardson * richardson);
            let deep = 1.1e-7 * pow(stability_per_s2.max(1e-7), -0.43);
            BACKGROUND_M2_S + deep.min(DEEP_CAP_M2_S) + wind.min(1e-2)
        };
        (0..count)
            .map(|face| if face == 0 { 0.0 } else { at(face) })
            .collect()
    }

    /// Deepens the mixed layer by the work of the wind, `C rho u*^3 A`, against the weight of the layer
    /// below (Kraus and Turner 1967 in layers). What does not suffice for a whole layer waits, fading.
    fn stir(&mut self, bowl: &Bowl, wind_m_s: f64) {
        let friction_m_s = 1.2e-3 * wind_m_s;
        let work_w_m2 = STIRRING * 1000.0 * friction_m_s * friction_m_s * friction_m_s;
        self.spare_j = 0.9 * self.spare_j + work_w_m2 * bowl.area_m2(self.level_m) * STEP_S;
        let count = self.temp_degc.len();
        let (mut volume_m3, mut heat) = (0.0, 0.0);
        let mut reached = count;
        for layer in (0..count).rev() {
            if layer + 1 < count {
                let heavier = density_kg_m3(self.temp_degc[layer]) - density_kg_m3(heat / volume_m3);
                let depth_m = (count - 2 - layer) as f64 + self.top_thickness_m;
                let needed_j = 0.5 * GRAVITY_M_S2 * heavier.max(0.0) * depth_m * self.volume_m3[layer];
                if needed_j > self.spare_j {
                    break;
                }
                self.spare_j -= needed_j;
            }
            volume_m3 += self.volume_m3[layer];
            heat += self.volume_m3[layer] * self.temp_degc[layer];
            reached = layer;
        }
        for layer in reached..count {
            self.temp_degc[layer] = heat / volume_m3;
        }
    }

    /// Convective adjustment: layers that lie heavier over lighter are mixed until none do.
    fn overturn(&mut self) {
        // Blocks from the top down: (volume, heat, layers).
        let mut blocks: Vec<(f64, f64, usize)> = Vec::with_capacity(self.temp_degc.len());
        for layer in (0..self.temp_degc.len()).rev() {
            let mut block = (
                self.volume_m3[layer],
                self.volume_m3[layer] * self.temp_degc[layer],
                1,
            );
            while let Some(above) = blocks.last() {
                if density_kg_m3(above.1 / above.0) <= density_kg_m3(block.1 / block.0) {
                    break;
                }
                block = (block.0 + above.0, block.1 + above.1, block.2 + above.2);
                blocks.pop();
            }
            blocks.push(block);
        }
        let mut layer = self.temp_degc.len();
        for (volume, heat, count) in blocks {
            for _ in 0..count {
                layer -= 1;
                self.temp_degc[layer] = heat / volume;
            }
        }
    }

    /// End of a day: the release leaves around the outlet, evaporation from the top, rivers enter at the
    /// layer of their own density after taking in half their volume of surface water.
    pub fn exchange_water(
        &mut self,
        bowl: &Bowl,
        release_m3: f64,
        evaporation_m3: f64,
        rivers: &[Entering],
        level_m: f64,
    ) {
        let count = self.temp_degc.len();
        let mut water: Vec<(f64, f64)> = self
            .volume_m3
            .iter()
            .copied()
            .zip(self.temp_degc.iter().copied())
            .collect();
        let outlet_layer = bowl.outlets_m[0] - bowl.bed_m();
        let pull: Vec<f64> = (0..count)
            .map(|k| self.volume_m3[k] * bell((k as f64 + 0.5 - outlet_layer) / 6.0))
            .collect();
        let pull_sum: f64 = pull.iter().sum();
        let mut owed_m3 = evaporation_m3;
        for (part, share) in water.iter_mut().zip(&pull) {
            let wanted_m3 = release_m3 * share / pull_sum;
            let taken_m3 = wanted_m3.min(0.8 * part.0);
            part.0 -= taken_m3;
            owed_m3 += wanted_m3 - taken_m3;
        }
        take_from_top(&mut water, owed_m3);
        for river in rivers {
            insert(&mut water, *river);
        }
        self.level_m = level_m;
        self.cut(bowl, &water);
        self.overturn();
    }

    /// Cuts the column anew from parcels `(volume, temperature)`, bottom first; the last one also fills
    /// what rounding leaves.
    fn cut(&mut self, bowl: &Bowl, parcels: &[(f64, f64)]) {
        let depth_m = self.level_m - bowl.bed_m();
        let count = ((depth_m + 0.5) as usize).max(2);
        let mut bottom_m3 = 0.0;
        let (mut volumes, mut temps) = (Vec::with_capacity(count), Vec::with_capacity(count));
        let mut parcel = 0;
        let mut left_m3 = parcels[0].0;
        for layer in 0..count {
            let top_m = if layer + 1 == count {
                self.level_m
            } else {
                bowl.bed_m() + (layer + 1) as f64
            };
            let top_m3 = bowl.volume_m3(top_m);
            let volume_m3 = top_m3 - bottom_m3;
            bottom_m3 = top_m3;
            let (mut needed_m3, mut heat) = (volume_m3, 0.0);
            while needed_m3 > 0.0 {
                let last = parcel + 1 == parcels.len();
                let taken_m3 = if last { needed_m3 } else { needed_m3.min(left_m3) };
                heat += taken_m3 * parcels[parcel].1;
                needed_m3 -= taken_m3;
                left_m3 -= taken_m3;
                if left_m3 <= 0.0 && !last {
                    parcel += 1;
                    left_m3 = parcels[parcel].0;
                }
            }
            volumes.push(volume_m3);
            temps.push(heat / volume_m3);
        }
        self.top_thickness_m = depth_m - (count - 1) as f64;
        self.volume_m3 = volumes;
        self.temp_degc = temps;
    }
}

fn take_from_top(water: &mut [(f64, f64)], mut wanted_m3: f64) {
    for part in water.iter_mut().rev() {
        let taken_m3 = wanted_m3.min(0.9 * part.0);
        part.0 -= taken_m3;
        wanted_m3 -= taken_m3;
        if wanted_m3 <= 0.0 {
            return;
        }
    }
}

fn insert(water: &mut Vec<(f64, f64)>, river: Entering) {
    let mut entrained = (0.0, 0.0);
    let top = water.len();
    for part in water.iter_mut().skip(top.saturating_sub(4)) {
        let taken_m3 = (ENTRAINMENT * river.volume_m3 / 4.0).min(0.5 * part.0);
        part.0 -= taken_m3;
        entrained = (entrained.0 + taken_m3, entrained.1 + taken_m3 * part.1);
    }
    let volume_m3 = river.volume_m3 + entrained.0;
    let temp_degc = (river.volume_m3 * river.temp_degc + entrained.1) / volume_m3;
    let density = density_kg_m3(temp_degc);
    let place = water
        .iter()
        .rposition(|part| density_kg_m3(part.1) >= density)
        .map_or(0, |below| below + 1);
    water.insert(place, (volume_m3, temp_degc));
}

/// Density of fresh water near the surface, parabola about 3.98 degC that is good to 0.1 kg/m3 below
/// 12 degC, with a cubic term above.
pub fn density_kg_m3(temp_degc: f64) -> f64 {
    let x = temp_degc - 3.983;
    999.975 - 0.0079 * x * x + 5.0e-5 * x * x * x
}
