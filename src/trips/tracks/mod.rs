//! Tracks of a sonar or a phone: read as a stream, and cut into legs by the outlines of zones and stretches.

mod cut;
mod gpx;
mod kml;
mod legs;
mod motion;
mod places;
mod track;
mod xml;

pub use cut::{CutOptions, CutTrack, cut_track};
pub use gpx::read_gpx;
pub use kml::read_kml;
pub use track::{Track, TrackPoint};
