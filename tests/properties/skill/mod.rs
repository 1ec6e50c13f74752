//! What holds of scores for any forecast, and of simulated ones.

mod any_input;
mod simulated;
