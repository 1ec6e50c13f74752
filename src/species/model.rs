//! A species as the rules see it: checked and complete.

use super::{CatchRow, Curve, NamedCurve, Response, Season};

/// A species.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// Id: the stem of its file.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Temperature suitability; the curve in use and its alternatives. `None` where it is not known.
    pub temperature: Option<TemperatureCurves>,
    /// Oxygen suitability; `None` where it is not known.
    pub oxygen: Option<OxygenCurves>,
    /// Hard limits; `None` where they are not known.
    pub limits: Option<HardLimits>,
    /// How the depth band is drawn.
    pub depth: DepthSettings,
    /// Seasons that the rules name.
    pub seasons: Vec<NamedSeason>,
    /// Share of mature fish, where only they follow some rules.
    pub maturity: Option<Maturity>,
    /// What to look for on the water.
    pub signs: Vec<SignNote>,
    /// Rules, in the order of the file; none where it is not known what draws the species up an arm.
    pub rules: Vec<RuleRow>,
    /// What makes the fish easier or harder to catch where they are.
    pub catchability: Vec<CatchRow>,
    /// What is not known of it, in the order of [`Unknown`].
    pub not_known: Vec<(Unknown, String)>,
}

/// A part of a species file that may be said not to be known, with the reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// Suitability of temperature.
    Temperature,
    /// Suitability of oxygen.
    Oxygen,
    /// Hard limits.
    Limits,
    /// Rules of where the fish are.
    Rules,
}

impl Unknown {
    /// Every part, in the order of a file.
    pub const ALL: [Unknown; 4] = [
        Unknown::Temperature,
        Unknown::Oxygen,
        Unknown::Limits,
        Unknown::Rules,
    ];

    /// Its key in a species file.
    pub fn key(self) -> &'static str {
        match self {
            Unknown::Temperature => "temperature",
            Unknown::Oxygen => "oxygen",
            Unknown::Limits => "limits",
            Unknown::Rules => "rules",
        }
    }
}

impl Species {
    /// Why a part is not known; `None` where it is.
    pub fn why_not_known(&self, part: Unknown) -> Option<&str> {
        let mut parts = self.not_known.iter();
        parts.find(|(of, _)| *of == part).map(|(_, why)| why.as_str())
    }

    /// The season named `id`.
    pub fn season(&self, id: &str) -> Option<&Season> {
        self.seasons.iter().find(|s| s.id == id).map(|s| &s.season)
    }

    /// The rule named `id`.
    pub fn rule(&self, id: &str) -> Option<&RuleRow> {
        self.rules.iter().find(|r| r.id == id)
    }

    /// The same species with temperature curve `id` in use; `None` where it has no such curve.
    pub fn with_temperature_curve(mut self, id: &str) -> Option<Species> {
        let curves = self.temperature.as_mut()?;
        curves.in_use = curves.curves.iter().position(|c| c.id == id)?;
        Some(self)
    }

    /// Suitability of water at `temp_degc` with `oxygen_mg_l`, 0 to 1: the product of the temperature
    /// and the oxygen curve. Where oxygen, or what the species makes of it, is not known, of temperature alone: that does not
    /// say that oxygen is enough. `None` where its temperature is not known.
    pub fn suitability(&self, temp_degc: f64, oxygen_mg_l: Option<f64>) -> Option<f64> {
        let by_temp = self.temperature.as_ref()?.curve().at(temp_degc);
        Some(match (&self.oxygen, oxygen_mg_l) {
            (Some(curves), Some(oxygen_mg_l)) => by_temp * curves.at(temp_degc, oxygen_mg_l),
            _ => by_temp,
        })
    }
}

/// Temperature curves, one of them in use.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureCurves {
    /// Curves over temperature in degC.
    pub curves: Vec<NamedCurve>,
    /// Index of the curve in use; always within `curves`.
    pub in_use: usize,
}

impl TemperatureCurves {
    /// The curve in use.
    pub fn curve(&self) -> &Curve {
        &self.named().curve
    }

