//! The lake description: what does not change from day to day, in SI, and its file.

mod brief;
pub mod capacity;
pub mod error;
mod fetch;
pub mod file;
pub mod hindcast;
pub mod hypsography;
pub mod model;
mod model_factor;
pub mod notice;
mod order;
mod outing;
pub mod position;
mod practice;
mod series_source;
pub mod service;
mod turnover;

pub use capacity::{Capacity, CapacityError, CapacityKind, hypsography_of};
pub use error::LakeError;
pub use file::{Fault, QUESTION, read_known_lake_file, read_lake, read_lake_bytes, read_lake_file};
pub use hindcast::{
    Depths, Hindcast, HypsographyTable, IceTable, InflowTable, LevelTable, ProfileTable, ProfileWhat,
    ReleaseTable, RiverColumn, RiverWhat, Rows, Scale, StampAt, TableFile, WeatherColumn, WeatherTable,
    WeatherWhat, units_of,
};
pub use model::*;
pub use model_factor::{MODEL_FACTORS, ModelFactor};
pub use notice::{BandEdge, NOTICE_KINDS, Notice, NoticeCondition, NoticeSide};
pub use outing::{Boat, CableKind, Links, Presentation};
pub use position::distance_m;
pub use practice::{Habit, Practice, practice};
pub use series_source::{AlertSource, Cadence, CsvColumns, SeriesPlace, SeriesSource};
pub use service::ServiceRule;
pub use turnover::{MonthDay, TurnoverSeason};
