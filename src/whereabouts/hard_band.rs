//! Water within hard limits: exact edges, thickness and volume.

use super::DepthRange;

/// A profile: depths increasing, the rest of the same length and linear between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Profile<'a> {
    /// Depths. Shape `[point]`.
    pub depth_m: &'a [f64],
    /// Temperature.
    pub temp_degc: &'a [f64],
    /// Oxygen, where it is known.
    pub oxygen_mg_l: Option<&'a [f64]>,
}

/// Limits of usable water; an edge itself is within.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Coldest.
    pub temp_min_degc: Option<f64>,
    /// Warmest.
    pub temp_max_degc: f64,
    /// Least oxygen; `None` leaves oxygen out, as does a profile without it.
    pub oxygen_min_mg_l: Option<f64>,
}

impl From<&crate::species::HardLimits> for Limits {
    fn from(limits: &crate::species::HardLimits) -> Limits {
        Limits {
            temp_min_degc: limits.temp_min_degc,
            temp_max_degc: limits.temp_max_degc,
            oxygen_min_mg_l: Some(limits.oxygen_min_mg_l),
        }
    }
}

/// The stretches of depth within `limits`, from the surface down; those that touch are one.
///
/// Each edge is where a segment crosses a limit, `z = z_i + (z_{i+1} - z_i) (limit - x_i) / (x_{i+1} - x_i)`
/// (linear between the points). Several stretches are possible, such as above and below an oxygen minimum.
pub fn within_limits(profile: Profile, limits: Limits) -> Vec<DepthRange> {
    let mut ranges: Vec<DepthRange> = Vec::new();
    for i in 1..profile.depth_m.len() {
        let part = part_within(profile, limits, i);
        let (z0, z1) = (profile.depth_m[i - 1], profile.depth_m[i]);
        let Some((from, to)) = part else { continue };
        let (top_m, bottom_m) = (at(z0, z1, from), at(z0, z1, to));
        match ranges.last_mut() {
            Some(last) if last.bottom_m == top_m => last.bottom_m = bottom_m,
            _ => ranges.push(DepthRange { top_m, bottom_m }),
        }
    }
    ranges.retain(|r| r.bottom_m > r.top_m);
    ranges
}

/// The part of the segment that ends at point `i` that is within the limits, as parts of its length.
fn part_within(profile: Profile, limits: Limits, i: usize) -> Option<(f64, f64)> {
    let mut part = (0.0, 1.0);
    let mut keep = |value: &[f64], least: f64, sign: f64| {
        let (a, b) = (sign * value[i - 1] - least, sign * value[i] - least);
        match (a >= 0.0, b >= 0.0) {
            (true, true) => {}
            (true, false) => part.1 = f64::min(part.1, a / (a - b)),
            (false, true) => part.0 = f64::max(part.0, a / (a - b)),
            (false, false) => part.1 = -1.0,
        }
    };
    keep(profile.temp_degc, -limits.temp_max_degc, -1.0);
    if let Some(temp_min_degc) = limits.temp_min_degc {
        keep(profile.temp_degc, temp_min_degc, 1.0);
    }
    if let (Some(oxygen), Some(least)) = (profile.oxygen_mg_l, limits.oxygen_min_mg_l) {
        keep(oxygen, least, 1.0);
    }
    (part.0 <= part.1).then_some(part)
}

/// Exact at both ends, so that stretches of neighbouring segments touch.
fn at(from: f64, to: f64, along_frac: f64) -> f64 {
    if along_frac == 1.0 {
        to
    } else {
        from + along_frac * (to - from)
    }
}

/// Volume of water within `ranges`: the integral of area, linear between points, exact by trapezoids on
/// the depths of the points and the edges of the ranges. Unit: that of area times metres.
pub fn volume_m3(depth_m: &[f64], area_m2: &[f64], ranges: &[DepthRange]) -> f64 {
    let area_at = |i: usize, z: f64| {
        let part = (z - depth_m[i - 1]) / (depth_m[i] - depth_m[i - 1]);
        area_m2[i - 1] + part * (area_m2[i] - area_m2[i - 1])
    };
    let mut volume_m3 = 0.0;
    for range in ranges {
        for i in 1..depth_m.len() {
            let (top, bottom) = (range.top_m.max(depth_m[i - 1]), range.bottom_m.min(depth_m[i]));
            if bottom > top {
                volume_m3 += 0.5 * (bottom - top) * (area_at(i, top) + area_at(i, bottom));
            }
        }
    }
    volume_m3
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        temp_min_degc: None,
        temp_max_degc: 20.0,
        oxygen_min_mg_l: Some(5.0),
    };

    #[test]
    fn an_oxygen_minimum_in_the_middle_leaves_two_stretches() {
        let depth_m = [0.0, 10.0, 20.0, 30.0];
        let oxygen = [8.0, 2.0, 8.0, 8.0];
        let profile = Profile {
            depth_m: &depth_m,
            temp_degc: &[15.0; 4],
            oxygen_mg_l: Some(&oxygen),
        };
        let ranges = within_limits(profile, LIMITS);
        let edges = [(0.0, 5.0), (15.0, 30.0)];
        assert_eq!(
            ranges,
            edges.map(|(top_m, bottom_m)| DepthRange { top_m, bottom_m })
        );
        let area = [100.0, 100.0, 100.0, 100.0];
        assert!(
            (volume_m3(&depth_m, &area, &ranges) - 2000.0).abs() < 1e-9,
            "100 m2 x 20 m"
        );
    }

    #[test]
    fn water_that_is_nowhere_within_limits_gives_no_stretch() {
        let profile = Profile {
            depth_m: &[0.0, 10.0],
            temp_degc: &[25.0, 22.0],
            oxygen_mg_l: None,
        };
        assert!(within_limits(profile, LIMITS).is_empty());
        let opposed = Profile {
            depth_m: &[0.0, 10.0],
            temp_degc: &[25.0, 15.0],
            oxygen_mg_l: Some(&[8.0, 2.0]),
        };
        assert_eq!(
            within_limits(opposed, LIMITS),
            [],
            "cool enough from 5 m, oxygen down to 5 m"
        );
    }

    #[test]
    fn unknown_oxygen_is_left_out_and_the_cold_limit_holds_from_below() {
        let profile = Profile {
            depth_m: &[0.0, 10.0],
            temp_degc: &[24.0, 4.0],
            oxygen_mg_l: None,
        };
        let limits = Limits {
            temp_min_degc: Some(8.0),
            ..LIMITS
        };
        assert_eq!(
            within_limits(profile, limits),
            [DepthRange {
                top_m: 2.0,
                bottom_m: 8.0
            }]
        );
    }
}
