//! Turnover: what counts as one, and what runs of many years' weather made of it.
//!
//! | file | what it holds |
//! |---|---|
//! | `criterion` | when a column has turned over, for hindcast and outlook |
//! | `runs` | a season's runs, place by place |

mod criterion;
mod runs;

pub use criterion::{
    ALIKE_DEGC, MixDay, Mixing, STAYS_DAYS, SeasonEnd, autumn_before, mixing_after, most_stable, season_end,
};
pub use runs::{PlaceRuns, RunEnd, RunYear, SeasonRuns, YearWeights};
