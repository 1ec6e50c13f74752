//! What trips have taught, as a value.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::FitError;
use super::entangled::{Choice, choice};
use super::fit::{SpeciesFit, Spread, fit_together};
use super::influence::{Influence, influences};
use super::learned::Learned;
use super::options::FitOptions;
use super::rows::{LeftOut, Morning, SpeciesRows};
use super::stretch_table::{Caught, StretchCatch, caught_in, stretch_table};
use crate::lake::{SpeciesId, ZoneId};
use crate::math::quantiles::quantile_of_sorted;
use crate::math::softmax::softmax;
use crate::math::streams::{normal, stream};
use crate::species::Species;
use crate::whereabouts::Belief;
use crate::whereabouts::draws::ETA_BOUND;

/// What the trips of all species have taught.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FitReport {
    /// By species.
    pub species: BTreeMap<SpeciesId, SpeciesReport>,
}

/// What the trips of one species have taught.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesReport {
    /// Name for people.
    pub name: String,
    /// Trips with a part in the fit.
    pub trips: usize,
    /// Rows without, and why.
    pub left_out: Vec<LeftOut>,
    /// Dispersion of catches.
    pub dispersion: Spread,
    /// Spread of zones and stretches in the logarithm of the catch.
    pub place_sd: Spread,
    /// Every coefficient, with the trips that moved it most.
    pub coefficients: Vec<Coefficient>,
    /// Shares of the morning asked for, by rules and as learned; empty where none was.
    pub shares: Vec<ShareChange>,
    /// How zones were chosen.
    pub choice: Choice,
    /// Catch per rod-hour, of all hours and fish of the log, those without a part in the fit too.
    pub stretches: Vec<StretchCatch>,
}

/// One coefficient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Coefficient {
    /// Before and after.
    #[serde(flatten)]
    pub learned: Learned,
    /// By how many prior standard deviations the posterior mean moves when rows chosen by reports are left out; `None` where there are
    /// none, or the fit was without them anyway.
    pub without_reports_sd: Option<f64>,
    /// Trips that moved it most.
    pub influences: Vec<Influence>,
}

/// The share of one zone before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ShareChange {
    /// Zone.
    pub zone: ZoneId,
    /// By the rules.
    pub rules: ShareSpread,
    /// As learned.
    pub learned: ShareSpread,
}

/// A share over draws of the coefficients.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ShareSpread {
    /// Mean.
    pub share: f64,
    /// Median.
    pub median: f64,
    /// 10 % quantile.
    pub low: f64,
    /// 90 % quantile.
    pub high: f64,
}

/// What is wanted of a report beside the fits.
#[derive(Debug, Clone, Copy)]
pub struct ReportAsked<'a> {
    /// Zones that can be fished.
    pub fishable: &'a [ZoneId],
    /// Mornings whose shares are to be shown, one for each species; empty for none.
    pub mornings: &'a [Morning],
    /// Hours and fish for the table of stretches, one list for each species; `None` for those of the rows.
    pub caught: Option<&'a [Vec<Caught>]>,
    /// Draws, at least 2000 for a report that is kept.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
}

