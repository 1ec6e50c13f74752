//! What the trips of a log have taught, as the page that `plungeline fit` shows.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::brief::LakeHeader;
use crate::lake::{Lake, SpeciesId, ZoneId};
use crate::whereabouts::learn::report::SpeciesReport;
use crate::whereabouts::learn::{FitReport, KeptOptions, NotInRows};

/// Name and version of the page's JSON form.
pub const FIT_PAGE_FORM: &str = "plungeline-fit-page-1";

/// What the trips of a log have taught. SI throughout; times UTC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FitPage {
    /// Name and version of this form: `plungeline-fit-page-1`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// The lake.
    pub lake: LakeHeader,
    /// Clock of the fit: no later trip is in it.
    pub as_of: DateTime<Utc>,
    /// Trips of the log.
    pub trips: usize,
    /// Whether these are the invented trips of the demonstration.
    pub invented: bool,
    /// Trips with a part in the fit of any species.
    pub used: usize,
    /// Whether the fit is kept, for briefs to go by.
    pub kept: bool,
    /// Clock of the newest fit, where it is later than this one: briefs of later mornings go by that.
    pub newer: Option<DateTime<Utc>>,
    /// How it was made.
    pub options: KeptOptions,
    /// Where what the mornings offered comes from.
    pub mornings: Mornings,
    /// What of the log has no part in the fit of a species, and why.
    pub left_out: Vec<NotFitted>,
    /// Names of zones for people.
    pub zone_names: BTreeMap<ZoneId, String>,
    /// Names of stretches for people.
    pub stretch_names: BTreeMap<String, String>,
    /// By species.
    pub species: BTreeMap<SpeciesId, SpeciesReport>,
}

/// Where what the mornings of trips offered comes from, in mornings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Mornings {
    /// From the call that was made on that morning.
    pub called: usize,
    /// From the store, looked at again now.
    pub looked_at_again: usize,
    /// From the store, looked at again by an earlier fit.
    pub kept_before: usize,
}

/// What of a trip has no part in a fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct NotFitted {
    /// Number of the trip.
    pub trip: u32,
    /// Number of the leg, from 1; `None` where it is the whole trip.
    pub leg: Option<usize>,
    /// Species; `None` for all.
    pub species: Option<SpeciesId>,
    /// Why.
    pub why: String,
}

/// What a fit page is made of beside the fit itself.
#[derive(Debug, Clone, Copy)]
pub struct FitPageParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Clock.
    pub as_of: DateTime<Utc>,
    /// Trips of the log.
    pub trips: usize,
    /// See [`FitPage::invented`].
    pub invented: bool,
    /// See [`FitPage::used`].
    pub used: usize,
    /// See [`FitPage::kept`].
    pub kept: bool,
    /// See [`FitPage::newer`].
    pub newer: Option<DateTime<Utc>>,
    /// See [`FitPage::options`].
    pub options: KeptOptions,
    /// See [`FitPage::mornings`].
    pub mornings: Mornings,
    /// What was left out on the way to the rows.
    pub left_out: &'a [NotInRows],
}

/// The page of a fit.
pub fn fit_page(parts: &FitPageParts<'_>, report: FitReport) -> FitPage {
    let lake = parts.lake;
    let left_out = parts.left_out.iter().map(|left| NotFitted {
        trip: left.trip,
        leg: left.leg,
        species: left.species.clone(),
        why: left.why.to_owned(),
    });
    FitPage {
        form: FIT_PAGE_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: super::header(lake),
        as_of: parts.as_of,
        trips: parts.trips,
        invented: parts.invented,
        used: parts.used,
        kept: parts.kept,
        newer: parts.newer,
        options: parts.options,
        mornings: parts.mornings,
        left_out: left_out.collect(),
        zone_names: lake
            .zones
            .iter()
            .map(|z| (z.id.clone(), z.name.clone()))
            .collect(),
        stretch_names: lake
            .stretches
            .iter()
            .map(|s| (s.id.clone(), s.name.clone()))
            .collect(),
        species: report.species,
    }
}
