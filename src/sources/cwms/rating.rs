//! Rating files: tables of one quantity by another, such as storage or area by elevation.

use chrono::{DateTime, Utc};
use roxmltree::Node;

use crate::lake::{Cadence, CapacityKind};
use crate::quantity::Quantity;
use crate::sources::csv::m2_per;
use crate::sources::error::ReadError;
use crate::sources::markup::{children, read_document, text_of};
use crate::sources::stamp::read_rfc3339;
use crate::sources::unit::conversion;

/// A table, as the file has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Rating {
    /// Office.
    pub office: String,
    /// `Location.Parameters.Template.Version`.
    pub name: String,
    /// What it goes by (`Elev`), and what it gives (`Stor`, `Area`).
    pub parameters: (String, String),
    /// Their units.
    pub units: (String, String),
    /// Since when it holds.
    pub effective_at: DateTime<Utc>,
    /// Vertical datum of elevations, where the file states it.
    pub datum: Option<String>,
    /// Pairs, in the order of the file.
    pub points: Vec<(f64, f64)>,
}

/// Elevation in metres with storage in m3 or area in m2, pair by pair.
pub type RatingRows = Vec<(f64, f64)>;

impl Rating {
    /// The table as the shape of a lake: elevation with storage, or with area, in SI.
    ///
    /// # Errors
    /// [`ReadError::Kind`] for a table of other quantities or in a unit of area that is not known, [`ReadError::Unit`].
    pub fn capacity_rows(&self) -> Result<(CapacityKind, RatingRows), ReadError> {
        let (by, gives) = (self.parameters.0.as_str(), self.parameters.1.as_str());
        if by != "Elev" || !matches!(gives, "Stor" | "Area") {
            return Err(ReadError::Kind {
                found: format!("a table of {gives} by {by}"),
                wanted: "one of Stor or Area by Elev".to_owned(),
            });
        }
        let to_m = conversion(Quantity::PoolElevation, Cadence::Daily, &self.units.0, by)?;
        if gives == "Area" {
            let m2_per_unit = m2_per(&self.units.1).ok_or_else(|| ReadError::Kind {
                found: format!("the unit \"{}\" of Area", self.units.1),
                wanted: "acre, ha, m2 or km2".to_owned(),
            })?;
            let rows = self
                .points
                .iter()
                .map(|(z, area)| (to_m.to_si(*z), area * m2_per_unit));
            return Ok((CapacityKind::Area, rows.collect()));
        }
        let to_m3 = conversion(Quantity::Storage, Cadence::Daily, &self.units.1, gives)?;
        let rows = self
            .points
            .iter()
            .map(|(z, volume)| (to_m.to_si(*z), to_m3.to_si(*volume)));
        Ok((CapacityKind::Storage, rows.collect()))
    }
}

/// The table of a rating file that is in force: of the active ones the one that took effect last.
///
/// # Errors
/// [`ReadError`]: no XML, cut short, with a document type, without an active table, of a kind that is no plain table of
/// two columns (virtual, by formula, with shifts), or with a point that is no pair of numbers.
pub fn read_rating(bytes: &[u8]) -> Result<Rating, ReadError> {
    let text = String::from_utf8_lossy(bytes);
    let document = read_document(&text)?;
    let root = document.root_element();
    if root.tag_name().name() != "ratings" {
        return Err(kind(format!("XML of {}", root.tag_name().name())));
    }
    let forms = ["virtual-rating", "transitional-rating", "usgs-stream-rating"];
    if let Some(form) = forms
        .into_iter()
        .find(|form| children(root, form).next().is_some())
    {
        return Err(kind(format!("a {form}")));
    }
    let mut newest: Option<(DateTime<Utc>, Node<'_, '_>)> = None;
    for node in children(root, "simple-rating").filter(|node| text_of(*node, "active") != Some("false")) {
        let text = text_of(node, "effective-date").unwrap_or_default();
        let Some(effective_at) = read_rfc3339(text) else {
            return Err(kind(format!("the effective date \"{text}\" of an active rating")));
        };
        if newest.is_none_or(|(held, _)| effective_at > held) {
            newest = Some((effective_at, node));
        }
    }
    let Some((effective_at, node)) = newest else {
        return Err(kind(
            "a file of ratings without an active one that has its date".to_owned(),
        ));
    };
    rating(node, effective_at)
}

fn rating(node: Node<'_, '_>, effective_at: DateTime<Utc>) -> Result<Rating, ReadError> {
    let name = text_of(node, "rating-spec-id").unwrap_or_default().to_owned();
    let pair = |text: &str| {
        let (first, second) = text.split_once(';')?;
        (!second.contains(';')).then(|| (first.trim().to_owned(), second.trim().to_owned()))
    };
    // `Location.Elev;Stor.Template.Version`; the location itself has no full stop.
    let parameters = name.split('.').nth(1).and_then(pair);
    let units = text_of(node, "units-id").and_then(pair);
    let (Some(parameters), Some(units)) = (parameters, units) else {
        return Err(kind(format!(
            "the rating \"{name}\" of other than two quantities"
        )));
    };
    let points = children(node, "rating-points").next();
    let points = points.ok_or_else(|| kind(format!("the rating \"{name}\" without a table of points")))?;
    let mut pairs = Vec::new();
    for (k, point) in children(points, "point").enumerate() {
        let number = |tag: &'static str| {
            let found = text_of(point, tag).unwrap_or_default();
            let number = found.parse::<f64>().ok().filter(|number| number.is_finite());
            number.ok_or_else(|| ReadError::Kind {
                found: format!("\"{found}\" as <{tag}> of point {}", k + 1),
                wanted: "a number".to_owned(),
            })
        };
        pairs.push((number("ind")?, number("dep")?));
    }
    let datum = children(node, "vertical-datum-info").next();
    Ok(Rating {
        office: node.attribute("office-id").unwrap_or_default().to_owned(),
        name,
        parameters,
        units,
        effective_at,
        datum: datum
            .and_then(|info| text_of(info, "native-datum"))
            .map(str::to_owned),
        points: pairs,
    })
}

fn kind(found: String) -> ReadError {
    ReadError::Kind {
        found,
        wanted: "a rating with a table of two quantities (simple-rating)".to_owned(),
    }
}
