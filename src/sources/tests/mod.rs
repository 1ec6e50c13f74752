//! Jobs from needs, and batches from jobs, over a service on a loopback address.

mod cdec;
mod cwms;
mod hydromet;
mod jobs;
mod nwps;
mod nws;
mod open_meteo;
mod replay;
mod rise;
mod scene;
mod tables;
mod usgs_legacy;
mod usgs_ogc;
mod waterml;
