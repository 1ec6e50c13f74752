//! Wind waves on water of limited fetch and depth.
//!
//! Heights are significant heights, periods those of the spectral peak. Methods differ by a fifth (at
//! 5 km and 10 m/s from 0.36 to 0.44 m): say "about".

use crate::math::interpolate::line;

/// Standard acceleration of gravity; exact (3rd CGPM, 1901).
pub const GRAVITY_M_S2: f64 = 9.80665;

/// Drift of the surface as a share of the wind's speed, the least that is published for lakes (Wetzel 2001, from memory).
pub const LEAST_SURFACE_DRIFT_FRAC: f64 = 0.02;
/// The most of it (Wu 1975, wind-wave tanks, about 3 %; from memory). Deeper water drifts less, or back.
pub const MOST_SURFACE_DRIFT_FRAC: f64 = 0.03;

/// Fetch from which the over-water wind is no longer lessened by a tenth (Leenknecht et al. 1992).
const LONG_FETCH_M: f64 = 16_000.0;
/// Half-width of the arc over which a radial fetch is averaged (Smith 1991: 15 degrees, 1 to 1).
const ARC_HALF_DEG: i32 = 7;

/// Waves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waves {
    /// Significant height.
    pub height_m: f64,
    /// Period of the peak.
    pub period_s: f64,
}

/// Wind and water for a wave formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// U_A: adjusted wind, from one of the two adjustments below.
    pub adjusted_wind_m_s: f64,
    /// F: open water upwind.
    pub fetch_m: f64,
}

/// Adjusted wind of the Shore Protection Manual 1984: `U_A = 0.71 U^1.23`.
///
/// U = `wind_speed_m_s` at 10 m over water, not negative.
///
/// ```
/// # use plungeline::physics::waves::adjusted_wind_spm_m_s;
/// assert!((adjusted_wind_spm_m_s(10.0) - 12.058).abs() < 1e-3);
/// ```
pub fn adjusted_wind_spm_m_s(wind_speed_m_s: f64) -> f64 {
    0.71 * wind_speed_m_s.powf(1.23)
}

/// Adjusted wind with the drag of Garratt 1977: `U_A = U_e sqrt(C_D / 0.001)`,
/// `C_D = 0.001 (0.75 + 0.067 U_e)`.
///
/// U_e = `wind_speed_m_s` at 10 m over water, not negative. Leenknecht et al. 1992, Eqs 20-25.
pub fn adjusted_wind_garratt_m_s(wind_speed_m_s: f64) -> f64 {
    wind_speed_m_s * (0.75 + 0.067 * wind_speed_m_s).sqrt()
}

/// Waves of deep water over an open fetch.
///
/// ```text
/// H = 5.112e-4 U_A F^(1/2)      T = 6.238e-2 (U_A F)^(1/3)
/// ```
///
/// U_A, F in [`Reach`] (U_A by [`adjusted_wind_spm_m_s`]); H in m, T in s. Holds when the wind has blown
/// for [`deep_duration_h`]; fully grown seas end it far beyond any reservoir. Shore Protection Manual
/// 1984, Eqs 3-33a and 3-34a, whose rounded constants these are (0.0016/sqrt g and 0.2857/g^(2/3)).
///
/// ```
/// # use plungeline::physics::waves::{Reach, adjusted_wind_spm_m_s, deep_waves};
/// let waves = deep_waves(Reach { adjusted_wind_m_s: adjusted_wind_spm_m_s(10.0), fetch_m: 5000.0 });
/// assert!((waves.height_m - 0.4358).abs() < 1e-3);
/// ```
pub fn deep_waves(reach: Reach) -> Waves {
    let Reach {
        adjusted_wind_m_s: ua,
        fetch_m: f,
    } = reach;
    Waves {
        height_m: 5.112e-4 * ua * f.sqrt(),
        period_s: 6.238e-2 * (ua * f).cbrt(),
    }
}

/// Hours that the wind must blow until [`deep_waves`] are grown: `t = 68.8 F^(2/3) / (g U_A)^(1/3)`.
///
/// U_A, F in [`Reach`]; g = [`GRAVITY_M_S2`]. Shore Protection Manual 1984, Eq. 3-35.
pub fn deep_duration_h(reach: Reach) -> f64 {
    let seconds = 68.8 * reach.fetch_m.powf(2.0 / 3.0) / (GRAVITY_M_S2 * reach.adjusted_wind_m_s).cbrt();
    seconds / 3600.0
}

