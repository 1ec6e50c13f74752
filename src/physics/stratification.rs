//! Indices of stratification: thermocline, mixed depth, stability against wind, seiche, turnover.
//!
//! Definitions of Read et al. 2011, with their gravity of 9.81 m/s2. Depths are below the surface, increasing.

use super::constants::GRAVITY_OF_INDICES_M_S2 as GRAVITY_M_S2;
use super::water::water_density_kg_m3;
use crate::math::roots::bisect;

/// Gradient of density that bounds the metalimnion, kg/m3 a metre (Read et al. 2011).
pub const METALIMNION_KG_M4: f64 = 0.1;
/// Density difference from the surface at which the mixed layer ends, kg/m3 (Wilson et al. 2020: definitions
/// differ by metres, so the number goes with its name).
pub const MIXED_LAYER_KG_M3: f64 = 0.1;
/// Difference of density between bottom and surface under which the water column counts as turned over, kg/m3
/// (Woolway et al. 2021, from memory).
pub const TURNED_OVER_KG_M3: f64 = 0.1;
/// Least range of temperature of a column that has a thermocline, degC (Read et al. 2011).
const LEAST_RANGE_DEGC: f64 = 1.0;
/// Least gradient of a seasonal thermocline as a share of the steepest one (Read et al. 2011).
const SEASONAL_SHARE: f64 = 0.15;

/// Slope of `value` over `depth_m` between each two neighbours, and the depth in the middle.
fn slopes(depth_m: &[f64], value: &[f64]) -> Vec<(f64, f64)> {
    depth_m
        .windows(2)
        .zip(value.windows(2))
        .map(|(z, v)| (0.5 * (z[0] + z[1]), (v[1] - v[0]) / (z[1] - z[0])))
        .collect()
}

fn densities(temp_degc: &[f64]) -> Vec<f64> {
    temp_degc.iter().map(|t| water_density_kg_m3(*t)).collect()
}

/// Depth of the steepest density gradient; `None` where temperatures differ by less than 1 degC or fewer than three
/// depths are given.
///
/// Between the three gradients about the steepest, with `Su = dz/(d[k] - d[k-1])` and `Sd = -dz/(d[k+1] - d[k])`,
/// `z = z_down Sd/(Sd + Su) + z_up Su/(Sd + Su)`; without a neighbour, the middle. m. Source: Read et al. 2011.
pub fn thermocline_depth_m(depth_m: &[f64], temp_degc: &[f64]) -> Option<f64> {
    let steep = slopes(depth_m, &densities(temp_degc));
    let k = (0..steep.len()).max_by(|a, b| steep[*a].1.total_cmp(&steep[*b].1))?;
    has_thermocline(temp_degc, &steep).then(|| refined(depth_m, &steep, k))
}

/// Depth of the deepest gradient that stands out: the deepest local maximum over 0.1 kg/m3 a metre and over 0.15 of
/// the steepest. A day's warm skin has a thermocline of its own; this one is the season's. `None` as above.
/// Source: Read et al. 2011.
pub fn seasonal_thermocline_depth_m(depth_m: &[f64], temp_degc: &[f64]) -> Option<f64> {
    let steep = slopes(depth_m, &densities(temp_degc));
    if !has_thermocline(temp_degc, &steep) {
        return None;
    }
    let peak = steep.iter().map(|s| s.1).fold(f64::NEG_INFINITY, f64::max);
    let least = METALIMNION_KG_M4.max(SEASONAL_SHARE * peak);
    let at = |k: usize| steep.get(k).map_or(f64::NEG_INFINITY, |s| s.1);
    let is_local =
        |k: &usize| at(*k) >= least && k.checked_sub(1).is_none_or(|b| at(*k) >= at(b)) && at(*k) > at(k + 1);
    let k = (0..steep.len()).rev().find(is_local)?;
    Some(refined(depth_m, &steep, k))
}

fn has_thermocline(temp_degc: &[f64], steep: &[(f64, f64)]) -> bool {
    let most = temp_degc.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = temp_degc.iter().copied().fold(f64::INFINITY, f64::min);
    steep.len() >= 2 && most - least >= LEAST_RANGE_DEGC
}

