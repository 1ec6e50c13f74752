//! GPX 1.0 and 1.1: the points of its tracks.

use std::io::BufRead;

use chrono::{DateTime, Utc};
use quick_xml::events::BytesStart;

use super::track::{Track, TrackPoint, degrees, instant};
use super::xml::{Listener, attribute, listen};
use crate::trips::error::TripFault;

/// The track of a GPX file: all its segments. Routes and way points are no track and are passed over.
///
/// # Errors
/// One fault: no GPX, cut short, without a point, or without times.
pub fn read_gpx(from: impl BufRead) -> Result<Track, TripFault> {
    let mut gpx = Gpx::default();
    listen(from, &[b"gpx"], &mut gpx)?;
    if gpx.strange > 0 {
        return Err(TripFault::new(
            "the file",
            format!(
                "{} points without a latitude and longitude on the globe, or with a time that is none",
                gpx.strange
            ),
            "lat, lon and a time such as 2025-10-09T13:30:00Z in every point",
            "export the track again",
        ));
    }
    gpx.track.whole()
}

#[derive(Default)]
struct Gpx {
    track: Track,
    point: Option<Option<(f64, f64)>>,
    time: Option<Option<DateTime<Utc>>>,
    in_time: bool,
    text: Vec<u8>,
    strange: usize,
}

impl Listener for Gpx {
    fn begins(&mut self, name: &[u8], element: &BytesStart<'_>) {
        match name {
            b"trkseg" => self.track.begin(),
            b"trkpt" => {
                let of = |name: &[u8], most| attribute(element, name).and_then(|text| degrees(&text, most));
                self.point = Some(of(b"lat", 90.0).zip(of(b"lon", 180.0)));
                self.time = None;
            }
            b"time" if self.point.is_some() => {
                self.in_time = true;
                self.text.clear();
            }
            _ => {}
        }
    }

    fn text(&mut self, text: &[u8]) {
        if self.in_time {
            self.text.extend_from_slice(text);
        }
    }

    fn ends(&mut self, name: &[u8]) {
        match name {
            b"time" if self.in_time => {
                self.in_time = false;
                self.time = Some(std::str::from_utf8(&self.text).ok().and_then(instant));
            }
            b"trkpt" => match (self.point.take(), self.time.take()) {
                (Some(Some((latitude_deg, longitude_deg))), Some(Some(time))) => {
                    self.track.push(TrackPoint {
                        time,
                        latitude_deg,
                        longitude_deg,
                    });
                }
                (Some(Some(_)), None) => self.track.without_time += 1,
                _ => self.strange += 1,
            },
            _ => {}
        }
    }
}
