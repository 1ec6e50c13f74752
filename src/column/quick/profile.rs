//! The rule-of-thumb profile: a mixed layer, the lower half of a logistic curve under it, deep water.
//!
//! No number here has a source beyond practice: each is a constant with a name, and the ensemble spreads
//! the profile widely. The column network replaces it.

use super::season::SeasonState;
use crate::math::streams::{normal, stream, uniform};

/// Mixed layer at `d` days of stratification: `0.50 sqrt d` m (common practice, no source; stirring
/// spreads as the square root of time). With the width below it puts 15 degC near 35 ft and 11 degC near
/// 60 ft in late July, and of the pairs that do, it fits profiles of Rappbode, Sau, DeGray, Sparkling and
/// Mendota best. The lake's area, as Gorham & Boyce 1989 (from memory) would have it, did not help there.
const MIXED_M_PER_SQRT_DAY: f64 = 0.50;
/// Width of the logistic at `d` days: `0.43 sqrt d` m (as above).
const WIDTH_M_PER_SQRT_DAY: f64 = 0.43;
/// Thinnest mixed layer and sharpest thermocline (common practice, no source).
const THINNEST_M: (f64, f64) = (1.0, 0.8);
/// Warming of deep water while the lake is stratified, degC a day (common practice, no source).
const DEEP_WARMING_DEGC_PER_DAY: f64 = 0.006;
/// Above the deep water by less than this, the surface rules the whole lake (common practice, no source).
const ISOTHERMAL_DEGC: f64 = 0.5;
/// Depth over which an inverse winter layer fades (common practice, no source).
const INVERSE_LAYER_M: f64 = 5.0;
/// Spread of the thermocline's depth in the logarithm, and of the deep temperature: fitted, so that the
/// interval of 10 to 90 % holds four measured temperatures in five at 10, 20 and 30 m, the lakes of the
/// table in docs/methods.md counting alike. At 0.30 and 0.8 degC, from practice alone, it held 68 %.
const DEPTH_SPREAD: f64 = 0.45;
const DEEP_SPREAD_DEGC: f64 = 1.0;
/// Spread of the thermocline's width about that of its depth, in the logarithm (common practice, no source).
const WIDTH_SPREAD: f64 = 0.20;

/// What a rule-of-thumb profile is drawn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThumbProfile {
    /// Surface today.
    pub surface_degc: f64,
    /// Warmest that the mixed layer has been since the lake stratified.
    pub peak_degc: f64,
    /// Deep water.
    pub deep_degc: f64,
    /// Depth of the mixed layer, before autumn cooling deepens it.
    pub mixed_m: f64,
    /// Width of the logistic curve under it.
    pub width_m: f64,
    /// 0 to 1: how much an inverse winter layer shows, 0 for a lake that wind keeps mixed.
    pub inverse_frac: f64,
}

/// What sets one member's profile apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfileNoise {
    /// Standard normal numbers: for the thermocline's depth, its width, and the deep temperature.
    pub depth_noise: f64,
    /// See above.
    pub width_noise: f64,
    /// See above.
    pub temp_noise: f64,
    /// 0 to 1, evenly spread: how much an inverse winter layer shows.
    pub inverse_frac: f64,
}

impl ProfileNoise {
    /// The numbers of `member`, the same in every call. Members 0 and 1, 2 and 3, and so on err by the same
    /// amounts to opposite sides: else the median of 30 members would lie off the rule by a tenth of the
    /// thermocline's depth.
    pub fn of_member(seed: u64, member: usize) -> ProfileNoise {
        let mut numbers = stream(seed, &format!("water/profile/{}", member / 2));
        let first = ProfileNoise {
            depth_noise: normal(&mut numbers),
            width_noise: normal(&mut numbers),
            temp_noise: normal(&mut numbers),
            inverse_frac: uniform(&mut numbers),
        };
        if member.is_multiple_of(2) {
            return first;
        }
        ProfileNoise {
            depth_noise: -first.depth_noise,
            width_noise: -first.width_noise,
            temp_noise: -first.temp_noise,
            inverse_frac: 1.0 - first.inverse_frac,
        }
    }
}

