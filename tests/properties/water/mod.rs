//! The quick water model: what holds for any input, and what practice expects of the demonstration lake.

mod analysis;
mod assimilation;
mod below_surface;
mod equations;
mod hindcast;
mod hindcast_fit;
mod invented;
mod layers;
mod mornings;
mod network;
mod reservoir;
mod seams;
mod season;
mod stated_factors;
mod step;
pub mod stored;
