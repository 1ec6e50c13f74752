//! One step of a temperature that follows its equilibrium at a rate of its own.
//!
//! The lake and river equations are both `dT/dt = (F - a T) / d`: a temperature that relaxes toward
//! `F / a` at the rate `a / d`. The rate grows without bound where the mixed depth `d` becomes thin, so
//! an explicit step of a day overshoots. A day is cut into substeps by the rate, each by the classical
//! Runge-Kutta rule of fourth order, whose kinks (the daily values) lie on its ends. Where the rate within
//! a substep turns out too great for it, the substep is instead solved exactly with rate and equilibrium
//! frozen (exponential Euler): such a step never passes the equilibrium, so no input can make it blow up,
//! and water that fast sits on its equilibrium anyway.

/// Greatest product of rate and substep that a substep is planned for: with it the halving of substeps
/// changes a daily run by less than 0.01 degC (held by a test).
const RATE_STEP: f64 = 0.25;
/// Greatest product met within a substep for which Runge-Kutta is kept (it is stable to 2.78).
const RATE_STEP_MET: f64 = 1.0;
/// Most substeps in a day.
const MOST_SUBSTEPS: f64 = 24.0;
/// Substeps on a day on which the water may reach 0 degC or leave it: the corner has to be met.
const FREEZING_SUBSTEPS: f64 = MOST_SUBSTEPS;
/// How near to 0 degC a day's two ends must foretell the water for that.
const NEAR_FREEZING_DEGC: f64 = 1.0;

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

    /// Exact solution after `step_days` from `temp_degc`, with drive and rate held.
    fn after_degc(&self, temp_degc: f64, step_days: f64) -> f64 {
        let decay = self.rate_per_day * step_days;
        if decay < 1e-9 {
            return temp_degc + self.slope_degc_per_day(temp_degc) * step_days;
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
    let (begin, end) = (at(0.0, temp_degc), at(1.0, temp_degc));
    let freezes = |equation: Relaxation| equation.drive_degc_per_day <= 0.0;
    if temp_degc <= 0.0 && freezes(begin) && freezes(end) {
        // Between its ends a day's drive runs straight, so it does not thaw in between.
        return 0.0;
    }
    let wanted = (begin.rate_per_day.max(end.rate_per_day) / RATE_STEP).ceil();
    let coldest_degc = temp_degc
        + begin
            .slope_degc_per_day(temp_degc)
            .min(end.slope_degc_per_day(temp_degc));
    let fewest = if coldest_degc <= NEAR_FREEZING_DEGC {
        FREEZING_SUBSTEPS
    } else {
        1.0
    };
    let substeps = wanted.clamp(fewest, MOST_SUBSTEPS) as u32 * fineness.max(1);
    let step_days = 1.0 / f64::from(substeps);
    let mut temp_degc = temp_degc;
    for i in 0..substeps {
        let start_frac = f64::from(i) * step_days;
        temp_degc = runge_kutta_degc(temp_degc, start_frac, step_days, &at)
            .unwrap_or_else(|| at(start_frac + 0.5 * step_days, temp_degc).after_degc(temp_degc, step_days))
            .max(0.0);
    }
    temp_degc
}

/// One classical Runge-Kutta substep; `None` where a rate within it is too great.
fn runge_kutta_degc(
    temp_degc: f64,
    start_frac: f64,
    step_days: f64,
    at: &impl Fn(f64, f64) -> Relaxation,
) -> Option<f64> {
    let slope = |share: f64, temp_degc: f64| {
        let temp_degc = temp_degc.max(0.0);
        let equation = at(share, temp_degc);
        // Written so that a rate that is no number is too great.
        let slow = equation.rate_per_day * step_days <= RATE_STEP_MET;
        let slope = equation.slope_degc_per_day(temp_degc);
        // Water at 0 degC freezes instead of cooling.
        slow.then(|| if temp_degc > 0.0 { slope } else { slope.max(0.0) })
    };
    let k1 = slope(start_frac, temp_degc)?;
    let k2 = slope(start_frac + 0.5 * step_days, temp_degc + 0.5 * step_days * k1)?;
    let k3 = slope(start_frac + 0.5 * step_days, temp_degc + 0.5 * step_days * k2)?;
    let k4 = slope(start_frac + step_days, temp_degc + step_days * k3)?;
    Some(temp_degc + step_days / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frozen_equation_is_solved_to_fourth_order() {
        // Newton's cooling: T = E + (T0 - E) exp(-r t).
        let equation = Relaxation {
            drive_degc_per_day: 4.0,
            rate_per_day: 0.2,
        };
        let found = step_one_day_degc(10.0, 1, |_, _| equation);
        // Fourth order: 0.2^5 / 120 of the 10 degC.
        assert!((found - (20.0 - 10.0 * (-0.2f64).exp())).abs() < 3e-5);
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
