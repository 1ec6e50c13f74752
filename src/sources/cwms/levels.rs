//! Levels of a location: top of conservation, bottom of inlet, guide curve.

use serde::Deserialize;

use super::saved::read_or_said;
use crate::sources::error::ReadError;

/// A level.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Office.
    pub office: String,
    /// `Location.Parameter.Type.Duration.Level`.
    pub name: String,
    /// Since when it holds, as the service writes it.
    pub since: String,
    /// Its value all year; `None` of one that changes with the season or follows a series.
    pub constant: Option<f64>,
    /// Values through the year: the offset of each from the beginning of its interval, as the service writes it, and the
    /// value.
    pub seasonal: Vec<(String, f64)>,
    /// Unit.
    pub unit: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Page {
    levels: Vec<RawLevel>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct RawLevel {
    location_level_id: String,
    office_id: String,
    constant_value: Option<f64>,
    level_units_id: Option<String>,
    level_date: Option<String>,
    #[serde(default)]
    seasonal_values: Vec<Seasonal>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Seasonal {
    value: f64,
    #[serde(default)]
    offset_months: i64,
    #[serde(default)]
    offset_minutes: i64,
}

/// The levels of a page.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_levels(bytes: &[u8]) -> Result<Vec<Level>, ReadError> {
    let page: Page = read_or_said(bytes, "levels of CWMS")?;
    let level = |raw: RawLevel| Level {
        office: raw.office_id,
        name: raw.location_level_id,
        since: raw.level_date.unwrap_or_default(),
        constant: raw.constant_value,
        seasonal: raw
            .seasonal_values
            .into_iter()
            .map(|s| {
                (
                    format!("{} months and {} minutes", s.offset_months, s.offset_minutes),
                    s.value,
                )
            })
            .collect(),
        unit: raw.level_units_id.unwrap_or_default(),
    };
    Ok(page.levels.into_iter().map(level).collect())
}
