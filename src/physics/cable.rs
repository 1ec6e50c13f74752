//! A weight towed on a cable: how deep it runs, and how much cable takes it to a depth.
//!
//! Steady tow through still water. Angles are from straight down; the cable leans back from the boat, so that its angle
//! grows from the weight to the surface. Cable out is counted from the surface of the water. Speeds are through the water
//! at the depth of the weight: a speed over ground is another one wherever there is drift or current.

use std::f64::consts::PI;

use super::waves::GRAVITY_M_S2;
use crate::math::roots::bisect;

/// Drag coefficient of a smooth sphere for Reynolds numbers of 1e3 to 2e5 (Hoerner 1965, from memory). Finned and pancake
/// weights differ.
pub const SPHERE_DRAG_COEFFICIENT: f64 = 0.47;
/// Drag coefficient across a smooth round wire (Hoerner 1965, from memory).
pub const WIRE_DRAG_COEFFICIENT: f64 = 1.2;
/// The same of stranded wire (tow-cable tests of the US Navy, read in abstract: a constant 1.5 fits).
pub const STRANDED_DRAG_COEFFICIENT: f64 = 1.5;
/// The same of any cable that strums, that is hums across the flow: up to this (tow-cable tests, from memory).
pub const STRUMMING_DRAG_COEFFICIENT: f64 = 2.0;
/// Drag coefficient of a flat plate across the flow, up to five times as long as wide (Hoerner 1965, from memory).
pub const PLATE_DRAG_COEFFICIENT: f64 = 1.2;

/// Steps in which a heavy cable is integrated; a tenth of them changes the depth of the check row by less than 1e-9 m.
const STEPS: usize = 400;
/// Width to which the cable out is found, m.
const FOUND_WITHIN_M: f64 = 1e-6;

/// A ball at the end of the cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ball {
    /// Mass in air.
    pub mass_kg: f64,
    /// Density of its metal.
    pub density_kg_m3: f64,
    /// Drag coefficient on its cross-section.
    pub drag_coefficient: f64,
}

impl Ball {
    /// Diameter of a solid sphere: `d = (6 m / (pi rho_b))^(1/3)`; m, rho_b = `mass_kg`, `density_kg_m3`.
    pub fn diameter_m(&self) -> f64 {
        (6.0 * self.mass_kg / (PI * self.density_kg_m3)).cbrt()
    }

    /// Weight in water: `W = m g (1 - rho / rho_b)`, in newtons; rho = `water_density_kg_m3`.
    pub fn weight_n(&self, water_density_kg_m3: f64) -> f64 {
        self.mass_kg * GRAVITY_M_S2 * (1.0 - water_density_kg_m3 / self.density_kg_m3)
    }

    /// Drag: `D = 1/2 rho C_d (pi d^2 / 4) V^2`, in newtons; V = `speed_m_s`.
    pub fn drag_n(&self, speed_m_s: f64, water_density_kg_m3: f64) -> f64 {
        let area_m2 = 0.25 * PI * self.diameter_m().powi(2);
        0.5 * water_density_kg_m3 * self.drag_coefficient * area_m2 * speed_m_s * speed_m_s
    }
}

/// What pulls at the lower end of the cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TowedLoad {
    /// Weight in water, W: positive.
    pub weight_n: f64,
    /// Drag, D: that of the ball, and of a line and lure clipped to it.
    pub drag_n: f64,
}

impl TowedLoad {
    /// Tension at the end, `T = (W^2 + D^2)^(1/2)`.
    pub fn tension_n(&self) -> f64 {
        self.weight_n.hypot(self.drag_n)
    }

    /// Angle of the cable at the weight: `tan th_0 = D / W`.
    ///
    /// physics.md 10 of the check rows; P10-BALL: 10 lb of lead at 2.5 mph hang at 2.714 degrees.
    pub fn angle_deg(&self) -> f64 {
        self.drag_n.atan2(self.weight_n).to_degrees()
    }
}

/// Load across a metre of cable that stands upright: `R = 1/2 rho C_n d V^2`, in N/m.
///
/// rho, C_n, d, V = water density, drag coefficient across the cable, its diameter, speed through the water. By the
/// crossflow principle (Hoerner 1965) the load across a cable that leans by th is `R cos^2 th`.
pub fn cable_load_n_per_m(
    drag_coefficient: f64,
    diameter_m: f64,
    speed_m_s: f64,
    water_density_kg_m3: f64,
) -> f64 {
    0.5 * water_density_kg_m3 * drag_coefficient * diameter_m * speed_m_s * speed_m_s
}

