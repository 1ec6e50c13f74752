//! Numerical ground: nothing here knows a unit, a date or a constant of nature.

pub mod interpolate;
pub mod map_fit;
pub mod quantiles;
pub mod roots;
pub mod simplex;
pub mod slopes;
pub mod softmax;
pub mod streams;
