//! Where tagged fish were, month by month, from what fixed receivers heard of them.
//!
//! Two estimators, from simple to elaborate: positions held between two hearings ([`held_days`]), and states that are hidden and
//! heard with a chance that depends on how many receivers listened ([`hidden`]). Both give [`FishDays`]. Areas are numbers,
//! whose meaning is the caller's, and so is the map from receivers to areas. Months are numbers from 0 (January) to 11.

pub mod agreement;
pub mod fish_days;
pub mod held;
pub mod hidden;
pub mod resample;

pub use agreement::{rank_correlation, total_variation};
pub use fish_days::{FishDays, MONTHS};
pub use held::{HoldRule, Track, held_days};
pub use resample::{FishResampling, group_intervals};
