//! The air-to-water equation fitted to the observed surface, with the depth regression as prior.

use chrono::{Days, NaiveDate};
use rand_chacha::ChaCha12Rng;

use super::climatology::{climatology_rmse, year_frac};
use super::season::winter_minimum_degc;
use crate::column::{FitForm, SurfaceFit};
use crate::math::map_fit::{MapFit, Prior, Search, fit_map, fit_map_from};
use crate::math::quantiles::root_mean_square;
use crate::math::roots::bisect;
use crate::physics::air_water::{AirWater, Season};
use crate::physics::water::MAX_DENSITY_TEMP_DEGC;
use crate::series::Daily;

/// Most days of observations that a fit uses: six years.
const FIT_DAYS: u64 = 6 * 365;
/// Days that the model runs before the first observation, to forget its start.
const SPIN_UP_DAYS: u64 = 120;
/// Span and number of observations from which six parameters are fitted (physics reference 7: two years).
const SIX_PARAMETERS_FROM: (i64, usize) = (2 * 365 - 10, 60);
/// Scatter of published lakes about the depth regression: equilibrium at 10 degC (degC), a2/a3, ln a3,
/// ln a4, a5/a3 (degC), a6. Root mean squares over Zurich, Constance, Biel, Sparkling, Balaton and
/// Superior (Toffolon et al. 2014, Table 3), their mean depths from memory.
const SCATTER: [f64; 6] = [0.8, 0.10, 0.40, 0.25, 1.0, 0.10];
/// Air temperature at which the equilibrium is a coordinate of the fit: there its scatter hardly goes
/// with that of the sensitivity (at 0 degC the two are correlated at -0.9 over the same lakes).
const PIVOT_DEGC: f64 = 10.0;
/// How much wider the scatter is taken where the mean depth itself is a guess (common practice, no source).
const ASSUMED_DEPTH_WIDENS: f64 = 1.5;
/// Residual before any is seen: spread (RMSE of published fits, 0.8 to 1.3 degC) and day-to-day
/// correlation (common practice, no source).
const RESIDUAL_GUESS: (f64, f64) = (1.2, 0.95);
/// Bounds within which a correlation is believed: beyond, a short record has deceived.
const PERSISTENCE_RANGE: (f64, f64) = (0.5, 0.99);
/// Least residual spread that is believed, degC.
const LEAST_RESIDUAL_DEGC: f64 = 0.3;
/// Longest gap between two observations from which the correlation is judged.
const PAIR_DAYS: usize = 7;

/// The fitted equation, with what is uncertain in it.
#[derive(Debug, Clone)]
pub struct FittedSurface {
    /// How it was fitted and how well it fits.
    pub fit: SurfaceFit,
    /// The most probable parameters.
    pub best: AirWater,
    /// Standard deviation of the residual.
    pub residual_spread_degc: f64,
    form: Form,
    found: MapFit,
}

impl FittedSurface {
    /// One draw of the parameters from their posterior.
    pub fn draw(&self, stream: &mut ChaCha12Rng) -> AirWater {
        self.form.parameters(&self.found.draw(stream))
    }
}

/// Mean depth that the first guess is taken at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanDepth {
    /// Mean depth, positive.
    pub depth_m: f64,
    /// Whether it is a guess.
    pub assumed: bool,
}