/// Waves of deep water over a restricted fetch, such as an arm.
///
/// ```text
/// U = U_A cos phi      H = 0.0015 (U^2/g) (g F/U^2)^(1/2)      T = 0.3704 (U/g) (g F/U^2)^0.28
/// ```
///
/// U_A, F in [`Reach`] (U_A by [`adjusted_wind_garratt_m_s`], F the fetch averaged about the direction
/// that the waves come from); phi = `off_wind_angle_deg` between that direction and the wind, 0 to 90.
/// No waves without wind. Smith 1991 (CERC-91-2) as in Leenknecht et al. 1992, whose example 3 shows
/// that U stands for U_A cos phi everywhere.
pub fn restricted_fetch_waves(reach: Reach, off_wind_angle_deg: f64) -> Waves {
    let u = reach.adjusted_wind_m_s * off_wind_angle_deg.to_radians().cos();
    if u <= 0.0 {
        return Waves {
            height_m: 0.0,
            period_s: 0.0,
        };
    }
    let (g, gf_u2) = (GRAVITY_M_S2, GRAVITY_M_S2 * reach.fetch_m / (u * u));
    Waves {
        height_m: 0.0015 * (u * u / g) * gf_u2.sqrt(),
        period_s: 0.3704 * (u / g) * gf_u2.powf(0.28),
    }
}

/// Waves of water so shallow that they feel the bed.
///
/// ```text
/// H = (U_A^2/g) 0.283 tanh A tanh[0.00565 (gF/U_A^2)^(1/2) / tanh A],   A = 0.530 (gd/U_A^2)^(3/4)
/// T = (U_A/g)   7.54  tanh B tanh[0.0379 (gF/U_A^2)^(1/3) / tanh B],    B = 0.833 (gd/U_A^2)^(3/8)
/// ```
///
/// U_A, F in [`Reach`], d = `depth_m`, positive. No waves without wind. Shore Protection Manual 1984,
/// Eqs 3-39 and 3-40.
pub fn depth_limited_waves(reach: Reach, depth_m: f64) -> Waves {
    let Reach {
        adjusted_wind_m_s: ua,
        fetch_m,
    } = reach;
    if ua <= 0.0 || depth_m <= 0.0 {
        return Waves {
            height_m: 0.0,
            period_s: 0.0,
        };
    }
    let g = GRAVITY_M_S2;
    let (gf, gd) = (g * fetch_m / (ua * ua), g * depth_m / (ua * ua));
    let height_limit = (0.530 * gd.powf(0.75)).tanh();
    let period_limit = (0.833 * gd.powf(0.375)).tanh();
    Waves {
        height_m: (ua * ua / g) * 0.283 * height_limit * (0.00565 * gf.sqrt() / height_limit).tanh(),
        period_s: (ua / g) * 7.54 * period_limit * (0.0379 * gf.cbrt() / period_limit).tanh(),
    }
}

/// Waves of deep water over an open fetch by the friction velocity of the wind, the newer of the Army Corps' two forms.
///
/// ```text
/// u* = U (0.001 (1.1 + 0.035 U))^(1/2)    g H / u*^2 = 0.0413 (g F / u*^2)^(1/2)    g T / u* = 0.651 (g F / u*^2)^(1/3)
/// ```
///
/// U = `wind_speed_m_s` at 10 m over water, above 0; F = `fetch_m`; H in m, T in s. Coastal Engineering Manual, part II-2
/// (coefficients as in the check rows P9-CEM-H, P9-CEM-T). It gives four fifths of [`deep_waves`] at 5 km and 10 m/s: the
/// spread between methods that "about" stands for.
pub fn friction_velocity_waves(wind_speed_m_s: f64, fetch_m: f64) -> Waves {
    let g = GRAVITY_M_S2;
    let u = wind_speed_m_s * (0.001 * (1.1 + 0.035 * wind_speed_m_s)).sqrt();
    let gf_u2 = g * fetch_m / (u * u);
    Waves {
        height_m: 0.0413 * (u * u / g) * gf_u2.sqrt(),
        period_s: 0.651 * (u / g) * gf_u2.cbrt(),
    }
}

/// Length of a wave in deep water: `L_0 = g T^2 / (2 pi)`; T = `period_s`.
pub fn deep_wavelength_m(period_s: f64) -> f64 {
    GRAVITY_M_S2 * period_s * period_s / std::f64::consts::TAU
}

/// Highest of `waves` waves over the significant height, `(ln N / 2)^(1/2)`, N above 1: heights by Rayleigh's distribution
/// (Longuet-Higgins 1952, from memory).
pub fn highest_ratio_of(waves: u32) -> f64 {
    (0.5 * f64::from(waves).ln()).sqrt()
}

/// Effective fetch of Saville 1954: `sum R_i cos^2 a_i / sum cos a_i` over a_i = -42 to 42 degrees from the wind by 6.
///
/// R_i by [`radial_fetch_m`] of `radial`; `None` where that is empty. A quick figure for wide water; in a narrow arm
/// [`restricted_fetch`] stands.
pub fn effective_fetch_m(radial: &[(f64, f64)], wind_from_deg: f64) -> Option<f64> {
    let (mut along_m, mut cosines) = (0.0, 0.0);
    for off_deg in (-42..=42).step_by(6).map(f64::from) {
        let cos = off_deg.to_radians().cos();
        along_m += radial_fetch_m(radial, wind_from_deg + off_deg)? * cos * cos;
        cosines += cos;
    }
    Some(along_m / cosines)
}

