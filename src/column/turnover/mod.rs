//! Turnover: what counts as one, and what runs of many years' weather made of it.
//!
//! | file | what it holds |
//! |---|---|
//! | `criterion` | when a column has turned over, for hindcast and outlook |
//! | `years` | autumns of a record, year by year |
//! | `runs` | a season's runs, place by place |

mod criterion;
mod runs;
mod years;

pub use criterion::{
    ALIKE_DEGC, Autumn, LONGEST_GAP_DAYS, MixDay, Mixing, STAYS_DAYS, SeasonEnd, autumn_before, last_layered,
    mixing_after, most_stable, season_end,
};
pub use runs::{PlaceRuns, RunEnd, RunYear, SeasonRuns, YearWeights};
pub use years::{Hemisphere, autumns, deep_columns, mixings};
