//! How the boat moved along a piece of a track.

use super::track::TrackPoint;
use crate::lake::distance_m;

/// Span over which a speed is taken, s, so that the scatter of single fixes does not count (project choice).
const SPEED_SPAN_S: f64 = 60.0;

/// A piece with seconds and way from its first point.
pub(super) struct Motion {
    /// Seconds since the first point, shape `[point]`.
    pub since_s: Vec<f64>,
    /// Way since the first point, shape `[point]`.
    pub way_m: Vec<f64>,
}

impl Motion {
    /// That of a piece.
    pub fn of(piece: &[TrackPoint]) -> Motion {
        let Some(first) = piece.first() else {
            return Motion {
                since_s: Vec::new(),
                way_m: Vec::new(),
            };
        };
        let since_s = piece
            .iter()
            .map(|p| (p.time - first.time).num_milliseconds() as f64 / 1000.0)
            .collect();
        let mut way_m = vec![0.0];
        let mut sum_m = 0.0;
        for pair in piece.windows(2) {
            sum_m += distance_m(place(&pair[0]), place(&pair[1]));
            way_m.push(sum_m);
        }
        Motion { since_s, way_m }
    }

    /// Speed over the span around the middle of each interval between two points, shape `[point - 1]`.
    pub fn speeds_m_s(&self) -> Vec<f64> {
        let points = self.since_s.len();
        let (mut from, mut to) = (0, 0);
        (1..points)
            .map(|i| {
                let middle_s = 0.5 * (self.since_s[i - 1] + self.since_s[i]);
                while from + 1 < i && self.since_s[from] < middle_s - 0.5 * SPEED_SPAN_S {
                    from += 1;
                }
                to = to.max(i);
                while to + 1 < points && self.since_s[to] < middle_s + 0.5 * SPEED_SPAN_S {
                    to += 1;
                }
                (self.way_m[to] - self.way_m[from]) / (self.since_s[to] - self.since_s[from])
            })
            .collect()
    }
}

/// Latitude and longitude.
pub(super) fn place(point: &TrackPoint) -> (f64, f64) {
    (point.latitude_deg, point.longitude_deg)
}

/// Direction from one place to another, degrees clockwise from north, by the flat triangle between them.
pub(super) fn bearing_deg(from: (f64, f64), to: (f64, f64)) -> f64 {
    let east = (to.1 - from.1) * (0.5 * (from.0 + to.0)).to_radians().cos();
    east.atan2(to.0 - from.0).to_degrees().rem_euclid(360.0)
}