impl ThumbProfile {
    /// The profile of one member: thermocline and deep water moved by its numbers. `widen` is a factor on
    /// the spread of the deep temperature, 1 where last winter is known.
    pub fn spread(self, numbers: ProfileNoise, widen: f64) -> ThumbProfile {
        let deep_degc = self.deep_degc + widen * DEEP_SPREAD_DEGC * numbers.temp_noise;
        // Thermocline depth and width err together, for most of the error is in the season.
        let depth_error = DEPTH_SPREAD * numbers.depth_noise;
        ThumbProfile {
            deep_degc: deep_degc.max(crate::physics::water::MAX_DENSITY_TEMP_DEGC),
            mixed_m: self.mixed_m * depth_error.exp(),
            width_m: self.width_m * (depth_error + WIDTH_SPREAD * numbers.width_noise).exp(),
            inverse_frac: numbers.inverse_frac,
            ..self
        }
    }

    /// The profile of a season, before the ensemble spreads it.
    pub fn of(season: &SeasonState, surface_degc: f64) -> ThumbProfile {
        let root = season.stratified_days.max(0.0).sqrt();
        let warmed_degc = season.winter_degc + DEEP_WARMING_DEGC_PER_DAY * season.stratified_days;
        ThumbProfile {
            surface_degc,
            peak_degc: season.peak_degc.max(surface_degc),
            // A lake that has not stratified yet is mixed: its deep water has followed the surface.
            deep_degc: if season.stratified_days > 0.0 {
                warmed_degc
            } else {
                warmed_degc.max(surface_degc)
            },
            mixed_m: (MIXED_M_PER_SQRT_DAY * root).max(THINNEST_M.0),
            width_m: (WIDTH_M_PER_SQRT_DAY * root).max(THINNEST_M.1),
            inverse_frac: 0.0,
        }
    }
}