/// Drag of a flat plate across the flow: `D = 1/2 rho C_d A V^2`, in newtons.
///
/// rho, A, V = `water_density_kg_m3`, `area_m2`, `speed_m_s`; C_d = [`PLATE_DRAG_COEFFICIENT`]. Of a blade or a lure, which never
/// lies across the flow for long, it is the most that there can be, not what is to be expected.
///
/// ```
/// # use plungeline::physics::cable::plate_drag_n;
/// // A spoon of 3.5 by 1 in at 3 mph in water of 1000 kg/m3: 0.5 x 1000 x 1.2 x 0.002258 x 1.3411^2 = 2.44 N.
/// assert!((plate_drag_n(0.002258, 1.3411, 1000.0) - 2.437).abs() < 0.001);
/// ```
pub fn plate_drag_n(area_m2: f64, speed_m_s: f64, water_density_kg_m3: f64) -> f64 {
    0.5 * water_density_kg_m3 * PLATE_DRAG_COEFFICIENT * area_m2 * speed_m_s * speed_m_s
}

/// Where a towed weight is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TowedPlace {
    /// Depth below the surface.
    pub depth_m: f64,
    /// Distance behind the point where the cable enters the water.
    pub setback_m: f64,
    /// Angle of the cable at the surface.
    pub boat_angle_deg: f64,
}

/// Place of a weight on a cable whose own weight and skin drag are left out, in closed form.
///
/// ```text
/// T = (W^2 + D^2)^(1/2)      tan th_0 = D / W      tan th_1 = tan th_0 + R L / T
/// depth   = (T / R) (asinh tan th_1 - asinh tan th_0)
/// setback = (T / R) (sec th_1 - sec th_0)
/// ```
///
/// W, D = `load`; R = `cable_load_n_per_m`, not negative; L = `cable_out_m`, not negative; th_1 is the angle at the boat.
/// Where R is 0 the cable is straight. From the balance of a piece of cable, `T dth/ds = R cos^2 th` with T constant; own
/// derivation, crossflow principle of Hoerner 1965 (check rows P10-TOP, P10-DEP, P10-BACK).
///
/// ```
/// # use plungeline::physics::cable::{TowedLoad, light_cable_place};
/// // Without flow it hangs straight down.
/// let load = TowedLoad { weight_n: 40.0, drag_n: 0.0 };
/// assert_eq!(light_cable_place(load, 0.0, 30.0).depth_m, 30.0);
/// ```
pub fn light_cable_place(load: TowedLoad, cable_load_n_per_m: f64, cable_out_m: f64) -> TowedPlace {
    let t0 = load.drag_n / load.weight_n;
    let turn = cable_load_n_per_m * cable_out_m / load.tension_n();
    let t1 = t0 + turn;
    let sec = |tan: f64| (1.0 + tan * tan).sqrt();
    // With hardly any turn the quotients lose their digits: there the cable is straight at the middle angle.
    let (depth_m, setback_m) = if turn < 1e-7 {
        let middle = 0.5 * (t0 + t1);
        (cable_out_m / sec(middle), cable_out_m * middle / sec(middle))
    } else {
        let scale = cable_out_m / turn;
        (scale * (t1.asinh() - t0.asinh()), scale * (sec(t1) - sec(t0)))
    };
    TowedPlace {
        depth_m,
        setback_m,
        boat_angle_deg: t1.atan().to_degrees(),
    }
}

/// A cable with a weight and a skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeavyCable {
    /// R: load across a metre of it upright, as [`cable_load_n_per_m`].
    pub across_n_per_m: f64,
    /// Skin drag of a metre of it lying along the flow, `1/2 rho C_t pi d V^2`.
    pub along_n_per_m: f64,
    /// Weight of a metre of it in water.
    pub weight_n_per_m: f64,
}

/// Place of a weight on a cable with weight and skin drag, by integration from the weight up (classical Runge-Kutta).
///
/// ```text
/// dT/ds = w cos th + R_t sin^2 th      T dth/ds = R cos^2 th - w sin th
/// ddepth/ds = cos th                   dsetback/ds = sin th
/// ```
///
/// s = cable from the weight; w, R, R_t = `cable`; th(0), T(0) = `load`; L = `cable_out_m`, not negative. Balance of a
/// piece of cable, crossflow principle of Hoerner 1965; own derivation (check row P10-FULL).
pub fn heavy_cable_place(load: TowedLoad, cable: HeavyCable, cable_out_m: f64) -> TowedPlace {
    let step_m = cable_out_m / STEPS as f64;
    // Tension, angle, depth, setback.
    let slope = |[tension, th, ..]: [f64; 4]| {
        let (sin, cos) = th.sin_cos();
        [
            cable.weight_n_per_m * cos + cable.along_n_per_m * sin * sin,
            (cable.across_n_per_m * cos * cos - cable.weight_n_per_m * sin) / tension,
            cos,
            sin,
        ]
    };
    let moved = |state: [f64; 4], by: [f64; 4], part: f64| -> [f64; 4] {
        std::array::from_fn(|i| state[i] + part * step_m * by[i])
    };
    let mut state = [load.tension_n(), load.drag_n.atan2(load.weight_n), 0.0, 0.0];
    for _ in 0..STEPS {
        let k1 = slope(state);
        let k2 = slope(moved(state, k1, 0.5));
        let k3 = slope(moved(state, k2, 0.5));
        let k4 = slope(moved(state, k3, 1.0));
        state =
            std::array::from_fn(|i| state[i] + step_m / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]));
    }
    TowedPlace {
        depth_m: state[2],
        setback_m: state[3],
        boat_angle_deg: state[1].to_degrees(),
    }
}