/// Fits the air-to-water equation to an observed surface: MAP with priors at the depth regression of
/// Piccolroaz 2016 (6-parameter form).
///
/// `air_temp_degc` begins at `first` and has no gaps, shape `[day]`; `observed` are daily means of the
/// surface. At most the last six years with observations are used: from two years on all six parameters
/// are fitted, with fewer the regression is held and a1 alone is fitted, with none the regression stands.
/// Residuals of neighbouring days are alike, so each counts for (1 - r) / (1 + r) of an observation, r
/// the residual's own correlation over the gap to the one before. `None` for an empty air record.
pub fn fit_surface(
    first: NaiveDate,
    air_temp_degc: &[f64],
    observed: &Daily,
    depth: MeanDepth,
) -> Option<FittedSurface> {
    let window = Window::of(first, air_temp_degc, observed)?;
    let guess = threshold_of(
        &window,
        AirWater::first_guess_6(depth.depth_m, MAX_DENSITY_TEMP_DEGC),
    );
    let six = window.span_days() >= SIX_PARAMETERS_FROM.0 && window.seen.len() >= SIX_PARAMETERS_FROM.1;
    let form = Form { guess, six };
    let prior = form.prior(if depth.assumed { ASSUMED_DEPTH_WIDENS } else { 1.0 });
    let (mut spread_degc, mut persistence) = RESIDUAL_GUESS;
    let mut found = fit_map(&prior, search(spread_degc), |_, r| r.clear())?;
    let mut rmse_degc = None;
    if !window.seen.is_empty() {
        for _ in 0..2 {
            let weights = window.weights(persistence);
            let start = found.at.clone();
            found = fit_map_from(&prior, &start, search(spread_degc), |p, residuals| {
                window.residuals(&form.parameters(p), residuals);
                residuals.iter_mut().zip(&weights).for_each(|(r, w)| *r *= w);
            })?;
            let mut residuals = Vec::new();
            window.residuals(&form.parameters(&found.at), &mut residuals);
            rmse_degc = root_mean_square(&residuals);
            if window.seen.len() >= SIX_PARAMETERS_FROM.1 {
                spread_degc = rmse_degc.unwrap_or(spread_degc).max(LEAST_RESIDUAL_DEGC);
                persistence = window.persistence(&residuals).unwrap_or(persistence);
            }
        }
    }
    let seen_dates = || {
        window
            .seen
            .iter()
            .map(|(day, _)| window.first + Days::new(*day as u64))
    };
    let fit = SurfaceFit {
        form: match (window.seen.is_empty(), six) {
            (true, _) => FitForm::FirstGuess,
            (false, true) => FitForm::SixParameters,
            (false, false) => FitForm::OffsetAlone,
        },
        days: window.seen.len(),
        first: seen_dates().next(),
        last: seen_dates().next_back(),
        rmse_degc,
        climatology_rmse_degc: climatology_rmse(&window.observed),
        residual_persistence: persistence,
        mean_depth_m: depth.depth_m,
        mean_depth_assumed: depth.assumed,
    };
    let best = form.parameters(&found.at);
    Some(FittedSurface {
        fit,
        best,
        residual_spread_degc: spread_degc,
        form,
        found,
    })
}

fn search(residual_spread_degc: f64) -> Search {
    Search {
        weight: residual_spread_degc.powi(-2),
        steps: 8,
        tolerance: 1e-4,
    }
}

/// The threshold of `guess` raised to the lake's own winter minimum, where that is above 4 degC: from
/// what was observed, else from the guess itself.
fn threshold_of(window: &Window, guess: AirWater) -> AirWater {
    let modelled = || {
        let run = guess.run_degc(window.start_degc, &window.air_temp_degc, &window.year_frac);
        run.into_iter().map(Some).collect::<Vec<_>>()
    };
    let observed = winter_minimum_degc(&window.observed.value);
    let minimum_degc = observed.or_else(|| winter_minimum_degc(&modelled()));
    let threshold_degc = minimum_degc
        .unwrap_or(MAX_DENSITY_TEMP_DEGC)
        .max(MAX_DENSITY_TEMP_DEGC);
    AirWater {
        threshold_degc,
        ..guess
    }
}

/// The fit's own coordinates, in which the equation's behaviour is spread evenly: equilibrium at the
/// pivot (a1 + a2 10)/a3, sensitivity a2/a3, ln a3, ln a4, seasonal swing a5/a3, its date a6. Or the
/// first alone, which is a1.
#[derive(Debug, Clone)]
struct Form {
    guess: AirWater,
    six: bool,
}

impl Form {
    fn centre(&self) -> [f64; 6] {
        let g = &self.guess;
        let season = g.season.unwrap_or(Season {
            a5_degc_per_day: 0.0,
            a6_frac: 0.0,
        });
        [
            (g.a1_degc_per_day + g.a2_per_day * PIVOT_DEGC) / g.a3_per_day,
            g.a2_per_day / g.a3_per_day,
            g.a3_per_day.ln(),
            g.a4_degc.ln(),
            season.a5_degc_per_day / g.a3_per_day,
            season.a6_frac,
        ]
    }

    fn prior(&self, widening: f64) -> Prior {
        let count = if self.six { 6 } else { 1 };
        // With the rest held, the offset must carry their scatter as well: twice its own.
        let widening = if self.six { widening } else { 2.0 * widening };
        Prior {
            mean: self.centre()[..count].to_vec(),
            spread: SCATTER[..count].iter().map(|s| s * widening).collect(),
        }
    }

    fn parameters(&self, at: &[f64]) -> AirWater {
        let mut c = self.centre();
        c[..at.len()].copy_from_slice(at);
        let a3_per_day = c[2].exp();
        AirWater {
            a1_degc_per_day: (c[0] - c[1] * PIVOT_DEGC) * a3_per_day,
            a2_per_day: c[1] * a3_per_day,
            a3_per_day,
            a4_degc: c[3].exp(),
            season: Some(Season {
                a5_degc_per_day: c[4] * a3_per_day,
                a6_frac: c[5],
            }),
            cold: None,
            threshold_degc: self.guess.threshold_degc,
        }
    }
}

