//! Where a point of a track lies: zone and stretch.

use super::track::TrackPoint;
use crate::lake::{Lake, Zone, ZoneId, distance_m};

/// Farthest from the line of a stretch without an outline, m, at which one is on it (project choice).
const STRETCH_REACH_M: f64 = 150.0;

/// Zone and stretch of a place on the water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Place {
    /// Zone.
    pub zone: ZoneId,
    /// Stretch.
    pub stretch: Option<String>,
}

/// A ring of `(latitude_deg, longitude_deg)` with its bounds.
struct Ring {
    points: Vec<(f64, f64)>,
    low: (f64, f64),
    high: (f64, f64),
}

impl Ring {
    fn new(points: &[(f64, f64)]) -> Ring {
        let fold = |of: fn(&(f64, f64)) -> f64, pick: fn(f64, f64) -> f64| {
            points.iter().map(of).reduce(pick).unwrap_or(f64::NAN)
        };
        Ring {
            points: points.to_vec(),
            low: (fold(|p| p.0, f64::min), fold(|p| p.1, f64::min)),
            high: (fold(|p| p.0, f64::max), fold(|p| p.1, f64::max)),
        }
    }

    /// Whether a point lies inside: a ray from it crosses the ring an odd number of times.
    fn holds(&self, (lat, lon): (f64, f64)) -> bool {
        if !(lat >= self.low.0 && lat <= self.high.0 && lon >= self.low.1 && lon <= self.high.1) {
            return false;
        }
        let mut inside = false;
        let Some(mut before) = self.points.last().copied() else {
            return false;
        };
        for &point in &self.points {
            if (point.0 > lat) != (before.0 > lat) {
                let crossing = before.1 + (lat - before.0) / (point.0 - before.0) * (point.1 - before.1);
                inside ^= lon < crossing;
            }
            before = point;
        }
        inside
    }
}

/// How a stretch is recognised.
enum Shape {
    Outline(Ring),
    Line { points: Vec<(f64, f64)>, near: Ring },
}

/// All places of a lake; a place is told by its number.
pub(super) struct Places {
    zones: Vec<(Ring, usize)>,
    stretches: Vec<(Shape, ZoneId, usize)>,
    /// The places, by number.
    pub list: Vec<Place>,
}

impl Places {
    /// Those of a lake file; zones without an outline have no place.
    pub fn of(lake: &Lake) -> Places {
        let mut places = Places {
            zones: Vec::new(),
            stretches: Vec::new(),
            list: Vec::new(),
        };
        let outlined = |zone: &&Zone| !zone.outline.is_empty();
        for zone in lake.zones.iter().filter(outlined) {
            places.zones.push((Ring::new(&zone.outline), places.list.len()));
            places.list.push(Place {
                zone: zone.id.clone(),
                stretch: None,
            });
        }
        for stretch in &lake.stretches {
            let shape = match stretch.outline.is_empty() {
                true => line_shape(&stretch.line),
                false => Shape::Outline(Ring::new(&stretch.outline)),
            };
            places
                .stretches
                .push((shape, stretch.zone.clone(), places.list.len()));
            places.list.push(Place {
                zone: stretch.zone.clone(),
                stretch: Some(stretch.id.clone()),
            });
        }
        places
    }

    /// Whether no zone has an outline.
    pub fn is_empty(&self) -> bool {
        self.zones.is_empty()
    }

    /// The place of a point; of zones and stretches that overlap the first of the lake file. `None` ashore.
    pub fn number_of(&self, point: &TrackPoint) -> Option<usize> {
        let at = (point.latitude_deg, point.longitude_deg);
        let zone = self
            .zones
            .iter()
            .find(|(ring, _)| ring.holds(at))
            .map(|(_, number)| *number)?;
        let mut of_zone = self
            .stretches
            .iter()
            .filter(|(_, home, _)| home == &self.list[zone].zone);
        let stretch = of_zone.find(|(shape, _, _)| match shape {
            Shape::Outline(ring) => ring.holds(at),
            Shape::Line { points, near } => near.holds(at) && is_near(points, at),
        });
        Some(stretch.map_or(zone, |(_, _, number)| *number))
    }
}

/// A line, and a box around it that holds all that is near.
fn line_shape(line: &[(f64, f64)]) -> Shape {
    let ring = Ring::new(line);
    // A degree of latitude is 111 km, one of longitude so much times the cosine of the latitude; a little more does no harm.
    let margin_lat = STRETCH_REACH_M / 100_000.0;
    let margin_lon = margin_lat
        / ring
            .low
            .0
            .to_radians()
            .cos()
            .abs()
            .min(ring.high.0.to_radians().cos().abs())
            .max(0.01);
    let (low, high) = (
        (ring.low.0 - margin_lat, ring.low.1 - margin_lon),
        (ring.high.0 + margin_lat, ring.high.1 + margin_lon),
    );
    Shape::Line {
        points: line.to_vec(),
        near: Ring::new(&[low, (low.0, high.1), high, (high.0, low.1)]),
    }
}

/// Whether a point is near a line. Over so short a way the Earth is flat.
fn is_near(line: &[(f64, f64)], at: (f64, f64)) -> bool {
    let m_per_lat = distance_m(at, (at.0 + 0.001, at.1)) / 0.001;
    let m_per_lon = distance_m(at, (at.0, at.1 + 0.001)) / 0.001;
    let flat = |p: &(f64, f64)| ((p.0 - at.0) * m_per_lat, (p.1 - at.1) * m_per_lon);
    let away_m = |(x, y): (f64, f64)| x.hypot(y);
    line.windows(2).any(|pair| {
        let (a, b) = (flat(&pair[0]), flat(&pair[1]));
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length2 = dx * dx + dy * dy;
        let along = if length2 > 0.0 {
            (-(a.0 * dx + a.1 * dy) / length2).clamp(0.0, 1.0)
        } else {
            0.0
        };
        away_m((a.0 + along * dx, a.1 + along * dy)) <= STRETCH_REACH_M
    })
}
