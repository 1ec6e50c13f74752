//! The quick water model: what holds for any input, and what practice expects of the demonstration lake.

mod equations;
mod hindcast;
mod invented;
mod mornings;
