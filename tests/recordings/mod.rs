//! Every parser on every recording of its service (validation data, not in the repository).

mod csv;
mod open_meteo;
mod usgs_ogc;
