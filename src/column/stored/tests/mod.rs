//! The forcing from invented series of the demonstration lake, whose every value follows from a formula.

mod ahead;
mod cold_start;
mod past;
mod water;
mod world;
