//! One step of a temperature that follows its equilibrium at a rate of its own.
//!
//! The lake and river equations are both `dT/dt = (F - a T) / d`: a temperature that relaxes toward
//! `F / a` at the rate `a / d`. The rate grows without bound where the mixed depth `d` becomes thin, so
//! an explicit step of a day overshoots. Here the equation is solved exactly over each substep with rate
//! and equilibrium frozen at the substep's middle (exponential midpoint rule, second order; Hochbruck &
//! Ostermann 2010, Acta Numerica 19:209, from memory). Such a step never passes the equilibrium, whatever
//! its length, so substeps serve accuracy only, and no input can make it blow up.

/// Greatest product of rate and substep: with it the halving of substeps changes a daily run by less
/// than 0.01 degC (held by a test).
const RATE_STEP: f64 = 0.25;
/// Most substeps in a step: beyond this rate the water sits on its equilibrium within a step anyway.
const MOST_SUBSTEPS: f64 = 24.0;

/// The equation at one moment: `dT/dt = drive - rate T`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relaxation {
    /// Drive.
    pub drive_degc_per_day: f64,
    /// Rate, not negative.
    pub rate_per_day: f64,
}

impl Relaxation {
    /// Right-hand side at temperature `temp_degc`.
    pub fn slope_degc_per_day(&self, temp_degc: f64) -> f64 {
        self.drive_degc_per_day - self.rate_per_day * temp_degc
    }

    /// Exact solution after `step_day` from `temp_degc`, with drive and rate held.
    fn after_degc(&self, temp_degc: f64, step_day: f64) -> f64 {
        let decay = self.rate_per_day * step_day;
        if decay < 1e-9 {
            return temp_degc + self.slope_degc_per_day(temp_degc) * step_day;
        }
        let equilibrium_degc = self.drive_degc_per_day / self.rate_per_day;
        equilibrium_degc + (temp_degc - equilibrium_degc) * (-decay).exp()
    }
}

/// Temperature one day later, never below 0 degC.
///
/// `at(share, temp_degc)` gives the equation at `share` (0..1) of the day; `fineness` multiplies the
/// number of substeps (1 for use, more to test convergence).
pub(super) fn step_one_day_degc(temp_degc: f64, fineness: u32, at: impl Fn(f64, f64) -> Relaxation) -> f64 {
    let rate_per_day = at(0.0, temp_degc).rate_per_day;
    // NaN and infinite rates take the cap.
    let wanted = (rate_per_day / RATE_STEP).ceil();
    let substeps = wanted.clamp(1.0, MOST_SUBSTEPS) as u32 * fineness.max(1);
    let step_day = 1.0 / f64::from(substeps);
    let mut temp_degc = temp_degc;
    for i in 0..substeps {
        let start = f64::from(i) * step_day;
        let half = at(start, temp_degc)
            .after_degc(temp_degc, 0.5 * step_day)
            .max(0.0);
        temp_degc = at(start + 0.5 * step_day, half)
            .after_degc(temp_degc, step_day)
            .max(0.0);
    }
    temp_degc
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frozen_equation_is_solved_exactly() {
        // Newton's cooling: T = E + (T0 - E) exp(-r t).
        let equation = Relaxation {
            drive_degc_per_day: 4.0,
            rate_per_day: 0.2,
        };
        let found = step_one_day_degc(10.0, 1, |_, _| equation);
        assert!((found - (20.0 - 10.0 * (-0.2f64).exp())).abs() < 1e-12);
    }

    #[test]
    fn an_immense_rate_lands_on_the_equilibrium() {
        let equation = Relaxation {
            drive_degc_per_day: 1e12,
            rate_per_day: 1e11,
        };
        assert!((step_one_day_degc(0.0, 1, |_, _| equation) - 10.0).abs() < 1e-9);
    }

    #[test]
    fn water_does_not_cool_below_freezing() {
        let equation = Relaxation {
            drive_degc_per_day: -5.0,
            rate_per_day: 0.0,
        };
        assert_eq!(step_one_day_degc(1.0, 1, |_, _| equation), 0.0);
    }
}
