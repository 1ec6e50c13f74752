//! A river that enters a lake: whether it plunges, how deep, how it is thinned, how its sediment sinks.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::constants::GRAVITY_M_S2;
use super::water::water_density_kg_m3;
use crate::math::fast;
use crate::math::powers::{FIFTH_ROOT, FIVE_THIRDS, MOST_NEAR_ONE};

/// Difference of density under which a river neither plunges nor floats for certain, kg/m3 (common practice, no
/// source): the wind decides.
pub const WEAK_DIFFERENCE_KG_M3: f64 = 0.05;

/// Reduced gravity of water of one density in water of another: `g (rho_in - rho_lake)/rho_lake`, m/s2; positive
/// where the river is the denser.
pub fn reduced_gravity_m_s2(inflow_kg_m3: f64, lake_kg_m3: f64) -> f64 {
    GRAVITY_M_S2 * (inflow_kg_m3 - lake_kg_m3) / lake_kg_m3
}

/// Densimetric Froude number: `F = U / sqrt(g' h)`.
pub fn densimetric_froude(speed_m_s: f64, reduced_gravity_m_s2: f64, depth_m: f64) -> f64 {
    speed_m_s / (reduced_gravity_m_s2 * depth_m).sqrt()
}

/// Depth at which a river plunges in a channel of upright sides: `h = (q^2 / (F^2 g'))^(1/3)`, q = Q/B.
///
/// q = `flow_per_width_m2_s`, F = `plunge_froude`: 0.5, in the field 0.1-0.7 (Ford & Johnson 1983); flumes of Singh &
/// Shah 1971 give `1.3 (q^2/g')^(1/3)`, F 0.67. m. `None` where the river does not sink (g' not over 0).
pub fn plunge_depth_m(
    flow_per_width_m2_s: f64,
    reduced_gravity_m_s2: f64,
    plunge_froude: f64,
) -> Option<f64> {
    (reduced_gravity_m_s2 > 0.0).then(|| {
        (flow_per_width_m2_s * flow_per_width_m2_s / (plunge_froude * plunge_froude * reduced_gravity_m_s2))
            .cbrt()
    })
}

/// A channel of triangular section, as a drowned river valley is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TriangularChannel {
    /// Tangent of half the angle between its sides: half the width over the depth.
    pub half_angle_tan: f64,
    /// Slope of its bed.
    pub slope: f64,
    /// Drag coefficient of its bed, 0.015 (Imberger & Patterson 1981).
    pub drag_coefficient: f64,
}

/// An underflow on its way down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Underflow {
    /// Richardson number of normal flow.
    pub richardson: f64,
    /// Entrainment coefficient.
    pub entrainment: f64,
    /// Depth at the beginning, m.
    pub start_depth_m: f64,
}

impl TriangularChannel {
    /// Depth at which a river plunges: `h = (2 Q^2 / (F^2 g' tan^2 phi))^(1/5)`, m; `None` where it does not sink.
    /// Source: Hebbert et al. 1979.
    pub fn plunge_depth_m(
        &self,
        flow_m3s: f64,
        reduced_gravity_m_s2: f64,
        plunge_froude: f64,
    ) -> Option<f64> {
        let wide = plunge_froude * self.half_angle_tan;
        (reduced_gravity_m_s2 > 0.0)
            .then(|| (2.0 * flow_m3s * flow_m3s / (wide * wide * reduced_gravity_m_s2)).powf(0.2))
    }

    /// What the channel alone decides of an underflow.
    ///
    /// ```text
    /// Ri = CD (1 + 0.21 sqrt(CD) sin phi) / (sin phi tan alpha),  E = 1.6 CD^1.5 / Ri
    /// ```
    ///
    /// `None` where the bed does not fall. Source: Imberger & Patterson 1981.
    pub fn normal_flow(&self) -> Option<NormalFlow> {
        let sine = self.half_angle_tan / self.half_angle_tan.hypot(1.0);
        let drag = self.drag_coefficient;
        let richardson = drag * (1.0 + 0.21 * drag.sqrt() * sine) / (sine * self.slope);
        (self.slope > 0.0).then(|| NormalFlow {
            richardson,
            entrainment: 1.6 * drag * drag.sqrt() / richardson,
            half_angle_tan: self.half_angle_tan,
        })
    }

