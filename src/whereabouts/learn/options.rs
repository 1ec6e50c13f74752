//! How a fit is made, and the priors that the rules do not give.

use chrono::NaiveDate;

use super::FitError;

/// Prior of the logarithm of fish per rod-hour, share and catchability taken out: mean (project choice).
pub const LN_RATE_MEAN: f64 = -1.203_972_804_325_936; // ln 0.3
/// Its standard deviation (project choice).
pub const LN_RATE_SD: f64 = 1.0;
/// Dispersion of catches below [`TRIPS_FOR_SPREAD`] trips, and the median of its prior from there on (project choice).
pub const CATCH_K: f64 = 1.5;
/// Standard deviation of the logarithm of the dispersion (project choice).
pub const LN_CATCH_K_SD: f64 = 0.5;
/// Spread of zones and stretches below [`TRIPS_FOR_SPREAD`] trips, and scale of its half-normal prior (project choice).
pub const PLACE_SD: f64 = 0.5;
/// Trips from which the dispersion and the spread of places are estimated (project choice; sixteen trips cannot).
pub const TRIPS_FOR_SPREAD: usize = 40;
/// Prior of the logarithm of marks an hour: mean (project choice, ln 2).
pub const LN_MARKS_MEAN: f64 = std::f64::consts::LN_2;
/// Its standard deviation (project choice, wide).
pub const LN_MARKS_SD: f64 = 1.5;
/// Dispersion of marks (project choice). No row tells more than `k` of a log-odds, in units of 1/variance, so marks tell at most a
/// third of what a catch can.
pub const MARKS_K: f64 = 0.5;
/// Correlation of the trips of one week (project choice: same week, same school).
pub const WEEK_CORRELATION: f64 = 0.3;

/// How a fit is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitOptions {
    /// Day of the fit, from which ages of trips count.
    pub as_of: NaiveDate,
    /// Age at which a trip weighs half; `None`, the default, weighs all alike.
    pub half_life_days: Option<f64>,
    /// Whether rows whose zone was chosen by a report take part; they do by default.
    pub with_reports: bool,
    /// Whether sonar marks take part; they do by default.
    pub with_marks: bool,
    /// Whether species share what they learn of R2 and R7; they do not by default.
    pub pooled: bool,
    /// Correlation of the trips of one week, 0 to below 1.
    pub week_correlation: f64,
    /// Dispersion of catches, held; `None` takes or estimates it as the number of trips allows.
    pub held_dispersion: Option<f64>,
    /// Spread of zones and stretches, held; `None` likewise.
    pub held_place_sd: Option<f64>,
}

impl FitOptions {
    /// The defaults on the day `as_of`.
    pub fn on(as_of: NaiveDate) -> FitOptions {
        FitOptions {
            as_of,
            half_life_days: None,
            with_reports: true,
            with_marks: true,
            pooled: false,
            week_correlation: WEEK_CORRELATION,
            held_dispersion: None,
            held_place_sd: None,
        }
    }

    pub(super) fn check(&self) -> Result<(), FitError> {
        let above_0 = |x: f64| x > 0.0;
        let fits: [(&'static str, Option<f64>, bool, &'static str); 4] = [
            (
                "half-life in days",
                self.half_life_days,
                self.half_life_days.is_none_or(|x| above_0(x) && x.is_finite()),
                "a number above 0",
            ),
            (
                "correlation within a week",
                Some(self.week_correlation),
                (0.0..1.0).contains(&self.week_correlation),
                "a number from 0 to below 1",
            ),
            (
                "dispersion",
                self.held_dispersion,
                self.held_dispersion.is_none_or(above_0),
                "a number above 0",
            ),
            (
                "spread of places",
                self.held_place_sd,
                self.held_place_sd.is_none_or(|x| above_0(x) && x.is_finite()),
                "a number above 0",
            ),
        ];
        match fits.into_iter().find(|(_, _, fits, _)| !fits) {
            Some((what, value, _, wanted)) => Err(FitError::Choice {
                what,
                value: value.unwrap_or(f64::NAN),
                wanted,
            }),
            None => Ok(()),
        }
    }
}
