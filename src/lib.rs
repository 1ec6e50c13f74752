//! plungeline: a reservoir conditions forecaster for the angler who trolls it.
//!
//! Data flow down this table; imports point up it, at the ground.
//!
//! | folder | what it holds |
//! |---|---|
//! | [`math`] | interpolation, slopes, softmax, random streams |
//! | [`physics`] | pure functions of water, air, sun, waves |
//! | [`lake`] | the lake description and its file |
//! | [`species`] | suitability curves and rule priors |
//! | [`series`] | records with provenance, the store |
//! | [`sources`] | one file a public service |
//! | [`quality`] | one file a QARTOD test |
//! | [`conditions`] | level, pulses, surface trend, wind, light |
//! | [`trips`] | the angler's own trips: effort, catch, marks, readings |
//! | [`mod@column`] | the lake's water by zone and depth |
//! | [`whereabouts`] | shares by zone, depth band, signed reasons |
//! | [`plan`] | ramps, cautions |
//! | [`archive`] | calls as they were issued |
//! | [`notices`] | the user's own conditions, each told once |
//! | [`skill`] | scores of forecasts against what happened |
//! | [`analysis`] | the analysed water from day to day, and the water of a morning |
//! | [`hindcast`] | past weather and profiles of a lake, from its tables |
//! | [`reports`] | the brief as a value |
//! | [`delivery`] | readers, the ledger of letters, the mail server |
//! | [`hindcast`] | past days as modelled against what was measured |
//! | [`faces`] | the brief as text and JSON |
//! | [`cli`] | one file a command |

pub mod clock;
pub mod error;
pub mod quantity;
pub mod units;

pub mod analysis;
pub mod archive;
pub mod cli;
pub mod column;
pub mod conditions;
pub mod delivery;
pub mod faces;
pub mod hindcast;
pub mod lake;
pub mod math;
pub mod notices;
pub mod physics;
pub mod plan;
pub mod quality;
pub mod reports;
pub mod series;
pub mod skill;
pub mod sources;
pub mod species;
pub mod trips;
pub mod whereabouts;
