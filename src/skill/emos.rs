//! Correction of an ensemble's mean and spread by what was observed before (EMOS).

use super::SkillError;
use super::checks::{at_least, each, finite};
use super::crps::crps_of_normal;
use crate::math::simplex::{Lowest, SimplexSearch, lowest};

/// Mean and variance of an ensemble, and what was observed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MomentCase {
    /// Mean of the members.
    pub mean: f64,
    /// Variance of the members, in the square of the mean's unit.
    pub variance: f64,
    /// What was observed.
    pub observed: f64,
}

/// Full correction: `y ~ N(a + b m, c + d s^2)` for an ensemble of mean `m` and variance `s^2`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emos {
    /// `a`, in the unit of the forecast.
    pub intercept: f64,
    /// `b`, no unit; 1 leaves the mean.
    pub slope: f64,
    /// `c`, in the square of the forecast's unit, not negative.
    pub added_variance: f64,
    /// `d`, no unit, not negative; 1 leaves the variance.
    pub variance_factor: f64,
    /// Mean CRPS of the corrected forecasts over the cases of the fit: in sample, so better than it will be.
    pub crps: f64,
}

/// Small correction: `y ~ N(m + shift, (sd_factor s)^2)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShiftAndStretch {
    /// Added to the mean, in the unit of the forecast.
    pub shift: f64,
    /// Times the standard deviation, positive; 1 leaves it.
    pub sd_factor: f64,
    /// Mean CRPS over the cases of the fit, in sample.
    pub crps: f64,
}

/// Ends of the search: CRPS to 1e-13 of a unit is far below any use of it.
const SEARCH: SimplexSearch = SimplexSearch {
    evaluations: 40_000,
    value_within: 1e-13,
    corner_within: 1e-7,
};

/// Mean CRPS of normal forecasts with the ensembles' own mean and variance, in their unit: the score that a
/// correction has to better.
///
/// # Errors
/// [`SkillError`] without cases, with a number that is not finite, or a variance that is not positive.
pub fn mean_normal_crps(cases: &[MomentCase]) -> Result<f64, SkillError> {
    check(cases, 1)?;
    Ok(mean_crps(cases, |c| (c.mean, c.variance.sqrt())))
}

/// Fits [`Emos`] by least mean CRPS, with `c` and `d` the squares of what is searched, so that the variance is
/// never negative.
///
/// Source: Gneiting, Raftery, Westveld & Goldman 2005 (minimum CRPS; there the square is taken of `d`
/// alone: that of `c` is a project choice, without which a forecast can have a variance below 0). Four numbers want
/// far more cases than the five asked for here: under about 150 use [`fit_shift_and_stretch`] (project choice).
///
/// # Errors
/// [`SkillError::TooFew`] under five cases; [`SkillError::Value`] as [`mean_normal_crps`];
/// [`SkillError::Undefined`] when the means do not differ or no minimum is found (cases that a straight line
/// fits without error).
pub fn fit_emos(cases: &[MomentCase]) -> Result<Emos, SkillError> {
    check(cases, 5)?;
    let count = cases.len() as f64;
    let mean_of = |value: fn(&MomentCase) -> f64| cases.iter().map(value).sum::<f64>() / count;
    let (forecast, observed) = (mean_of(|c| c.mean), mean_of(|c| c.observed));
    let squares: f64 = cases.iter().map(|c| (c.mean - forecast).powi(2)).sum();
    if squares == 0.0 {
        return Err(NO_FIT);
    }
    let products: f64 = cases
        .iter()
        .map(|c| (c.mean - forecast) * (c.observed - observed))
        .sum();
    let slope = products / squares;
    // The mean is searched as `level + slope (m - mean of m)`, for intercept and slope pull on each other.
    let left = |c: &MomentCase| (c.observed - observed - slope * (c.mean - forecast)).powi(2);
    let residual_sd = (cases.iter().map(left).sum::<f64>() / count).sqrt();
    if residual_sd == 0.0 {
        return Err(NO_FIT);
    }
    let ensemble_sd = mean_of(|c| c.variance).sqrt();
    let half = 0.5f64.sqrt();
    let start = [
        observed,
        slope,
        residual_sd * half,
        residual_sd * half / ensemble_sd,
    ];
    let step = [
        0.5 * residual_sd,
        0.5 * residual_sd * (count / squares).sqrt(),
        0.3 * start[2],
        0.3 * start[3],
    ];
    let f = |p: &[f64]| {
        mean_crps(cases, |c| {
            let variance = p[2] * p[2] + p[3] * p[3] * c.variance;
            (p[0] + p[1] * (c.mean - forecast), variance.sqrt())
        })
    };
    let found = settled(lowest(f, &start, &step, SEARCH))?;
    Ok(Emos {
        intercept: found.at[0] - found.at[1] * forecast,
        slope: found.at[1],
        added_variance: found.at[2] * found.at[2],
        variance_factor: found.at[3] * found.at[3],
        crps: found.value,
    })
}

