//! The forms in which trips leave the log and come back: CSV, JSON, Parquet; and the tables of others.

mod csv;
mod foreign;
mod foreign_map;
mod json;
mod parquet;

pub use csv::{read_trips_csv, trips_csv};
pub use foreign::read_foreign_csv;
pub use foreign_map::{ColumnMap, read_column_map};
pub use json::{read_trips_json, trips_json};
pub use parquet::{trips_of_parquet, trips_parquet};
