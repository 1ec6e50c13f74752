//! The trip log: words, forms, tracks, history, faulty imports, and the program as its user runs it.

mod effort;
mod faulty;
mod fit;
mod kill;
mod program;
mod round_trip;
pub mod scene;
mod skill;
mod sonar;
mod tracks;
mod versions;
mod words;
