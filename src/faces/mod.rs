//! Faces over the report values: wording and units for the reader, no other arithmetic.
pub mod faults;
pub mod lake;
