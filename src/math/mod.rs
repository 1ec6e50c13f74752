//! Numerical ground: nothing here knows a unit, a date or a constant of nature.

pub mod analogs;
pub mod autoregression;
pub mod change_point;
pub mod count_regression;
pub mod counts;
pub mod ensemble;
pub mod fast;
pub mod interpolate;
pub mod kendall;
pub mod least_squares;
pub mod map_fit;
pub mod newton;
pub mod pchip;
pub mod powers;
pub mod quantiles;
pub mod roots;
pub mod simplex;
pub mod slopes;
pub mod smooth;
pub mod softmax;
pub mod span_means;
pub mod streams;
pub mod tridiagonal;
pub mod wide;
