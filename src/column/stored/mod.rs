//! The forcing of the columns from the store: the hours up to the clock of a brief, and each member of the days ahead.
//!
//! | file | what it holds |
//! |---|---|
//! | `forcing` | the chain, from series to [`StoredForcing`] |
//! | `note` | what of a forcing is not as it was measured |
//! | `known` | the series as they were known at the clock |
//! | `window` | the hours wanted, and the standard days in them |
//! | `rows` | readings made into means over spans |
//! | `sources` | the sources of a quantity with a past, their scale against the base |
//! | `seam` | how a source was brought to the scale of the base |
//! | `join` | spans of several sources laid side by side, the best first |
//! | `normal` | means by day of the year, the last resort |
//! | `wanted` | the quantities of the weather, and what series tell of them |
//! | `past` | the weather up to the clock |
//! | `ahead` | the weather of a member ahead |
//! | `forecast` | which forecast to take, how it reads, its members |
//! | `rivers` | rivers up to the clock and ahead |
//! | `river_temp` | a river's temperature where it was not measured |
//! | `water` | releases and level |
//! | `cold_start` | where a run without a saved state begins |
//! | `years` | the weather of the same days of past years |
//! | `fragments` | the course of the day where a past year has daily values only |
//! | `scenarios` | each past year's weather from the clock on, behind the forecast, with rivers and release |

mod ahead;
mod cold_start;
mod error;
mod forcing;
mod forecast;
mod fragments;
mod join;
mod known;
mod normal;
mod note;
mod past;
mod river_temp;
mod rivers;
mod rows;
mod scenarios;
mod seam;
mod sources;
mod wanted;
mod water;
mod window;
mod years;

#[cfg(test)]
mod tests;

pub use cold_start::{COLD_START_LEAST_DAYS, cold_start};
pub use error::StoredForcingError;
pub use forcing::{StoredForcing, StoredOptions, stored_forcing};
pub use note::{StoredNote, Used};
pub use scenarios::{Scenario, ScenarioOptions, Scenarios, WarmthBefore, scenarios};
pub use seam::{SeamScale, StoredSeam};
pub use years::LeftOut;
