//! Checks of what is to be scored, made before anything is computed.

use super::SkillError;

/// How far probabilities that must add up to 1 may miss it: they may have been printed with six digits
/// (project choice).
pub(crate) const SUM_WITHIN_PROB: f64 = 1e-6;

pub(crate) fn at_least(what: &'static str, found: usize, least: usize) -> Result<(), SkillError> {
    if found < least {
        return Err(SkillError::TooFew { what, found, least });
    }
    Ok(())
}

pub(crate) fn same_length(what: &'static str, found: usize, wanted: usize) -> Result<(), SkillError> {
    if found != wanted {
        return Err(SkillError::Lengths { what, found, wanted });
    }
    Ok(())
}

/// Refuses the first value for which `fits` does not hold.
pub(crate) fn each(
    what: &'static str,
    values: &[f64],
    wanted: &'static str,
    fits: impl Fn(f64) -> bool,
) -> Result<(), SkillError> {
    match values.iter().position(|v| !fits(*v)) {
        Some(place) => Err(SkillError::Value {
            what,
            place,
            value: values[place],
            wanted,
        }),
        None => Ok(()),
    }
}

pub(crate) fn finite(what: &'static str, values: &[f64]) -> Result<(), SkillError> {
    each(what, values, "a finite number", f64::is_finite)
}

pub(crate) fn probabilities(what: &'static str, values: &[f64]) -> Result<(), SkillError> {
    each(what, values, "a probability from 0 to 1", |p| {
        (0.0..=1.0).contains(&p)
    })
}

/// Probabilities of all that can happen: at least one, each from 0 to 1, in all 1.
pub(crate) fn distribution(what: &'static str, values: &[f64]) -> Result<(), SkillError> {
    at_least(what, values.len(), 1)?;
    probabilities(what, values)?;
    let value: f64 = values.iter().sum();
    if (value - 1.0).abs() > SUM_WITHIN_PROB {
        return Err(SkillError::Value {
            what,
            place: values.len(),
            value,
            wanted: "a sum of 1 of all before",
        });
    }
    Ok(())
}