/// The fetch that makes the highest waves under a wind that does not blow along the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestrictedFetch {
    /// Fetch, averaged over 15 degrees.
    pub fetch_m: f64,
    /// Angle between it and the wind.
    pub off_wind_angle_deg: f64,
}

/// Off-wind direction that maximises `F^0.28 cos(phi)^0.44` (Smith 1991), searched degree by degree on
/// both sides of the wind.
///
/// `radial` holds `(direction_deg, fetch_m)`: open water toward where the wind comes from, clockwise from
/// north, direction increasing within 0..360, straight between and around the circle. `None` when it is
/// empty, or nowhere open within 90 degrees of the wind.
pub fn restricted_fetch(radial: &[(f64, f64)], wind_from_deg: f64) -> Option<RestrictedFetch> {
    let average_m = |direction_deg: f64| -> Option<f64> {
        let arc = -ARC_HALF_DEG..=ARC_HALF_DEG;
        let rays = f64::from(2 * ARC_HALF_DEG + 1);
        arc.map(|off| radial_fetch_m(radial, direction_deg + f64::from(off)))
            .sum::<Option<f64>>()
            .map(|s| s / rays)
    };
    let mut best: Option<(f64, RestrictedFetch)> = None;
    for off_deg in -89..=89 {
        let fetch_m = average_m(wind_from_deg + f64::from(off_deg))?;
        let off_wind_angle_deg = f64::from(off_deg).abs();
        let gain = fetch_m.powf(0.28) * off_wind_angle_deg.to_radians().cos().powf(0.44);
        if gain > best.map_or(0.0, |(g, _)| g) {
            best = Some((
                gain,
                RestrictedFetch {
                    fetch_m,
                    off_wind_angle_deg,
                },
            ));
        }
    }
    best.map(|(_, fetch)| fetch)
}

/// Fetch in a direction, straight between the radials and around the circle; `None` without any.
pub fn radial_fetch_m(radial: &[(f64, f64)], direction_deg: f64) -> Option<f64> {
    let (&(first_deg, first_m), &(last_deg, last_m)) = (radial.first()?, radial.last()?);
    let direction = direction_deg.rem_euclid(360.0);
    let after = radial.partition_point(|&(deg, _)| deg <= direction);
    let (before, behind) = if after == 0 {
        ((last_deg - 360.0, last_m), (first_deg, first_m))
    } else if after == radial.len() {
        ((last_deg, last_m), (first_deg + 360.0, first_m))
    } else {
        (radial[after - 1], radial[after])
    };
    Some(if behind.0 > before.0 {
        line(before, behind, direction)
    } else {
        before.1.max(behind.1)
    })
}

/// The higher of the two deep-water forms, as a caution needs it: [`deep_waves`] over the open fetch
/// upwind, and [`restricted_fetch_waves`] over the best off-wind fetch (over-water wind lessened by a
/// tenth below 16 km, Leenknecht et al. 1992). Depth and duration, which could only lower it, are left out.
///
/// `wind_speed_m_s` at 10 m; `radial` as in [`restricted_fetch`]; `wind_from_deg` where the wind comes
/// from, or `None` when it is not known: then the radial that raises the highest waves is taken.
/// `None` when no fetch is known or the wind is no number: the danger cannot be judged.
pub fn higher_of_both(
    wind_speed_m_s: f64,
    radial: &[(f64, f64)],
    wind_from_deg: Option<f64>,
) -> Option<Waves> {
    if radial.is_empty() || !wind_speed_m_s.is_finite() || wind_speed_m_s < 0.0 {
        return None;
    }
    let Some(wind_from_deg) = wind_from_deg else {
        return radial
            .iter()
            .filter_map(|&(direction_deg, _)| higher_of_both(wind_speed_m_s, radial, Some(direction_deg)))
            .max_by(|a, b| a.height_m.total_cmp(&b.height_m));
    };
    let open = Reach {
        adjusted_wind_m_s: adjusted_wind_spm_m_s(wind_speed_m_s),
        fetch_m: radial_fetch_m(radial, wind_from_deg)?,
    };
    let deep = deep_waves(open);
    let Some(fetch) = restricted_fetch(radial, wind_from_deg) else {
        return Some(deep);
    };
    let over_water_m_s = if fetch.fetch_m < LONG_FETCH_M {
        0.9 * wind_speed_m_s
    } else {
        wind_speed_m_s
    };
    let reach = Reach {
        adjusted_wind_m_s: adjusted_wind_garratt_m_s(over_water_m_s),
        fetch_m: fetch.fetch_m,
    };
    let restricted = restricted_fetch_waves(reach, fetch.off_wind_angle_deg);
    Some(if restricted.height_m > deep.height_m {
        restricted
    } else {
        deep
    })
}