fn refined(depth_m: &[f64], steep: &[(f64, f64)], k: usize) -> f64 {
    let middle = steep[k].0;
    let (Some(above), Some(below)) = (k.checked_sub(1).map(|a| steep[a]), steep.get(k + 1)) else {
        return middle;
    };
    let (up_m, down_m) = (depth_m[k], depth_m[k + 1]);
    let up = (down_m - up_m) / (steep[k].1 - above.1);
    let down = -(down_m - up_m) / (below.1 - steep[k].1);
    if !(up.is_finite() && down.is_finite()) {
        return middle;
    }
    (down_m * down + up_m * up) / (down + up)
}

/// Depths, above and below the steepest place, at which the gradient of `value` falls to `least`: upper and lower end
/// of the layer of change, interpolated between the gradients. Where it stays steeper to an end, that end.
/// `None` where it is nowhere that steep.
///
/// With densities and 0.1 kg/m3 a metre the metalimnion (Read et al. 2011); with temperatures turned in sign and
/// 1 degC a metre the rule of Birge 1897. The two differ.
pub fn layer_of_change_m(depth_m: &[f64], value: &[f64], least: f64) -> Option<(f64, f64)> {
    let steep = slopes(depth_m, value);
    let k = (0..steep.len()).max_by(|a, b| steep[*a].1.total_cmp(&steep[*b].1))?;
    if steep[k].1 < least {
        return None;
    }
    let crossing = |inner: (f64, f64), outer: (f64, f64)| {
        inner.0 + (outer.0 - inner.0) * (inner.1 - least) / (inner.1 - outer.1)
    };
    let upper = (0..k).rev().find(|i| steep[*i].1 < least);
    let lower = (k + 1..steep.len()).find(|i| steep[*i].1 < least);
    Some((
        upper.map_or(depth_m[0], |i| crossing(steep[i + 1], steep[i])),
        lower.map_or(depth_m[depth_m.len() - 1], |i| crossing(steep[i - 1], steep[i])),
    ))
}

/// Upper and lower end of the metalimnion; `None` without one. See [`layer_of_change_m`].
pub fn metalimnion_m(depth_m: &[f64], temp_degc: &[f64]) -> Option<(f64, f64)> {
    layer_of_change_m(depth_m, &densities(temp_degc), METALIMNION_KG_M4)
}

/// First depth at which the water is `difference_kg_m3` denser than at the first depth, interpolated; `None` where
/// it is mixed to the last one.
pub fn mixed_depth_m(depth_m: &[f64], temp_degc: &[f64], difference_kg_m3: f64) -> Option<f64> {
    let density = densities(temp_degc);
    let limit = density.first()? + difference_kg_m3;
    let k = density.iter().position(|d| *d >= limit)?;
    let before = k.checked_sub(1)?;
    let share = (limit - density[before]) / (density[k] - density[before]);
    Some(depth_m[before] + share * (depth_m[k] - depth_m[before]))
}

/// A layer of a water column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterLayer {
    /// Depth of its middle, m.
    pub depth_m: f64,
    /// Volume, m3.
    pub volume_m3: f64,
    /// Density, kg/m3.
    pub density_kg_m3: f64,
}

/// Depth of the centre of volume: `zv = sum z V / sum V`, m; `None` of no water.
pub fn centre_of_volume_m(layers: &[WaterLayer]) -> Option<f64> {
    let volume_m3: f64 = layers.iter().map(|l| l.volume_m3).sum();
    let moment: f64 = layers.iter().map(|l| l.depth_m * l.volume_m3).sum();
    (volume_m3 > 0.0).then(|| moment / volume_m3)
}

/// Schmidt stability: `St = (g/A0) sum (z - zv) rho V`, the work that mixing the column whole would take, J/m2.
///
/// A0 = `surface_area_m2`; the layers reach to the bed, or stability is lost below the last sensor. `None` of no
/// water. Source: Idso 1973, form of Read et al. 2011.
pub fn schmidt_stability_j_m2(layers: &[WaterLayer], surface_area_m2: f64) -> Option<f64> {
    let centre_m = centre_of_volume_m(layers)?;
    let moment: f64 = layers
        .iter()
        .map(|l| (l.depth_m - centre_m) * l.density_kg_m3 * l.volume_m3)
        .sum();
    Some(GRAVITY_M_S2 * moment / surface_area_m2)
}

/// Friction velocity in the water from the wind: `sqrt(rho_a CD U^2 / rho_w)`, m/s.
pub fn water_friction_m_s(wind_speed_m_s: f64, drag_coefficient: f64, air_to_water_density: f64) -> f64 {
    wind_speed_m_s * (drag_coefficient * air_to_water_density).sqrt()
}

