//! The river equation fitted to an observed river, with a published set as prior.

use rand_chacha::ChaCha12Rng;

use crate::lake::ThermalRegime;
use crate::math::map_fit::{MapFit, Prior, Search, fit_map};
use crate::math::quantiles::root_mean_square;
use crate::physics::river_temp::{LOWLAND, REGULATED, RiverDay, RiverTemp, SNOW_FED};

/// Days that a river runs before it is believed: its rate is near 1 a day.
pub(in crate::column) const SPIN_UP_DAYS: usize = 30;
/// Temperature that a river starts a run with (common practice, no source); forgotten within the spin-up.
pub(in crate::column) const START_DEGC: f64 = 8.0;
/// Fewest observed days for a fit.
const FIT_FEWEST: usize = 30;
/// Spread of the published sets as priors: equilibrium offset (degC), logarithms of a2, a3 and a6, and
/// a7 in years (common practice, no source: three rivers stand for all).
const SCATTER: [f64; 5] = [2.0, 0.20, 0.20, 0.30, 0.04];
/// Residual of a river before any is seen: the sets reach 0.6 to 1.1 degC on the rivers that they were
/// fitted to; twice that on another (common practice, no source).
const RESIDUAL_GUESS_DEGC: f64 = 2.0;
/// Residual that weighs an observation in the fit (published daily RMSE in validation: 0.6 to 1.1 degC).
const FIT_RESIDUAL_DEGC: f64 = 1.0;
/// Day-to-day correlation of the residual (common practice, no source).
pub(in crate::column) const PERSISTENCE: f64 = 0.85;

/// A fitted river.
#[derive(Debug, Clone)]
pub struct FittedRiver {
    /// The most probable parameters.
    pub best: RiverTemp,
    /// Observed days that the fit used; 0 where there were too few and the published set stands.
    pub days: usize,
    /// RMSE over those days (in sample), or a stated guess without them.
    pub residual_degc: f64,
    form: RiverForm,
    found: MapFit,
}

impl FittedRiver {
    /// One draw of the parameters from their posterior.
    pub fn draw(&self, stream: &mut ChaCha12Rng) -> RiverTemp {
        self.form.parameters(&self.found.draw(stream))
    }
}

/// Fits the river equation: MAP with a published set as prior.
///
/// `days` drive the river without gaps, shape `[day]`; `observed` holds `(day, degC)`, of which those of
/// the first 30 days are left out. Fewer than 30 observations leave the published set as it is. `None`
/// only where an observation or a day is no number.
pub fn fit_river(regime: ThermalRegime, days: &[RiverDay], observed: &[(usize, f64)]) -> Option<FittedRiver> {
    let form = RiverForm {
        guess: published(regime),
    };
    let observed: Vec<(usize, f64)> = observed
        .iter()
        .copied()
        .filter(|(day, _)| (SPIN_UP_DAYS..days.len()).contains(day))
        .collect();
    let enough = observed.len() >= FIT_FEWEST;
    let fill = |p: &[f64], residuals: &mut Vec<f64>| {
        residuals.clear();
        if enough {
            let run = form.parameters(p).run_degc(START_DEGC, days);
            residuals.extend(observed.iter().map(|&(day, value)| run[day] - value));
        }
    };
    let prior = Prior {
        mean: vec![0.0; SCATTER.len()],
        spread: SCATTER.to_vec(),
    };
    // Neighbouring days are alike: each counts for (1 - r) / (1 + r) of an observation.
    let worth = (1.0 - PERSISTENCE) / (1.0 + PERSISTENCE);
    let search = Search {
        weight: worth / FIT_RESIDUAL_DEGC.powi(2),
        steps: 6,
        tolerance: 1e-3,
    };
    let found = fit_map(&prior, search, fill)?;
    let mut residuals = Vec::new();
    fill(&found.at, &mut residuals);
    Some(FittedRiver {
        best: form.parameters(&found.at),
        days: residuals.len(),
        residual_degc: root_mean_square(&residuals).unwrap_or(RESIDUAL_GUESS_DEGC),
        form,
        found,
    })
}

/// The published set of a thermal regime.
pub fn published(regime: ThermalRegime) -> RiverTemp {
    match regime {
        ThermalRegime::Lowland => LOWLAND,
        ThermalRegime::Regulated => REGULATED,
        ThermalRegime::SnowFed => SNOW_FED,
    }
}

/// The fit's coordinates about a published set: equilibrium offset, shares of a2, a3, a6, shift of a7.
#[derive(Debug, Clone)]
struct RiverForm {
    guess: RiverTemp,
}

impl RiverForm {
    fn parameters(&self, at: &[f64]) -> RiverTemp {
        let g = &self.guess;
        let loss_per_day = g.a3_per_day + g.a8_per_day;
        RiverTemp {
            a1_degc_per_day: g.a1_degc_per_day + at[0] * loss_per_day,
            a2_per_day: g.a2_per_day * at[1].exp(),
            a3_per_day: g.a3_per_day * at[2].exp(),
            a6_degc_per_day: g.a6_degc_per_day * at[3].exp(),
            a7_frac: g.a7_frac + at[4],
            ..*g
        }
    }
}