/// Fits all species and says what was learned.
///
/// # Errors
/// As [`fit_together`].
pub fn fit_report(
    rows: &[SpeciesRows<'_>],
    options: &FitOptions,
    asked: &ReportAsked<'_>,
) -> Result<(Vec<SpeciesFit>, FitReport), FitError> {
    let fits = fit_together(rows, options)?;
    let without = FitOptions {
        with_reports: false,
        ..*options
    };
    let choices: Vec<Choice> = rows.iter().map(|r| choice(r, asked.fishable)).collect();
    let any_report = options.with_reports && choices.iter().any(|c| c.report_frac > 0.0);
    let unreported = any_report.then(|| fit_together(rows, &without)).transpose()?;
    let mut species = BTreeMap::new();
    for (i, ((fit, rows), choice)) in fits.iter().zip(rows).zip(choices).enumerate() {
        let unreported = unreported
            .as_ref()
            .map(|fits| &fits[i])
            .filter(|_| choice.report_frac > 0.0);
        let by_trip = influences(fit, rows);
        let coefficients = fit.learned(rows).into_iter().zip(by_trip).enumerate();
        let coefficients = coefficients.map(|(k, (learned, influences))| Coefficient {
            learned,
            without_reports_sd: unreported.map(|other| other.moved_sd[k] - fit.moved_sd[k]),
            influences,
        });
        let report = SpeciesReport {
            name: rows.species.name.clone(),
            trips: fit.trips,
            left_out: fit.left_out.clone(),
            dispersion: fit.dispersion,
            place_sd: fit.place_sd,
            coefficients: coefficients.collect(),
            shares: asked
                .mornings
                .get(i)
                .map_or_else(Vec::new, |m| share_changes(rows, fit, m, asked)),
            choice,
            stretches: match asked.caught {
                Some(caught) => stretch_table(&caught[i], fit.dispersion.value),
                None => stretch_table(&caught_in(rows), fit.dispersion.value),
            },
        };
        species.insert(SpeciesId::new(rows.species.id.clone()), report);
    }
    Ok((fits, FitReport { species }))
}

fn share_changes(
    rows: &SpeciesRows<'_>,
    fit: &SpeciesFit,
    morning: &Morning,
    asked: &ReportAsked<'_>,
) -> Vec<ShareChange> {
    let rules = Belief::rules(rows.species);
    let draw = |belief: &Belief| morning_shares(rows, belief, morning, (asked.draws, asked.seed));
    let (before, after) = (draw(&rules), draw(&fit.belief));
    let zones = before.into_iter().zip(after);
    zones
        .filter_map(|((zone, rules), (_, learned))| {
            Some(ShareChange {
                zone,
                rules: spread(rules)?,
                learned: spread(learned)?,
            })
        })
        .collect()
}

fn spread(mut share: Vec<f64>) -> Option<ShareSpread> {
    let mean = share.iter().sum::<f64>() / share.len() as f64;
    share.sort_unstable_by(f64::total_cmp);
    Some(ShareSpread {
        share: mean,
        median: quantile_of_sorted(&share, 0.5)?,
        low: quantile_of_sorted(&share, 0.1)?,
        high: quantile_of_sorted(&share, 0.9)?,
    })
}

/// Shares of a morning by draw of the coefficients, the main body first; closed zones have 0. Drivers and the mature share are at
/// their middle: a brief draws those as well.
pub fn morning_shares(
    rows: &SpeciesRows<'_>,
    belief: &Belief,
    morning: &Morning,
    (draws, seed): (usize, u64),
) -> Vec<(ZoneId, Vec<f64>)> {
    let noise: Vec<Vec<f64>> = (rows.species.rules.iter())
        .map(|row| {
            let mut numbers = stream(seed, &format!("learned/{}/{}", rows.species.id, row.id));
            (0..draws.max(1)).map(|_| normal(&mut numbers)).collect()
        })
        .collect();
    let coefficients = belief.draw_rules(&noise);
    let ids = std::iter::once(&morning.main).chain(morning.zones.iter().map(|z| &z.zone));
    let mut found: Vec<(ZoneId, Vec<f64>)> = ids.map(|z| (z.clone(), Vec::new())).collect();
    for d in 0..draws.max(1) {
        let beta: Vec<f64> = coefficients.iter().map(|c| c[d]).collect();
        let shares = shares_at(rows.species, rows.mature_frac, morning, &beta);
        found
            .iter_mut()
            .zip(shares)
            .for_each(|((_, of), share)| of.push(share));
    }
    found
}

/// Shares of a morning at one set of coefficients, the main body first: the rules as `draw_shares` has them.
pub fn shares_at(species: &Species, mature_frac: Option<f64>, morning: &Morning, beta: &[f64]) -> Vec<f64> {
    let part = |rest: bool| {
        let others = morning.zones.iter().map(|z| {
            let follows = |k: usize| !(rest && species.rules[k].mature_only);
            let each = z
                .response
                .iter()
                .zip(beta)
                .enumerate()
                .filter(|(k, _)| follows(*k));
            let eta: f64 = each.map(|(_, (f, b))| f * b).sum();
            if z.closed {
                f64::NEG_INFINITY
            } else {
                eta.clamp(-ETA_BOUND, ETA_BOUND)
            }
        });
        softmax(&std::iter::once(0.0).chain(others).collect::<Vec<_>>())
    };
    match mature_frac {
        None => part(false),
        Some(m) => part(false)
            .iter()
            .zip(part(true))
            .map(|(p, q)| m * p + (1.0 - m) * q)
            .collect(),
    }
}
