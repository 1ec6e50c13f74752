//! The draft as a value.

use chrono::NaiveDate;

use super::groups::Group;
use crate::lake::{Capacity, SeriesSource};
use crate::sources::Candidate;

/// A series counts as running whose newest value is at most this old, days (project choice).
pub const RECENT_DAYS: i64 = 30;
/// A station of the lake itself is taken no farther from the position than this unless it bears the lake's name,
/// metres (project choice).
pub const FAR_M: f64 = 10_000.0;

/// What a draft is made from.
#[derive(Debug, Clone)]
pub struct DraftFacts {
    /// Short name.
    pub id: String,
    /// Name, where the user gave one.
    pub name: Option<String>,
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Time zone, as a service states it.
    pub time_zone: Option<String>,
    /// Contact, where the user gave one.
    pub contact: Option<String>,
    /// Vertical datum, where the user gave one.
    pub datum: Option<String>,
    /// Hypsography.
    pub capacity: Option<Capacity>,
    /// Where the hypsography is from.
    pub capacity_origin: String,
    /// Vertical datum of the hypsography, where it is stated.
    pub capacity_datum: Option<String>,
    /// All that was found.
    pub candidates: Vec<Candidate>,
    /// Day of the search.
    pub today: NaiveDate,
}

/// The datum of the lake file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LakeDatum {
    /// The user named it.
    Named(String),
    /// That of the pool gauge, as its service states it.
    OfGauge(String),
    /// It is a question. What the gauge's is, where its service states it.
    Asked(Option<String>),
}

/// An inflow of the draft.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftInflow {
    /// Id.
    pub id: String,
    /// Name of its station.
    pub name: String,
}

/// A chosen series.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftSeries {
    /// The series; an elevation without offset and a water temperature without depth are questions.
    pub source: SeriesSource,
    /// What it was chosen from; `None` where it goes by position and nothing was searched.
    pub group: Option<Group>,
    /// Datum of an elevation, as the service states it.
    pub datum: Option<String>,
}

/// The draft.
#[derive(Debug, Clone)]
pub struct Draft {
    /// What it was made from; its candidates are in `series` and `others`.
    pub facts: DraftFacts,
    /// Datum of the file.
    pub datum: LakeDatum,
    /// Inflows that have a gauge.
    pub inflows: Vec<DraftInflow>,
    /// Chosen series.
    pub series: Vec<DraftSeries>,
    /// What was found and not chosen.
    pub others: Vec<Group>,
    /// Whether the National Weather Service knows the position, and so has its alerts.
    pub alerts: bool,
}
