//! Where each series comes from.

mod alerts;
mod csv;
mod order;
mod place;
mod read;
mod service;

pub(super) use alerts::{check_contact, read_official_alerts};
pub(super) use csv::read_stamp_zone;
pub(super) use read::read_series;
