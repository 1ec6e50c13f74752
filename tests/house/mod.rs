//! Rules of the house. What no test holds, drifts. DEVELOPERS.md says how each was seen to fail.

mod commands;
mod config;
mod documents;
mod fuzz;
mod imports;
mod panics;
mod rules_table;
mod sizes;
pub mod source;
mod suffixes;
mod words;
