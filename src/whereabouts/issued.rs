//! The calls of one morning as they are stored when they are made, so that trips can be fitted and the calls scored later.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use super::learn::SpeciesFeatures;
use super::{DepthRange, SpeciesCall};
use crate::lake::{SpeciesId, ZoneId};

/// Name and version of this form.
pub const CALL_FORM: &str = "plungeline-call-1";

/// What was believed of the coefficients when a call was made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum CallBasis {
    /// The rules of the species files.
    Rules {
        /// Why not what trips taught, where there are trips.
        why: Option<RulesWhy>,
    },
    /// What trips have made of them.
    Learned {
        /// Trips with a part in the fit of any species.
        trips: usize,
        /// Clock of the fit.
        fitted_at: DateTime<Utc>,
        /// Day of the newest trip in it.
        newest_trip: Option<NaiveDate>,
        /// Trips of the log, up to the clock of the call, that are not in it.
        trips_since: usize,
        /// Species to which the rules stand, because their file has changed since.
        rules_for: Vec<SpeciesId>,
        /// SHA-256 of the fit, in hexadecimal.
        fit_sha256: String,
    },
}

/// Why the rules stand though there are trips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RulesWhy {
    /// The log was never fitted.
    NeverFitted,
    /// Trips of the fit have been changed or removed since.
    LogChanged,
    /// Every species file has changed since.
    RulesChanged,
    /// The log or the fit cannot be read, or the fit is of another version of its form or damaged.
    Unreadable,
}

/// The calls of one morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IssuedCall {
    /// Name and version of this form.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// Lake.
    pub lake: String,
    /// Clock of the brief: nothing later was used.
    pub as_of: DateTime<Utc>,
    /// When it was made by the wall clock.
    pub made_at: DateTime<Utc>,
    /// Whether the morning was replayed from saved replies: then it is a rehearsal, whatever its clock.
    pub replayed: bool,
    /// Whether the data were enough to trust the brief.
    pub enough: bool,
    /// What of the program the features of the morning rest on, as saved states of the water have it.
    pub code: String,
    /// Civil day of the trip that it is for.
    pub day: NaiveDate,
    /// SHA-256 of the values that it rests on, in hexadecimal.
    pub inputs_sha256: String,
    /// SHA-256 of the lake file.
    pub lake_file_sha256: String,
    /// What was believed of the coefficients.
    pub basis: CallBasis,
    /// By species.
    pub species: BTreeMap<SpeciesId, CalledSpecies>,
}

/// The call of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CalledSpecies {
    /// By zone; empty where the species file has no rules.
    pub zones: BTreeMap<ZoneId, CalledShare>,
    /// What it was offered, with the depth band of every zone.
    pub offered: SpeciesFeatures,
}

/// The share of one zone as it was called.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CalledShare {
    /// Mean share.
    pub share: f64,
    /// 10 % quantile.
    pub low: f64,
    /// 90 % quantile.
    pub high: f64,
    /// Whether it can be fished by trolling (not a river, not closed).
    pub fishable: bool,
    /// Whether it is closed.
    pub closed: bool,
}

impl CalledSpecies {
    /// What is kept of a call.
    pub fn of(call: &SpeciesCall, offered: SpeciesFeatures) -> CalledSpecies {
        let zones = call.zones.iter().map(|(id, zone)| {
            let kept = CalledShare {
                share: zone.share,
                low: zone.low,
                high: zone.high,
                fishable: zone.fishable,
                closed: zone.closed,
            };
            (id.clone(), kept)
        });
        CalledSpecies {
            zones: zones.collect(),
            offered,
        }
    }

    /// The depth band of a zone.
    pub fn band(&self, zone: &ZoneId) -> Option<DepthRange> {
        self.offered.band.get(zone).copied()
    }
}
