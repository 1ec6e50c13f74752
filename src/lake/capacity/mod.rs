//! From a table of elevation and storage (or area), as operators publish it, to a hypsography of a readable
//! number of rows.

mod derive;
mod error;

pub use derive::{
    Capacity, CapacityKind, DERIVED_TOLERANCE_FRAC, MOST_ROWS, THIN_TOLERANCE_FRAC, hypsography_of,
};
pub use error::CapacityError;
