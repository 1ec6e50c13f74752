//! The angler's own trips: what was fished where and how long, what was caught, seen and measured.
//!
//! A trip without fish is worth as much as one with: effort is what makes a catch tell of shares. So a leg whose catch is known
//! to be empty is one thing, and a leg whose catch nobody told is another.

mod changes;
mod check;
mod effort;
mod error;
pub mod forms;
mod import;
mod line;
mod log;
mod model;
mod rows;
mod sonar;
pub mod tracks;
mod water;
mod words;

pub use changes::change_trip;
pub use check::{Known, check_trip};
pub use effort::{Effort, EffortRow, LeftOut, LegRefused, effort_and_catch, effort_and_catch_of};
pub use error::{TripError, TripFault};
pub use import::{FILE_CAP_BYTES, FileForm, ImportOptions, Imported, faulty, sound, trips_in_file};
pub use line::{day_of, read_trip_line, span_of, species_of};
pub use log::{Added, OpenOptions, StoredTrip, TripLog, Twins, Version};
pub use model::{Catch, Instrument, Leg, Light, Mark, MarkKind, Origin, Reading, Reason, Trip};
pub use rows::{COLUMNS, Holds, Placed};
pub use sonar::{BaitMarks, MarkRow, bait_marks, mark_rows};
pub use water::water_readings;
pub use words::{depth_of, fish_of, hours_of, length_of, speed_of, temp_of};