/// Cable that takes the weight to `depth_m`, by [`light_cable_place`]; `None` where more than `longest_m` would be
/// needed, or the depth is no positive number.
pub fn cable_out_m(load: TowedLoad, cable_load_n_per_m: f64, depth_m: f64, longest_m: f64) -> Option<f64> {
    if depth_m.is_nan() || depth_m <= 0.0 || depth_m > longest_m {
        return None;
    }
    let short_m = |out_m: f64| light_cable_place(load, cable_load_n_per_m, out_m).depth_m - depth_m;
    // A cable is never shorter than the depth that it reaches.
    bisect(short_m, depth_m, longest_m, FOUND_WITHIN_M)
}

/// Depth over cable out from the angles of the cable at the weight and at the boat:
///
/// ```text
/// depth / L = (asinh tan th_1 - asinh tan th_0) / (tan th_1 - tan th_0)
/// ```
///
/// th_0, th_1 = `ball_angle_deg`, `boat_angle_deg`, from 0 to below 90. [`light_cable_place`] with R taken out: one look at the
/// cable gives the depth once th_0 is known (check rows P10-RAT, P10-RAT2).
pub fn depth_over_cable_frac(ball_angle_deg: f64, boat_angle_deg: f64) -> f64 {
    let (t0, t1) = (
        ball_angle_deg.to_radians().tan(),
        boat_angle_deg.to_radians().tan(),
    );
    if (t1 - t0).abs() < 1e-7 {
        return boat_angle_deg.to_radians().cos();
    }
    (t1.asinh() - t0.asinh()) / (t1 - t0)
}

/// Depth of a weight on a straight cable: `L cos th`; L, th = `cable_out_m`, `angle_deg`. True at small angles alone: by
/// the angle at the boat it is 8 % too shallow at 30 degrees (check row P10-STR).
pub fn straight_depth_m(cable_out_m: f64, angle_deg: f64) -> f64 {
    cable_out_m * angle_deg.to_radians().cos()
}

/// Angle from level at which a weighted line without a ball is towed:
///
/// ```text
/// w cos f = R sin^2 f      cos f = (-w + (w^2 + 4 R^2)^(1/2)) / (2 R)
/// ```
///
/// w, R = weight in water and load across of a metre, R positive. The line runs straight, `depth = L sin f`. Holds for a line
/// that is alike from end to end; own derivation (check row P10-CRIT). A lead core in a sheath on a light backing is not, so
/// that the plan has no entry for it.
pub fn critical_angle_deg(weight_n_per_m: f64, cable_load_n_per_m: f64) -> f64 {
    let (w, r) = (weight_n_per_m, cable_load_n_per_m);
    ((w.hypot(2.0 * r) - w) / (2.0 * r)).acos().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOAD: TowedLoad = TowedLoad {
        weight_n: 40.0,
        drag_n: 2.0,
    };

    #[test]
    fn cable_out_and_depth_undo_each_other() {
        for depth_m in [0.5, 10.0, 30.0, 60.0] {
            let out_m = cable_out_m(LOAD, 0.6, depth_m, 500.0).unwrap();
            let back_m = light_cable_place(LOAD, 0.6, out_m).depth_m;
            assert!(
                (back_m - depth_m).abs() < 2.0 * FOUND_WITHIN_M,
                "{depth_m} {back_m}"
            );
        }
    }

    #[test]
    fn a_depth_that_no_cable_reaches_has_no_cable_out() {
        assert_eq!(cable_out_m(LOAD, 5.0, 60.0, 100.0), None);
        for none in [0.0, -1.0, f64::NAN, 101.0] {
            assert_eq!(cable_out_m(LOAD, 0.5, none, 100.0), None);
        }
    }

    #[test]
    fn faster_is_shallower_and_heavier_is_deeper() {
        let depth_m = |load, r| light_cable_place(load, r, 30.0).depth_m;
        let heavier = TowedLoad {
            weight_n: 60.0,
            ..LOAD
        };
        assert!(depth_m(LOAD, 0.8) < depth_m(LOAD, 0.4));
        assert!(depth_m(heavier, 0.4) > depth_m(LOAD, 0.4));
    }

    #[test]
    fn a_cable_of_hardly_any_load_goes_over_into_a_straight_one() {
        let (bare, hardly) = (
            light_cable_place(LOAD, 0.0, 30.0),
            light_cable_place(LOAD, 1e-6, 30.0),
        );
        assert!((bare.depth_m - hardly.depth_m).abs() < 1e-5);
        assert!((bare.setback_m - hardly.setback_m).abs() < 1e-4);
    }
}
