//! The call of one morning for one species, as a value.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::column::ProfileBasis;
use crate::lake::{SpeciesId, ZoneId, ZoneKind};
use crate::series::Gap;

/// Where one species is thought to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesCall {
    /// Species.
    pub species: SpeciesId,
    /// Name for people.
    pub name: String,
    /// Share by zone; the `share` fields sum to 1. Empty where the species file has no rules, since nothing is known.
    pub zones: BTreeMap<ZoneId, ZoneShare>,
    /// What is said of the zones that can be fished.
    pub verdict: Verdict,
    /// Likeliest zone that can be fished (main body or an open arm); the main body where that is not known.
    pub likeliest_fishable: ZoneId,
    /// Upper edge of the depth band in that zone.
    pub band_top_m: Option<f64>,
    /// Lower edge.
    pub band_bottom_m: Option<f64>,
    /// Depth of the most suitable water within the band (median over members); `None` where no depth stands
    /// out.
    pub band_best_m: Option<f64>,
    /// What the depth band rests on.
    pub band_basis: ProfileBasis,
    /// Stretches of that zone within the species' hard limits of temperature and oxygen, in the profile
    /// of median temperature (and oxygen) over members; empty where no depth is within them, `None` where its limits are not
    /// known.
    pub within_limits: Option<Vec<DepthRange>>,
    /// Greatest suitability at the surface (0 to 3 m) of the main body, median over members; `None`
    /// without any water in the main body.
    pub near_surface_suitability: Option<f64>,
    /// Mean share of mature fish by the prior, where only mature fish follow some rules.
    pub mature_frac: Option<f64>,
    /// Signed reasons, the largest first, for every zone but the main body.
    pub reasons: Vec<Reason>,
    /// How easily the fish are caught, by zone that can be fished; never part of a share.
    pub catchability: Vec<Catchability>,
    /// Rules that could not be evaluated, and why.
    pub gaps: Vec<Gap>,
}

impl SpeciesCall {
    /// Whether some depth of the band lies within the species' hard limits; so it is taken to be where they are not known.
    pub fn band_reaches_limits(&self) -> bool {
        let (Some(limits), Some(top_m), Some(bottom_m)) =
            (&self.within_limits, self.band_top_m, self.band_bottom_m)
        else {
            return true;
        };
        limits
            .iter()
            .any(|range| range.top_m <= bottom_m && range.bottom_m >= top_m)
    }
}

/// How easily the fish of one zone are caught today, relative to clear and cool water in full daylight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Catchability {
    /// Zone.
    pub zone: ZoneId,
    /// Factor on the catch per hour.
    pub factor: f64,
    /// Lower end of its 80 % interval.
    pub factor_low: f64,
    /// Upper end.
    pub factor_high: f64,
    /// Terms that are known.
    pub terms: Vec<CatchTerm>,
    /// Ids of the terms that are not, and are left out of the factor.
    pub unknown: Vec<String>,
}

/// One signed contribution to the logarithm of the catch per hour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CatchTerm {
    /// Id of the term (`C1` ...).
    pub term: String,
    /// What drives it, and how large it is today.
    pub drivers: BTreeMap<String, f64>,
    /// Response f(x).
    pub response: f64,
    /// Prior mean of the coefficient.
    pub coefficient: f64,
    /// Its prior standard deviation.
    pub coefficient_sd: f64,
    /// Coefficient times response.
    pub contribution: f64,
    /// One plain sentence part, from the species file.
    pub label: String,
    /// Evidence.
    pub evidence: String,
    /// Source.
    pub source: String,
}

/// The share of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ZoneShare {
    /// Name for people.
    pub name: String,
    /// Kind.
    pub kind: ZoneKind,
    /// Mean share over the joint draws; these sum to 1 over zones.
    pub share: f64,
    /// 10 % quantile.
    pub low: f64,
    /// 90 % quantile.
    pub high: f64,
    /// Log-odds against the main body at the prior means and median drivers, after the clamp; for a
    /// species with a mature and an immature part, those of the mixture. 0 for the main body, and for a
    /// closed zone, which has none.
    pub eta: f64,
    /// Standard deviation of the log-odds from the coefficients alone; shown, never a gate.
    pub eta_sd: f64,
    /// Whether the clamp at +-4 bit.
    pub clamped: bool,
    /// Share of the joint draws in which this zone is first among those that can be fished.
    pub first_prob: f64,
    /// Whether it can be fished by trolling today (not a river, not closed).
    pub fishable: bool,
    /// Whether it is closed today, share exactly 0.
    pub closed: bool,
    /// Mean share among mature fish, where the species is a mixture and the parts differ today.
    pub mature_share: Option<f64>,
    /// Mean share among immature fish, likewise.
    pub immature_share: Option<f64>,
}

/// A stretch of depth below today's surface.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DepthRange {
    /// Upper edge.
    pub top_m: f64,
    /// Lower edge.
    pub bottom_m: f64,
}

/// What is said of the zones that can be fished.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Verdict {
    /// One zone is first in at least 60 % of the joint draws.
    Likeliest {
        /// Zone.
        zone: ZoneId,
        /// Share of the draws in which it is first.
        first_prob: f64,
    },
    /// The species file has no rules of where the fish are.
    NotKnown {
        /// Why, as the file has it.
        why: String,
    },
    /// No zone is first in 60 % of the draws: either place.
    EitherPlace {
        /// The two that are first most often.
        zones: Vec<ZoneId>,
        /// Share of the draws of the first of them.
        first_prob: f64,
    },
}

/// One signed contribution.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Reason {
    /// Zone it speaks of.
    pub zone: ZoneId,
    /// Rule id (`R0` ...), or `clamp`, or `maturity` (what the immature part takes back).
    pub rule: String,
    /// What drives it, and how large it is today: names and SI values, such as `pulse_peak_ratio` 3.2.
    pub drivers: BTreeMap<String, f64>,
    /// Response f(x).
    pub response: f64,
    /// Prior mean of the coefficient.
    pub coefficient: f64,
    /// Its prior standard deviation.
    pub coefficient_sd: f64,
    /// Contribution to the log-odds: coefficient times response.
    pub contribution: f64,
    /// One plain sentence part, from the rule's data ("cold-river refuge").
    pub label: String,
    /// Evidence behind the rule ("moderate", "weak", "elicited").
    pub evidence: String,
    /// Source.
    pub source: String,
}
