//! The one test binary: end to end, outside checks, properties, rules of the house.

mod badinput;
mod brief;
mod delivery;
mod digest;
mod forecasts;
#[path = "fuzz/targets.rs"]
mod fuzz_targets;
mod house;
mod lake_new;
mod outside;
mod properties;
mod published;
mod pull;
mod recordings;
mod store_lake;
mod trips;
mod validation;
