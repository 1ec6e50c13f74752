//! The depth band and the limits of one species in the water of any zone.

use super::DepthRange;
use super::depth::{DepthBand, depth_band};
use super::habitat::ZoneHabitat;
use super::hard_band::{Limits, Profile, within_limits};
use crate::column::{ProfileBasis, ZoneWater};
use crate::math::quantiles::median;
use crate::species::{HardLimits, Species};

/// Where in one zone a species finds water that suits it.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneBand {
    /// Depth band; `None` where no depth suits it in any member, or what suits it is not known.
    pub band: Option<DepthBand>,
    /// Stretches within its hard limits in the profile of medians; `None` where its limits are not known.
    pub within_limits: Option<Vec<DepthRange>>,
    /// Greatest suitability in the uppermost 3 m, median over members.
    pub surface_suitability: Option<f64>,
    /// Greatest suitability at any depth, median over members.
    pub best_suitability: Option<f64>,
}

/// The band of `species` in `water`.
pub fn zone_band(species: &Species, water: &ZoneWater) -> ZoneBand {
    let habitat = ZoneHabitat::new(water, species);
    ZoneBand {
        band: habitat.as_ref().and_then(|h| band_of(species, &water.basis, h)),
        within_limits: species
            .limits
            .as_ref()
            .map(|limits| median_within_limits(water, limits)),
        surface_suitability: habitat
            .as_ref()
            .and_then(|h| h.median_of(|m| m.surface_suitability)),
        best_suitability: habitat.as_ref().and_then(|h| h.median_of(|m| m.best_suitability)),
    }
}

/// The band in a habitat, wider where its profile was not measured.
pub(super) fn band_of(species: &Species, basis: &ProfileBasis, habitat: &ZoneHabitat) -> Option<DepthBand> {
    let extra_sd_m = match basis {
        ProfileBasis::Measured { .. } => 0.0,
        _ => species.depth.unmeasured_sd_m,
    };
    depth_band(habitat, species.depth.exponent, extra_sd_m)
}

/// The stretches within the species' hard limits, in the profile of medians over members.
pub(super) fn median_within_limits(water: &ZoneWater, limits: &HardLimits) -> Vec<DepthRange> {
    let median_profile = |by_member: &[Vec<f64>]| -> Vec<f64> {
        let at = |i: usize| median(&by_member.iter().map(|m| m[i]).collect::<Vec<_>>());
        (0..water.depth_m.len()).filter_map(at).collect()
    };
    let temp = median_profile(&water.temp_degc);
    if temp.len() != water.depth_m.len() {
        return Vec::new();
    }
    let oxygen = water.oxygen_mg_l.as_deref().map(median_profile);
    let profile = Profile {
        depth_m: &water.depth_m,
        temp_degc: &temp,
        oxygen_mg_l: oxygen.as_deref(),
    };
    within_limits(profile, Limits::from(limits))
}
