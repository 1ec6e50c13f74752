//! The weekly digest as a value: the week behind, the week ahead, and what stands beside them. SI, UTC, no sentence.
//!
//! | file | what it holds |
//! |---|---|
//! | `value` | what a digest consists of |
//! | `day` | one coming day: shares, band, ramps, cautions, hours |
//! | `week` | what the trips of the week caught, and how its calls did |
//! | `make` | all of it in one value |

mod day;
mod make;
mod value;
mod week;

pub use day::{DayParts, digest_day, mornings_ahead};
pub use make::{DigestParts, make_digest};
pub use value::*;
pub use week::{week_record, week_trips};