    /// The curve in use with its id and source.
    pub fn named(&self) -> &NamedCurve {
        &self.curves[self.in_use]
    }
}

/// Oxygen curves over mg/L, one for cold and one for warm water.
#[derive(Debug, Clone, PartialEq)]
pub struct OxygenCurves {
    /// In water at or below `split_degc`.
    pub cold: NamedCurve,
    /// In warmer water.
    pub warm: NamedCurve,
    /// Where the curves change over.
    pub split_degc: f64,
    /// Source of the split.
    pub split_source: String,
}

impl OxygenCurves {
    /// Suitability of `oxygen_mg_l` in water at `temp_degc`.
    pub fn at(&self, temp_degc: f64, oxygen_mg_l: f64) -> f64 {
        let named = if temp_degc <= self.split_degc {
            &self.cold
        } else {
            &self.warm
        };
        named.curve.at(oxygen_mg_l)
    }
}

/// Hard limits of water that the species can use.
#[derive(Debug, Clone, PartialEq)]
pub struct HardLimits {
    /// Coldest, where there is a limit.
    pub temp_min_degc: Option<f64>,
    /// Warmest.
    pub temp_max_degc: f64,
    /// Least oxygen.
    pub oxygen_min_mg_l: f64,
    /// Source.
    pub source: String,
}

/// How the depth band is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct DepthSettings {
    /// Power `g` of suitability in the density of depth, `area * suitability^g`; dimensionless, at least 0.
    pub exponent: f64,
    /// Standard deviation of depth added where the profile is a rule of thumb, for internal waves and
    /// for what the rule does not know.
    pub unmeasured_sd_m: f64,
    /// Source.
    pub source: String,
}

/// A season with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedSeason {
    /// Id, named by rules.
    pub id: String,
    /// Season.
    pub season: Season,
    /// Source.
    pub source: String,
}

/// Prior of the share of mature fish: Beta(alpha, beta).
#[derive(Debug, Clone, PartialEq)]
pub struct Maturity {
    /// First parameter; dimensionless, above 0.
    pub alpha: f64,
    /// Second parameter; dimensionless, above 0.
    pub beta: f64,
    /// Source.
    pub source: String,
}

impl Maturity {
    /// Mean of the prior.
    pub fn mean_frac(&self) -> f64 {
        self.alpha / (self.alpha + self.beta)
    }
}

/// A sign to look for on the water, in plain words.
#[derive(Debug, Clone, PartialEq)]
pub struct SignNote {
    /// What to look for.
    pub sign: String,
    /// What it tells.
    pub meaning: String,
    /// Source, or "common practice, no source".
    pub source: String,
}

/// Kind of zone that a rule speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleZone {
    /// Arms.
    Arm,
    /// Rivers.
    River,
}

/// One rule: a coefficient in log-odds against the main body, times a response of today's drivers.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleRow {
    /// Id, unique in the file.
    pub id: String,
    /// What it says, in plain words.
    pub label: String,
    /// Response function with its parameters.
    pub response: Response,
    /// Prior mean of the coefficient; log-odds for a response of 1.
    pub mean: f64,
    /// Prior standard deviation.
    pub sd: f64,
    /// Kinds of zone it applies to.
    pub zones: Vec<RuleZone>,
    /// Factor on the coefficient in river zones; dimensionless.
    pub river_factor: f64,
    /// Whether only mature fish follow it.
    pub mature_only: bool,
    /// Half of the plausible range of the response. Where a driver is missing the mean leaves the rule
    /// out, and the draws spread by coefficient times a response uniform within +- this; dimensionless.
    pub unknown_half_range: f64,
    /// How strong the evidence is.
    pub evidence: String,
    /// Source.
    pub source: String,
}

impl RuleRow {
    /// Factor on the coefficient in a zone of kind `zone`; 0 where the rule does not apply.
    pub fn factor(&self, zone: RuleZone) -> f64 {
        match zone {
            _ if !self.zones.contains(&zone) => 0.0,
            RuleZone::Arm => 1.0,
            RuleZone::River => self.river_factor,
        }
    }
}
