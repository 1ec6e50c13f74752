//! Past days as modelled, against what was measured: pairs, figures, references, the report as a value.
//!
//! | file | what it holds |
//! |---|---|
//! | `input` | from a lake file and its tables to what drives the columns, and observations |
//! | `read_tables`, `profiles`, `drawn`, `hypsography`, `note`, `error` | parts of it |
//! | `mean_flow` | rivers of which only the mean is known |
//! | `model` | the lake, run over its past weather |
//! | `fit` | a few factors of the model estimated, on all years and on the others of each block |
//! | `judge` | a hindcast from what was read to its report |
//! | `observed` | observations, one profile a day |
//! | `pairs` | modelled days, and each observation beside what was modelled there |
//! | `statistics` | error figures of a list of differences |
//! | `figures` | which pairs a figure is made of: surface, upper 5 m, whole profile, below the thermocline |
//! | `thermocline` | thermoclines observed and modelled |
//! | `turnover` | dates of the autumn turnover |
//! | `climatology` | reference: the mean of the other years at that date and depth |
//! | `persistence` | reference: the last profile before |
//! | `quick` | reference: the surface from air temperature alone |
//! | `years` | intervals by resampling whole years |
//! | `report` | the report as a value |
//! | `assemble` | the report of a lake from observations and modelled days |
//! | `tables` | pairs and modelled profiles as Parquet |
//!
//! Weighting is plain over points throughout: a day with twenty depths counts twenty times, a year with daily
//! profiles more than one with a few. Published figures of lake models are made so, and so are these.

pub mod assemble;
pub mod climatology;
mod drawn;
mod error;
pub mod figures;
pub mod fit;
mod fit_runs;
mod hypsography;
pub mod input;
pub mod judge;
pub mod mean_flow;
pub mod model;
mod note;
pub mod observed;
pub mod outlook;
pub mod pairs;
pub mod persistence;
mod profiles;
pub mod quick;
mod read_tables;
pub mod report;
pub mod statistics;
pub mod tables;
pub mod thermocline;
pub mod turnover;
pub mod years;

pub use assemble::{Comparison, Hindcast, Judging, assemble_hindcast};
pub use error::InputError;
pub use input::{HindcastInput, Winter, load_hindcast};
pub use judge::{Judged, ModelNote, judge_hindcast};
pub use model::{ModelError, PastLake};
pub use note::InputNote;
pub use observed::{Observed, ObservedProfile, Profiles, daily_profiles};
pub use pairs::{Compared, ModelledDay, Pair, Paired, pair_up};
pub use report::HindcastReport;
