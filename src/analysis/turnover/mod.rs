//! The season ahead: the analysed water run through the forecast and every past year's weather, to the day on which it turns over.
//!
//! | file | what it holds |
//! |---|---|
//! | `season` | the chain, from the analysed water to the runs |
//! | `coarse` | the analysed water on fewer, thicker columns |
//! | `steps` | the runs, a thread a block |
//! | `likeness` | weights of years by how like they are to this one |

mod coarse;
mod likeness;
mod season;
mod steps;

pub use coarse::{COARSE_LAYER_M, poured};
pub use season::{SeasonOptions, season_of, season_runs};
