//! Invented replies of the National Weather Service through client and parser.

mod alerts;
mod forecasts;
mod observations;
mod served;
