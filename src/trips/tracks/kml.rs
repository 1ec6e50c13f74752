//! KML 2.2 and its `gx` tracks: the points that have times.

use std::io::BufRead;

use quick_xml::events::BytesStart;

use super::track::{Track, TrackPoint, degrees, instant};
use super::xml::{Listener, listen};
use crate::trips::error::TripFault;

/// The track of a KML file: of each `Track` its `when` and `coord`, in pairs. A drawn line has no times; its points are
/// counted as such.
///
/// # Errors
/// One fault: no KML, cut short, without a point, or without times.
pub fn read_kml(from: impl BufRead) -> Result<Track, TripFault> {
    let mut kml = Kml::default();
    listen(from, &[b"kml"], &mut kml)?;
    if let Some(found) = kml.strange {
        let wanted = "a Track with one <when> for each <gx:coord>: longitude, latitude, height";
        return Err(TripFault::new(
            "the file",
            found,
            wanted,
            "export the track again",
        ));
    }
    kml.track.whole()
}

#[derive(Default)]
struct Kml {
    track: Track,
    whens: Vec<Option<chrono::DateTime<chrono::Utc>>>,
    coords: Vec<Option<(f64, f64)>>,
    in_track: bool,
    in_text: bool,
    text: Vec<u8>,
    strange: Option<String>,
}

impl Listener for Kml {
    fn begins(&mut self, name: &[u8], _: &BytesStart<'_>) {
        match name {
            b"Track" => {
                self.in_track = true;
                self.whens.clear();
                self.coords.clear();
            }
            b"when" | b"coord" if self.in_track => {
                self.in_text = true;
                self.text.clear();
            }
            b"coordinates" => {
                self.in_text = true;
                self.text.clear();
            }
            _ => {}
        }
    }

    fn text(&mut self, text: &[u8]) {
        if self.in_text {
            self.text.extend_from_slice(text);
        }
    }

    fn ends(&mut self, name: &[u8]) {
        let text = std::str::from_utf8(&self.text).unwrap_or_default();
        match name {
            b"when" if self.in_track => self.whens.push(instant(text)),
            b"coord" if self.in_track => {
                let mut parts = text.split_whitespace();
                let longitude_deg = parts.next().and_then(|t| degrees(t, 180.0));
                let latitude_deg = parts.next().and_then(|t| degrees(t, 90.0));
                self.coords.push(latitude_deg.zip(longitude_deg));
            }
            b"coordinates" => self.track.without_time += text.split_whitespace().count(),
            b"Track" => self.close(),
            _ => return,
        }
        self.in_text = false;
    }
}

impl Kml {
    /// Pairs what a track told.
    fn close(&mut self) {
        self.in_track = false;
        self.track.begin();
        if self.whens.len() != self.coords.len() {
            let found = format!(
                "{} times and {} places in one track",
                self.whens.len(),
                self.coords.len()
            );
            self.strange.get_or_insert(found);
            return;
        }
        for pair in self.whens.iter().zip(&self.coords) {
            match pair {
                (Some(time), Some((latitude_deg, longitude_deg))) => self.track.push(TrackPoint {
                    time: *time,
                    latitude_deg: *latitude_deg,
                    longitude_deg: *longitude_deg,
                }),
                _ => {
                    self.strange
                        .get_or_insert("a time or a place that is none".to_owned());
                }
            }
        }
    }
}