/// Fits [`ShiftAndStretch`] by least mean CRPS; the factor is searched by its logarithm, so that it stays
/// positive. For the few cases of a first season (project choice: from 20 on).
///
/// Source: Gneiting et al. 2005 with `b` 1 and `c` 0.
///
/// # Errors
/// [`SkillError::TooFew`] under three cases; [`SkillError::Value`] as [`mean_normal_crps`];
/// [`SkillError::Undefined`] when one shift makes all of them exact.
pub fn fit_shift_and_stretch(cases: &[MomentCase]) -> Result<ShiftAndStretch, SkillError> {
    check(cases, 3)?;
    let count = cases.len() as f64;
    let shift = cases.iter().map(|c| c.observed - c.mean).sum::<f64>() / count;
    let left = |c: &MomentCase| (c.observed - c.mean - shift).powi(2);
    let residual_sd = (cases.iter().map(left).sum::<f64>() / count).sqrt();
    if residual_sd == 0.0 {
        return Err(NO_FIT);
    }
    let ensemble_sd = (cases.iter().map(|c| c.variance).sum::<f64>() / count).sqrt();
    let start = [shift, (residual_sd / ensemble_sd).ln()];
    let f = |p: &[f64]| mean_crps(cases, |c| (c.mean + p[0], p[1].exp() * c.variance.sqrt()));
    let found = settled(lowest(f, &start, &[0.5 * residual_sd, 0.3], SEARCH))?;
    Ok(ShiftAndStretch {
        shift: found.at[0],
        sd_factor: found.at[1].exp(),
        crps: found.value,
    })
}

const NO_FIT: SkillError = SkillError::Undefined {
    what: "a correction of mean and spread",
    wanted: "forecasts that differ from each other, and errors left after the correction",
};

fn settled(found: Option<Lowest>) -> Result<Lowest, SkillError> {
    found.filter(|f| f.converged).ok_or(NO_FIT)
}

fn check(cases: &[MomentCase], least: usize) -> Result<(), SkillError> {
    at_least("forecasts with what was observed", cases.len(), least)?;
    let column = |value: fn(&MomentCase) -> f64| cases.iter().map(value).collect::<Vec<f64>>();
    finite("means of ensembles", &column(|c| c.mean))?;
    finite("what was observed", &column(|c| c.observed))?;
    each(
        "variances of ensembles",
        &column(|c| c.variance),
        "a finite number above 0",
        |v| v.is_finite() && v > 0.0,
    )
}

/// Mean CRPS of normal forecasts whose mean and standard deviation `moments` says.
fn mean_crps(cases: &[MomentCase], moments: impl Fn(&MomentCase) -> (f64, f64)) -> f64 {
    let sum: f64 = cases
        .iter()
        .map(|c| {
            let (mean, sd) = moments(c);
            crps_of_normal(mean, sd, c.observed)
        })
        .sum();
    sum / cases.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn case(mean: f64, variance: f64, observed: f64) -> MomentCase {
        MomentCase {
            mean,
            variance,
            observed,
        }
    }

    #[test]
    fn what_cannot_be_fitted_is_refused() {
        let few = vec![case(1.0, 1.0, 2.0); 4];
        assert!(matches!(fit_emos(&few), Err(SkillError::TooFew { least: 5, .. })));
        assert!(matches!(
            fit_shift_and_stretch(&few[..2]),
            Err(SkillError::TooFew { least: 3, .. })
        ));
        let alike: Vec<MomentCase> = (0..8).map(|i| case(1.0, 1.0, f64::from(i))).collect();
        assert!(matches!(fit_emos(&alike), Err(SkillError::Undefined { .. })));
        let exact: Vec<MomentCase> = (0..8)
            .map(|i| case(f64::from(i), 1.0, f64::from(i) + 0.5))
            .collect();
        assert!(fit_emos(&exact).is_err() && fit_shift_and_stretch(&exact).is_err());
        assert!(matches!(
            mean_normal_crps(&[case(1.0, 1.0, 1.0), case(1.0, 0.0, 1.0)]),
            Err(SkillError::Value { place: 1, .. })
        ));
        assert!(mean_normal_crps(&[case(f64::NAN, 1.0, 1.0)]).is_err());
        assert!(mean_normal_crps(&[]).is_err());
    }
}
