//! The brief, end to end: the real program on the demonstration data, and on recorded data.

mod ahead;
pub mod demo;
mod faces;
mod late_level;
mod mornings;
mod real;
mod wording;
mod year;
