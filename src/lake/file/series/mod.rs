//! Where each series comes from.

mod csv;
mod order;
mod place;
mod read;
mod service;

pub(super) use read::read_series;