/// Two layers of different density in a basin under wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoLayers {
    /// Density of the upper layer, kg/m3.
    pub upper_kg_m3: f64,
    /// Density of the lower layer, kg/m3.
    pub lower_kg_m3: f64,
    /// Thickness of the upper layer, m.
    pub upper_m: f64,
    /// Thickness of the lower layer, m.
    pub lower_m: f64,
    /// Length of the basin at the interface along the wind, m.
    pub length_m: f64,
}

impl TwoLayers {
    /// Reduced gravity: `g (rho_lower - rho_upper)/rho_lower`, m/s2.
    pub fn reduced_gravity_m_s2(&self) -> f64 {
        GRAVITY_M_S2 * (self.lower_kg_m3 - self.upper_kg_m3) / self.lower_kg_m3
    }

    /// Wedderburn number: `W = g' h^2 / (u*^2 L)`. Over 10 calm; 1-10 tilting; under 1 the lower layer comes up at the
    /// upwind end. Source: Imberger & Hamblin 1982; limits are of the order of magnitude.
    pub fn wedderburn(&self, water_friction_m_s: f64) -> f64 {
        self.reduced_gravity_m_s2() * self.upper_m * self.upper_m
            / (water_friction_m_s * water_friction_m_s * self.length_m)
    }

    /// Period of the first internal seiche: `2 L / sqrt(g' h1 h2/(h1 + h2))`, s. Source: Merian 1828, two layers.
    pub fn seiche_period_s(&self) -> f64 {
        let depth_m = self.upper_m * self.lower_m / (self.upper_m + self.lower_m);
        2.0 * self.length_m / (self.reduced_gravity_m_s2() * depth_m).sqrt()
    }

    /// How far the interface rises at the upwind end under a steady wind: `u*^2 L / (2 g' h)`, m; the wind has to
    /// hold for a quarter of the seiche. Source: Spigel & Imberger 1980.
    pub fn setup_m(&self, water_friction_m_s: f64) -> f64 {
        water_friction_m_s * water_friction_m_s * self.length_m
            / (2.0 * self.reduced_gravity_m_s2() * self.upper_m)
    }
}

/// What the Lake Number looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LakeNumber {
    /// Schmidt stability, J/m2.
    pub stability_j_m2: f64,
    /// Depth of the centre of volume, m.
    pub centre_m: f64,
    /// Upper and lower end of the metalimnion, m.
    pub metalimnion_m: (f64, f64),
    /// Density of the hypolimnion, kg/m3.
    pub hypolimnion_kg_m3: f64,
    /// Area of the surface, m2.
    pub surface_area_m2: f64,
}

impl LakeNumber {
    /// `L = St (z_top + z_bottom) / (2 rho_h u*^2 sqrt(A0) zv)`. Source: Read et al. 2011, with depths from the
    /// surface; the original of Imberger & Patterson 1990 has heights above the bed.
    pub fn value(&self, water_friction_m_s: f64) -> f64 {
        self.stability_j_m2 * (self.metalimnion_m.0 + self.metalimnion_m.1)
            / (2.0
                * self.hypolimnion_kg_m3
                * water_friction_m_s
                * water_friction_m_s
                * self.surface_area_m2.sqrt()
                * self.centre_m)
    }
}

/// Square of the buoyancy frequency between neighbouring depths: `N2 = (g/rho) d rho/dz`, 1/s2, beside the depth of
/// the middle, m.
pub fn buoyancy_frequency(depth_m: &[f64], temp_degc: &[f64]) -> Vec<(f64, f64)> {
    let density = densities(temp_degc);
    slopes(depth_m, &density)
        .into_iter()
        .zip(density.windows(2))
        .map(|((z, slope), d)| (z, GRAVITY_M_S2 / (0.5 * (d[0] + d[1])) * slope))
        .collect()
}

/// How much warmer than the bottom a surface may be at a difference of density, degC: the step dT with
/// `rho(T) - rho(T + dT) = difference`. `None` where none under 30 degC is.
pub fn warmer_by_degc(bottom_degc: f64, difference_kg_m3: f64) -> Option<f64> {
    let at = |step: f64| {
        water_density_kg_m3(bottom_degc) - water_density_kg_m3(bottom_degc + step) - difference_kg_m3
    };
    bisect(at, 0.0, 30.0, 1e-9)
}
