//! From the truth to the files that the public services would have sent.

mod alerts;
mod faults;
mod folder;
mod gauges;
mod gzip;
mod open_meteo;
mod stations;
mod text;
mod usgs;

pub use folder::{File, all_files};
#[cfg(test)]
pub use gzip::gzip;
#[cfg(test)]
pub use text::{fixed, three_digits};