    /// The underflow of a river after its plunge: [`TriangularChannel::normal_flow`] with its depth at the beginning. `None`
    /// where the river does not sink or the bed does not fall. Source: Imberger & Patterson 1981.
    pub fn underflow(&self, flow_m3s: f64, reduced_gravity_m_s2: f64) -> Option<Underflow> {
        let normal = self.normal_flow().filter(|_| reduced_gravity_m_s2 > 0.0)?;
        Some(Underflow {
            richardson: normal.richardson,
            entrainment: normal.entrainment,
            start_depth_m: normal.start_depth_m(flow_m3s, reduced_gravity_m_s2),
        })
    }
}

/// Normal flow down a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalFlow {
    /// Richardson number.
    pub richardson: f64,
    /// Entrainment coefficient.
    pub entrainment: f64,
    /// Tangent of half the angle between the channel's sides.
    pub half_angle_tan: f64,
}

impl NormalFlow {
    /// Depth of an underflow of this flow: `h0 = (2 Q^2 Ri / (g' tan^2 phi))^(1/5)`, m; g' positive.
    /// Source: Imberger & Patterson 1981.
    #[inline(always)]
    pub fn start_depth_m(&self, flow_m3s: f64, reduced_gravity_m_s2: f64) -> f64 {
        let wide = self.half_angle_tan * self.half_angle_tan * reduced_gravity_m_s2;
        fast::powf(2.0 * flow_m3s * flow_m3s * self.richardson / wide, 0.2)
    }
}

impl NormalFlow {
    /// Depth of an underflow after a way over that at its beginning: `1 + 1.2 E x/h0`, h0 of [`NormalFlow::start_depth_m`],
    /// relative error under 1e-10 ([`FIFTH_ROOT`]). Source: Imberger & Patterson 1981.
    #[inline(always)]
    pub fn depth_ratio(&self, flow_m3s: f64, reduced_gravity_m_s2: f64, way_m: f64) -> f64 {
        let wide = self.half_angle_tan * self.half_angle_tan / (2.0 * self.richardson * flow_m3s * flow_m3s);
        let per_depth_per_m = FIFTH_ROOT.of(wide * reduced_gravity_m_s2);
        1.0 + 1.2 * self.entrainment * way_m * per_depth_per_m
    }
}

/// [`Underflow::dilution`] of depths in the given ratios, relative error under 1e-11 ([`FIVE_THIRDS`]).
#[inline(always)]
pub fn dilutions<const L: usize>(depth_ratio: &[f64; L]) -> [f64; L] {
    let mut dilution = [0.0; L];
    // The same bits either way.
    if depth_ratio.iter().all(|ratio| *ratio <= MOST_NEAR_ONE) {
        for lane in 0..L {
            dilution[lane] = FIVE_THIRDS.near_one(depth_ratio[lane]);
        }
    } else {
        for lane in 0..L {
            dilution[lane] = FIVE_THIRDS.of(depth_ratio[lane]);
        }
    }
    dilution
}

impl Underflow {
    /// Depth after a way: `h = 1.2 E x + h0`, m.
    #[inline(always)]
    pub fn depth_m(&self, way_m: f64) -> f64 {
        1.2 * self.entrainment * way_m + self.start_depth_m
    }

    /// How many times the flow it has become after a way: `(h/h0)^(5/3)`. Source: Imberger & Patterson 1981.
    #[inline(always)]
    pub fn dilution(&self, way_m: f64) -> f64 {
        fast::powf(self.depth_m(way_m) / self.start_depth_m, 5.0 / 3.0)
    }
}

