//! The analysed water of a lake: its columns run day by day under what the store holds, corrected by readings, saved, taken
//! up again, and read off as the water of a morning.
//!
//! | file | what it holds |
//! |---|---|
//! | `advance` | the run up to the clock, from the newest valid state or from a cold start |
//! | `days_ahead` | the water of coming mornings |
//! | `begin` | the members at the beginning of a cold run |
//! | `inputs` | what a day of the run rests on, as a hash |
//! | `observed` | readings of the water among the series, one a day and depth |
//! | `keep` | which days' states are kept |
//! | `kept` | the columns' water of the newest morning, until something changes |
//! | `outlook` | the days ahead |
//! | `turnover` | the season ahead, to the day on which the water turns over |
//! | `past` | what species were offered on mornings long past |
//! | `morning` | the water of a morning: the columns', with the quick model as reference and fallback |

mod advance;
mod begin;
mod days_ahead;
mod error;
mod inputs;
mod keep;
mod kept;
mod morning;
mod observed;
mod outlook;
mod past;
mod turnover;

pub use advance::{AdvanceOptions, Advanced, Begun, LANES, MEMBERS, advance};
pub use begin::SEED;
pub use days_ahead::water_ahead;
pub use error::AnalysisError;
pub use inputs::{inputs_by_day, inputs_hash};
pub use keep::days_kept;
pub use morning::{MorningSource, MorningWater, morning_water};
pub use observed::{ObservedWater, observed_water};
pub use past::{PastMornings, features_at, forage_at};
pub use turnover::{COARSE_LAYER_M, SeasonOptions, poured, season_of, season_runs};
