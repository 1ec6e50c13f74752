//! A track: places in order of time, in pieces.

use chrono::{DateTime, Utc};

use crate::trips::error::TripFault;

/// Most points of a track (project choice): three weeks at one a second.
const POINTS_MOST: usize = 2_000_000;

/// A place of the boat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrackPoint {
    /// When.
    pub time: DateTime<Utc>,
    /// Latitude.
    pub latitude_deg: f64,
    /// Longitude.
    pub longitude_deg: f64,
}

/// A track.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Track {
    /// Pieces as the file parts them, each in order of time.
    pub pieces: Vec<Vec<TrackPoint>>,
    /// Points without a time, left out.
    pub without_time: usize,
    /// Points that are no later than the one before them, left out.
    pub not_later: usize,
}

impl Track {
    /// Begins a piece.
    pub(super) fn begin(&mut self) {
        if self.pieces.last().is_none_or(|piece| !piece.is_empty()) {
            self.pieces.push(Vec::new());
        }
    }

    /// Adds a point to the last piece.
    pub(super) fn push(&mut self, point: TrackPoint) {
        match self.pieces.last_mut() {
            Some(piece) if piece.last().is_none_or(|last| last.time < point.time) => piece.push(point),
            Some(_) => self.not_later += 1,
            None => self.pieces.push(vec![point]),
        }
    }

    /// Number of points.
    pub fn points(&self) -> usize {
        self.pieces.iter().map(Vec::len).sum()
    }

    /// The track as read, or what is wrong with it as a whole.
    pub(super) fn whole(mut self) -> Result<Track, TripFault> {
        self.pieces.retain(|piece| !piece.is_empty());
        let fault =
            |found: String, wanted: &str, mend: &str| Err(TripFault::new("the file", found, wanted, mend));
        let points = self.points();
        if points == 0 && self.without_time > 0 {
            let found = format!("{} points, none of them with a time", self.without_time);
            let wanted = "a time with each point, without which there is no effort";
            let mend = "export the track itself from the sonar or phone, not a route or a drawn line";
            return fault(found, wanted, mend);
        }
        if points < 2 {
            return fault(
                format!("{points} points"),
                "a track of two or more",
                "export the track itself, not its way points",
            );
        }
        if points > POINTS_MOST {
            let wanted = format!("at most {POINTS_MOST}");
            return fault(format!("{points} points"), &wanted, "cut the file by days");
        }
        Ok(self)
    }
}

/// A latitude or longitude.
pub(super) fn degrees(text: &str, most_deg: f64) -> Option<f64> {
    text.trim().parse().ok().filter(|v: &f64| v.abs() <= most_deg)
}

/// An instant of a track. Stamps without an offset are none: whose clock they show is not said.
pub(super) fn instant(text: &str) -> Option<DateTime<Utc>> {
    DateTime::parse_from_rfc3339(text.trim())
        .ok()
        .map(|t| t.with_timezone(&Utc))
}
