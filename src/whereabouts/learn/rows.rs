//! What a trip tells, as plain values: hours and fish by zone, with what the morning offered.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::lake::ZoneId;
use crate::species::Species;
use crate::trips::{MarkKind, Reason};

/// What the rules look at in one zone on one morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneFeatures {
    /// Zone.
    pub zone: ZoneId,
    /// Closed that day: its share is exactly 0.
    pub closed: bool,
    /// Response of each rule of the species times its factor in this kind of zone; 0 where it is not known. Shape `[rule]`.
    pub response: Vec<f64>,
}

/// What every zone offered one species on one morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Morning {
    /// The main body, against which log-odds are taken.
    pub main: ZoneId,
    /// Every other zone.
    pub zones: Vec<ZoneFeatures>,
}

impl Morning {
    /// Ids of the zones that were open: the main body first.
    pub fn open_zones(&self) -> impl Iterator<Item = &ZoneId> {
        let others = self.zones.iter().filter(|z| !z.closed).map(|z| &z.zone);
        std::iter::once(&self.main).chain(others)
    }
}

/// Hours fished in one zone (or one stretch of it) and the fish of one species caught in them. Nothing caught is a row with 0; a
/// zone not fished is no row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Effort {
    /// Zone.
    pub zone: ZoneId,
    /// Stretch within it, by its id.
    pub stretch: Option<String>,
    /// Rod-hours. Where the depth fished is known, those within 5 m of the predicted band only: depth confounds zone.
    pub effort_h: f64,
    /// Fish caught.
    pub catch: u32,
    /// Responses of the terms of catchability there and then; 0 where one is not known. Shape `[term]`.
    pub catch_response: Vec<f64>,
    /// Why the zone was chosen, as far as known.
    pub reason: Option<Reason>,
    /// Temperature of the surface there, as far as known; for the table of stretches only.
    pub surface_temp_degc: Option<f64>,
}

/// Sonar marks counted in one zone. Bait that a rule of forage looks at on the same mornings should not come here as well: it would
/// count twice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Marks {
    /// Zone.
    pub zone: ZoneId,
    /// Of what.
    pub kind: MarkKind,
    /// Hours that the sonar was watched.
    pub watched_h: f64,
    /// Marks.
    pub count: u32,
}

/// One trip as one species sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TripRows {
    /// Id of the trip in the log.
    pub trip: String,
    /// Civil day at the lake.
    pub date: NaiveDate,
    /// What the morning offered.
    pub morning: Morning,
    /// Hours and fish.
    pub efforts: Vec<Effort>,
    /// Sonar marks.
    pub marks: Vec<Marks>,
}

/// The trips of one species.
#[derive(Debug, Clone, Copy)]
pub struct SpeciesRows<'a> {
    /// Species, with its rules.
    pub species: &'a Species,
    /// Mean share of mature fish, where only they follow some rules.
    pub mature_frac: Option<f64>,
    /// Its trips, in any order.
    pub trips: &'a [TripRows],
}

/// Why a row has no part in a fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LeftOutReason {
    /// The zone was closed by the level of that day: either the log or the lake file is wrong.
    ClosedZone,
    /// The lake file of that day had no such zone.
    UnknownZone,
    /// The zone was chosen by a report, and the fit was asked to do without.
    ReportDriven,
}

/// A row without a part in a fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LeftOut {
    /// Trip.
    pub trip: String,
    /// Zone.
    pub zone: ZoneId,
    /// Why.
    pub reason: LeftOutReason,
}