/// The stretch of days that a fit runs over.
struct Window {
    first: NaiveDate,
    air_temp_degc: Vec<f64>,
    year_frac: Vec<f64>,
    start_degc: f64,
    /// Observed days, as days since `first`, with their values.
    seen: Vec<(usize, f64)>,
    observed: Daily,
}

impl Window {
    fn of(first: NaiveDate, air_temp_degc: &[f64], observed: &Daily) -> Option<Window> {
        let last = first + Days::new(air_temp_degc.len().checked_sub(1)? as u64);
        let measured = |date: &NaiveDate| observed.get(*date).is_some();
        let newest = observed.last().map(|d| d.min(last)).filter(|d| *d >= first);
        let to = newest
            .and_then(|newest| {
                first
                    .iter_days()
                    .take_while(|d| *d <= newest)
                    .filter(measured)
                    .last()
            })
            .unwrap_or(last);
        let from = to
            .checked_sub_days(Days::new(FIT_DAYS))
            .map_or(first, |d| d.max(first));
        let run_from = from
            .checked_sub_days(Days::new(SPIN_UP_DAYS))
            .map_or(first, |d| d.max(first));
        let days = usize::try_from((to - run_from).num_days()).ok()? + 1;
        let skip = usize::try_from((run_from - first).num_days()).ok()?;
        let dates = || run_from.iter_days().take(days);
        let value: Vec<Option<f64>> = dates()
            .map(|d| observed.get(d).filter(|v| v.is_finite() && d >= from))
            .collect();
        let seen: Vec<(usize, f64)> = value
            .iter()
            .enumerate()
            .filter_map(|(i, v)| v.map(|v| (i, v)))
            .collect();
        let air_temp_degc = air_temp_degc[skip..skip + days].to_vec();
        let start_degc = seen
            .first()
            .filter(|(day, _)| *day == 0)
            .map_or(air_temp_degc[0].max(0.0), |s| s.1);
        Some(Window {
            first: run_from,
            year_frac: dates().map(year_frac).collect(),
            air_temp_degc,
            start_degc,
            seen,
            observed: Daily::new(run_from, value),
        })
    }

    fn span_days(&self) -> i64 {
        match (self.seen.first(), self.seen.last()) {
            (Some(first), Some(last)) => (last.0 - first.0) as i64,
            _ => 0,
        }
    }

    /// Model less observation on each observed day.
    fn residuals(&self, parameters: &AirWater, into: &mut Vec<f64>) {
        let run = parameters.run_degc(self.start_degc, &self.air_temp_degc, &self.year_frac);
        into.clear();
        into.extend(self.seen.iter().map(|&(day, observed)| run[day] - observed));
    }

    /// Square root of each observation's worth, 1 for one that stands alone.
    fn weights(&self, persistence: f64) -> Vec<f64> {
        let mut before = None;
        let worth = self.seen.iter().map(|&(day, _)| {
            let alike = before.map_or(0.0, |b: usize| persistence.powi((day - b) as i32));
            before = Some(day);
            ((1.0 - alike) / (1.0 + alike)).sqrt()
        });
        worth.collect()
    }

    /// Correlation of residuals a day apart: the r at which `sum r^gap s^2` meets the sum of products of
    /// neighbours at most a week apart. `None` with fewer than 30 such pairs.
    fn persistence(&self, residuals_degc: &[f64]) -> Option<f64> {
        let variance = root_mean_square(residuals_degc)?.powi(2);
        let pairs: Vec<(i32, f64)> = (1..residuals_degc.len())
            .map(|i| {
                (
                    self.seen[i].0 - self.seen[i - 1].0,
                    residuals_degc[i] * residuals_degc[i - 1],
                )
            })
            .filter(|(gap, _)| *gap <= PAIR_DAYS)
            .map(|(gap, product)| (gap as i32, product))
            .collect();
        if pairs.len() < 30 {
            return None;
        }
        let excess = |r: f64| {
            pairs
                .iter()
                .map(|(gap, product)| r.powi(*gap) * variance - product)
                .sum::<f64>()
        };
        let (low, high) = PERSISTENCE_RANGE;
        Some(bisect(excess, low, high, 1e-4).unwrap_or(if excess(low) > 0.0 { low } else { high }))
    }
}