/// The rule-of-thumb profile.
///
/// ```text
/// T(z) = min(Ts, Td + 2 (Tp - Td) / (1 + exp((z - h) / w)))   below the mixed layer h,   T = Ts above
/// ```
///
/// Ts, Tp, Td, h, w = `surface_degc`, `peak_degc`, `deep_degc`, `mixed_m`, `width_m`; z = `depth_m`,
/// metres down, increasing. The curve is the summer's, drawn from its peak; where the surface has since
/// cooled, all water that was warmer than the surface has been stirred down to the surface's
/// temperature, and the water below is as it was: convection deepens the mixed layer to the depth where
/// the summer's curve meets the surface. A surface not half a degree above the deep water means a mixed
/// lake; below 3.98 degC, the deep water may be up to that much warmer (`inverse_frac`). Density never
/// decreases with depth. Common practice, no source.
pub fn thumb_profile_degc(shape: &ThumbProfile, depth_m: &[f64]) -> Vec<f64> {
    let ThumbProfile {
        surface_degc: ts,
        peak_degc: tp,
        deep_degc: td,
        ..
    } = *shape;
    let densest = crate::physics::water::MAX_DENSITY_TEMP_DEGC;
    if ts < densest {
        let gain = shape.inverse_frac * (densest - ts);
        return depth_m
            .iter()
            .map(|z| ts + gain * (1.0 - (-z / INVERSE_LAYER_M).exp()))
            .collect();
    }
    if ts <= td + ISOTHERMAL_DEGC {
        return vec![ts; depth_m.len()];
    }
    let curve = |z: f64| match z - shape.mixed_m {
        below if below <= 0.0 => tp,
        below => td + 2.0 * (tp - td) / (1.0 + (below / shape.width_m).exp()),
    };
    depth_m.iter().map(|z| curve(*z).min(ts)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::roots::bisect;
    use crate::physics::water::water_density_kg_m3;
    use crate::units::M_PER_FT;

    /// A 60 m deep foothill reservoir in late July, mixed in February at `winter_degc`.
    fn late_july(winter_degc: f64) -> ThumbProfile {
        let season = SeasonState {
            winter_degc,
            stratified_days: 115.0,
            peak_degc: 24.5,
        };
        ThumbProfile::of(&season, 24.5)
    }

    fn isotherm_ft(shape: &ThumbProfile, temp_degc: f64) -> f64 {
        let at = |z: f64| thumb_profile_degc(shape, &[z])[0] - temp_degc;
        bisect(at, 0.0, 60.0, 1e-6).unwrap() / M_PER_FT
    }

    #[test]
    fn isotherms_of_late_july_lie_where_kings_are_trolled() {
        // Table P2 of the fish reference: 15 degC at 35 ft and 11 degC at 60 ft; common practice, no
        // source. A fifth either way: the trade's own band is as wide, and the ensemble spreads far wider.
        for winter_degc in [7.0, 8.0, 9.0] {
            let shape = late_july(winter_degc);
            let (warm_ft, cold_ft) = (isotherm_ft(&shape, 15.0), isotherm_ft(&shape, 11.0));
            assert!(
                (28.0..=42.0).contains(&warm_ft),
                "{winter_degc}: 15 degC at {warm_ft} ft"
            );
            assert!(
                (48.0..=72.0).contains(&cold_ft),
                "{winter_degc}: 11 degC at {cold_ft} ft"
            );
        }
    }

    #[test]
    fn a_lake_that_has_not_stratified_since_winter_is_mixed_to_the_bed() {
        let march = SeasonState {
            winter_degc: 5.5,
            stratified_days: 0.0,
            peak_degc: 7.2,
        };
        let profile = thumb_profile_degc(&ThumbProfile::of(&march, 7.2), &[0.0, 5.0, 20.0, 45.0]);
        assert_eq!(profile, vec![7.2; 4]); // common practice, no source: by the rule that counts stratified days
        let april = SeasonState {
            stratified_days: 10.0,
            peak_degc: 8.5,
            ..march
        };
        let profile = thumb_profile_degc(&ThumbProfile::of(&april, 8.5), &[0.0, 45.0]);
        assert!(profile[1] < profile[0] - 2.0, "{profile:?}");
    }

    #[test]
    fn cooling_in_autumn_deepens_the_mixed_layer_and_leaves_the_deep_alone() {
        let depth_m: Vec<f64> = (0..60).map(f64::from).collect();
        let summer = late_july(8.0);
        let autumn = ThumbProfile {
            surface_degc: 17.0,
            ..summer
        };
        let (before, after) = (
            thumb_profile_degc(&summer, &depth_m),
            thumb_profile_degc(&autumn, &depth_m),
        );
        let mixed = |profile: &[f64]| profile.iter().filter(|t| **t == profile[0]).count();
        assert!(mixed(&after) > mixed(&before));
        for (was, is) in before.iter().zip(&after) {
            // Heat leaves through the surface only: water that was colder than the surface keeps its own.
            assert_eq!(*is, was.min(17.0));
        }
    }

    #[test]
    fn a_surface_at_the_deep_temperature_is_a_mixed_lake() {
        let shape = ThumbProfile {
            surface_degc: 8.9,
            ..late_july(8.0)
        };
        assert_eq!(thumb_profile_degc(&shape, &[0.0, 30.0, 60.0]), vec![8.9; 3]);
    }

    #[test]
    fn density_never_falls_with_depth() {
        let depth_m: Vec<f64> = (0..80).map(f64::from).collect();
        for surface_degc in [0.0, 1.0, 3.9, 4.0, 4.6, 9.0, 15.0, 24.0, 31.0] {
            for inverse_frac in [0.0, 0.4, 1.0] {
                let shape = ThumbProfile {
                    surface_degc,
                    inverse_frac,
                    ..late_july(7.0)
                };
                let profile = thumb_profile_degc(&shape, &depth_m);
                for pair in profile.windows(2) {
                    // 3.98 degC is the maximum to two digits only: 1e-6 kg/m3 for that.
                    assert!(
                        water_density_kg_m3(pair[1]) >= water_density_kg_m3(pair[0]) - 1e-6,
                        "{shape:?}"
                    );
                }
            }
        }
    }
}
