//! Round trips, budgets, and things that hold for any input.

mod catalogues;
mod hindcast_input;
mod lake_file;
mod lake_schema;
mod learning;
mod mail_and_calendar;
mod notices;
mod reclamation;
mod river_services;
mod seeds;
mod skill;
mod sources;
mod store;
mod water;
mod weather_service;
mod whereabouts;
