//! Broken services, broken files, broken arguments: a clear message, nothing lost.

mod brief;
mod errors;
mod hindcast;
mod lake_file;
mod lake_order;
mod lake_volumes;
mod model_factors;
mod notices;
mod outage;
mod planned_release;
mod services;
mod store;
