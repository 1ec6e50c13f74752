//! Factors of the water model that a lake file states.

/// Names of the factors, each the word of [`crate::lake::ModelFactor::name`].
pub const MODEL_FACTORS: &[&str] = &[
    "wind_frac",
    "extinction_frac",
    "sky_frac",
    "background_frac",
    "power_frac",
    "exchange_frac",
    "demand_frac",
];

/// A factor on the published defaults of the water model, as far as it is known at this lake: log-normal.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelFactor {
    /// One of [`MODEL_FACTORS`].
    pub name: String,
    /// Median.
    pub median_frac: f64,
    /// Standard deviation of its logarithm.
    pub log_sd: f64,
}
