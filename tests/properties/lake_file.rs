//! The lake file: twins, no panic on any bytes.

use std::path::Path;

use plungeline::lake::read_lake;

#[path = "../lake_services.rs"]
mod lake_services;
use lake_services::SERVICES;