/// Speed of the front of an underflow: `1.5 (g' q)^(1/3)`, m/s. Source: form of Britter & Linden 1980.
pub fn underflow_front_m_s(flow_per_width_m2_s: f64, reduced_gravity_m_s2: f64) -> f64 {
    1.5 * (reduced_gravity_m_s2 * flow_per_width_m2_s).cbrt()
}

/// Thickness of a river that floats: `1.35 (q^2/g')^(1/3)`, m; g' of the lake over the river, positive.
/// Source: Yih 1958, as quoted by the USACE.
pub fn overflow_thickness_m(flow_per_width_m2_s: f64, reduced_gravity_m_s2: f64) -> f64 {
    1.35 * (flow_per_width_m2_s * flow_per_width_m2_s / reduced_gravity_m_s2).cbrt()
}

/// Where a river goes in a column of water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InflowPath {
    /// Lighter than the surface.
    Overflow,
    /// Between the density of the surface and that of the bottom.
    Interflow,
    /// Denser than the bottom.
    Underflow,
    /// So near to the density of the surface that the wind decides.
    Weak,
}

/// The path of a river of `inflow_kg_m3` in a column between `surface_kg_m3` and `bottom_kg_m3`.
pub fn inflow_path(inflow_kg_m3: f64, surface_kg_m3: f64, bottom_kg_m3: f64) -> InflowPath {
    if (inflow_kg_m3 - surface_kg_m3).abs() < WEAK_DIFFERENCE_KG_M3 {
        InflowPath::Weak
    } else if inflow_kg_m3 < surface_kg_m3 {
        InflowPath::Overflow
    } else if inflow_kg_m3 > bottom_kg_m3 {
        InflowPath::Underflow
    } else {
        InflowPath::Interflow
    }
}

/// Temperature of waters run together: `sum Q T / sum Q`, degC; exact in heat, not in density. `None` without flow.
pub fn mixed_temp_degc(parts: &[(f64, f64)]) -> Option<f64> {
    let flow: f64 = parts.iter().map(|(flow_m3s, _)| flow_m3s).sum();
    (flow > 0.0).then(|| {
        parts
            .iter()
            .map(|(flow_m3s, temp_degc)| flow_m3s * temp_degc)
            .sum::<f64>()
            / flow
    })
}

/// Time that a plug of river water takes through a reach: `V/Q`, s; `None` without flow.
pub fn travel_time_s(volume_m3: f64, flow_m3s: f64) -> Option<f64> {
    (flow_m3s > 0.0).then(|| volume_m3 / flow_m3s)
}

/// Density that a gram of suspended matter in a litre adds: `1 - rho/rho_s`, kg/m3 for a g/L.
pub fn sediment_density_excess(temp_degc: f64, grain_kg_m3: f64) -> f64 {
    1.0 - water_density_kg_m3(temp_degc) / grain_kg_m3
}

/// A grain in still water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grain {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Density, kg/m3; quartz 2650.
    pub density_kg_m3: f64,
    /// Density of the water, kg/m3.
    pub water_kg_m3: f64,
    /// Kinematic viscosity of the water, m2/s.
    pub viscosity_m2_s: f64,
}

impl Grain {
    fn excess(&self) -> f64 {
        (self.density_kg_m3 - self.water_kg_m3) / self.water_kg_m3
    }

    /// Speed at which it sinks, m/s: `R g D^2 / (18 nu)`, R the density in excess. Under 60 um. Source: Stokes 1851.
    pub fn stokes_m_s(&self) -> f64 {
        self.excess() * GRAVITY_M_S2 * self.diameter_m * self.diameter_m / (18.0 * self.viscosity_m2_s)
    }

    /// Speed at which it sinks, m/s: `R g D^2 / (18 nu + sqrt(0.75 R g D^3))`, natural grains of any size.
    /// Source: Ferguson & Church 2004.
    pub fn natural_m_s(&self) -> f64 {
        let pull = self.excess() * GRAVITY_M_S2;
        pull * self.diameter_m * self.diameter_m
            / (18.0 * self.viscosity_m2_s + (0.75 * pull * self.diameter_m.powi(3)).sqrt())
    }
}
