//! The fit: most probable coefficients of one species, or of several that share what they learn of two rules.

use nalgebra::{Cholesky, DMatrix};
use serde::{Deserialize, Serialize};

use super::super::Belief;
use super::design::{Frame, RowK, SpeciesDesign, TripDesign, species_design};
use super::layout::Layout;
use super::options::{CATCH_K, FitOptions, PLACE_SD, TRIPS_FOR_SPREAD};
use super::posterior::Posterior;
use super::rows::{LeftOut, SpeciesRows};
use super::{FitError, learned};
use crate::math::newton::{Top, climb, climb_to};

/// Most Newton steps of a fit.
const MOST_STEPS: usize = 200;
/// Rules that species may share (science reference 4.1).
const POOLED_RULES: [&str; 2] = ["R2", "R7"];
/// Ends of the search for the spread of places (project choice).
const PLACE_SD_FROM_TO: (f64, f64) = (0.02, 2.0);
/// Width in its logarithm at which that search ends, so that it is known to 8 % (project choice).
const LN_PLACE_SD_WITHIN: f64 = 0.17;
/// Steps at which a climb of that search ends: its height is right to the square.
const SEARCH_STEP_END: f64 = 1e-4;

/// A number that was held, or taken from the trips.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Spread {
    /// Its value.
    pub value: f64,
    /// Whether the trips gave it; else there were too few.
    pub estimated: bool,
}

/// What trips have taught of one species.
#[derive(Debug, Clone)]
pub struct SpeciesFit {
    /// Coefficients, to be used in place of the rules.
    pub belief: Belief,
    /// Parameters.
    pub layout: Layout,
    /// Most probable parameters in prior standard deviations from the prior mean. Shape `[parameter]`.
    pub moved_sd: Vec<f64>,
    /// Their covariance in these units, trips of one week counted as alike.
    pub covariance: DMatrix<f64>,
    /// Prior mean and scale of each parameter.
    pub priors: Vec<(f64, f64)>,
    /// Dispersion of catches.
    pub dispersion: Spread,
    /// Spread of zones and stretches in the logarithm of the catch.
    pub place_sd: Spread,
    /// Trips with a part in it.
    pub trips: usize,
    /// Rows without.
    pub left_out: Vec<LeftOut>,
    /// Newton steps of the last climb.
    pub steps: usize,
    pub(super) whole: Whole,
}

/// The posterior that a species was fitted in, alone or with others.
#[derive(Debug, Clone)]
pub(super) struct Whole {
    pub posterior: Posterior,
    pub top: Top,
    /// Place of each parameter of the species among all.
    pub place: Vec<usize>,
    /// The trips of the species among those of the posterior.
    pub own: std::ops::Range<usize>,
}

/// Fits one species by itself.
///
/// # Errors
/// [`FitError`] where rows or options cannot be, or no top is found.
pub fn fit_species(rows: &SpeciesRows<'_>, options: &FitOptions) -> Result<SpeciesFit, FitError> {
    let mut fits = fit_together(std::slice::from_ref(rows), options)?;
    Ok(fits.remove(0))
}

/// Fits several species: each by itself, or with R2 and R7 in common where `options.pooled`: then each of these coefficients
/// differs from its prior mean by the same number of prior standard deviations in every species (project choice).
///
/// # Errors
/// As [`fit_species`].
pub fn fit_together(rows: &[SpeciesRows<'_>], options: &FitOptions) -> Result<Vec<SpeciesFit>, FitError> {
    options.check()?;
    if rows.len() == 1 || options.pooled {
        return fit_group(rows, options);
    }
    let one = |rows| fit_group(std::slice::from_ref(rows), options);
    // Species know nothing of each other: each in a thread of its own, in the order given.
    let each: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = rows.iter().map(|r| scope.spawn(move || one(r))).collect();
        let joined = threads.into_iter().map(|t| t.join());
        joined
            .map(|fit| fit.unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    });
    let mut fits = Vec::new();
    for fit in each {
        fits.extend(fit?);
    }
    Ok(fits)
}

/// A species with its place in a group.
struct Member<'a> {
    rows: &'a SpeciesRows<'a>,
    layout: Layout,
    place: Vec<usize>,
    dispersion: RowK,
    design: SpeciesDesign,
}

fn fit_group(group: &[SpeciesRows<'_>], options: &FitOptions) -> Result<Vec<SpeciesFit>, FitError> {
    let enough = |rows: &SpeciesRows<'_>| {
        rows.trips.iter().filter(|t| !t.efforts.is_empty()).count() >= TRIPS_FOR_SPREAD
    };
    let mut members: Vec<Member<'_>> = Vec::new();
    let mut parameters = 0;
    for rows in group {
        let with_k = options.held_dispersion.is_none() && enough(rows);
        let layout = Layout::new(rows, options, with_k);
        let place = places(&layout, rows, members.first(), &mut parameters);
        let priors = layout.priors(rows.species, PLACE_SD);
        let dispersion = match layout.k() {
            Some(at) => RowK::Fitted {
                place: place[at],
                mean: priors[at].0,
                scale: priors[at].1,
            },
            None => RowK::Held(options.held_dispersion.unwrap_or(CATCH_K)),
        };
        let frame = Frame {
            layout: &layout,
            place: &place,
            priors: &priors,
            dispersion,
        };
        let design = species_design(rows, &frame, options)?;
        members.push(Member {
            rows,
            layout,
            place,
            dispersion,
            design,
        });
    }
    let mut posterior = Posterior {
        trips: members
            .iter()
            .flat_map(|m| m.design.trips.iter().cloned())
            .collect(),
        parameters,
        place_sd: options.held_place_sd.unwrap_or(PLACE_SD),
    };
    let name = || {
        group
            .iter()
            .map(|r| r.species.id.as_str())
            .collect::<Vec<_>>()
            .join(" and ")
    };
    let estimated = options.held_place_sd.is_none() && group.iter().all(enough);
    let mut start = vec![0.0; parameters];
    if estimated {
        (posterior.place_sd, start) = likeliest_place_sd(&posterior, start);
    }
    let no_top = |steps| FitError::NoTop {
        species: name(),
        steps,
    };
    let top = climb(&start, &mut posterior, MOST_STEPS).ok_or_else(|| no_top(0))?;
    if !top.converged {
        return Err(no_top(top.steps));
    }
    // Trips of one week are alike: what they tell together counts as less. The prior keeps its whole weight, so that a
    // coefficient of which they tell nothing keeps the spread of the rules.
    let by_week = posterior.curvature_by(&top.at, |t: &TripDesign| t.weight * t.week_weight);
    let covariance = Cholesky::new(by_week).ok_or_else(|| no_top(top.steps))?.inverse();
    let place_sd = Spread {
        value: posterior.place_sd,
        estimated,
    };
    let mut from = 0;
    members
        .into_iter()
        .map(|member| {
            let own = from..from + member.design.trips.len();
            from = own.end;
            let whole = Whole {
                posterior: posterior.clone(),
                top: top.clone(),
                place: member.place.clone(),
                own,
            };
            species_fit(member, whole, &covariance, place_sd).ok_or_else(|| no_top(top.steps))
        })
        .collect()
}

/// Places of a species' parameters: new ones, but for the rules that it shares with the `first` of its group.
fn places(
    layout: &Layout,
    rows: &SpeciesRows<'_>,
    first: Option<&Member<'_>>,
    parameters: &mut usize,
) -> Vec<usize> {
    let shared = |k: usize| -> Option<usize> {
        let id = rows.species.rules.get(k).map(|r| r.id.as_str())?;
        let first = first.filter(|_| POOLED_RULES.contains(&id))?;
        let there = first.rows.species.rules.iter().position(|r| r.id == id)?;
        Some(first.place[there])
    };
    (0..layout.len())
        .map(|k| {
            shared(k).unwrap_or_else(|| {
                *parameters += 1;
                *parameters - 1
            })
        })
        .collect()
}

fn species_fit(
    member: Member<'_>,
    whole: Whole,
    covariance: &DMatrix<f64>,
    place_sd: Spread,
) -> Option<SpeciesFit> {
    let place = &member.place;
    let own = |matrix: &DMatrix<f64>, count: usize| {
        DMatrix::from_fn(count, count, |i, j| matrix[(place[i], place[j])])
    };
    let moved_sd: Vec<f64> = place.iter().map(|k| whole.top.at[*k]).collect();
    let species = member.rows.species;
    let coefficients = species.rules.len() + species.catchability.len();
    let belief = Belief::learned(species, &moved_sd[..coefficients], &own(covariance, coefficients))?;
    Some(SpeciesFit {
        belief,
        covariance: own(covariance, place.len()),
        priors: member.layout.priors(species, place_sd.value),
        dispersion: Spread {
            value: member.dispersion.at(&whole.top.at),
            estimated: matches!(member.dispersion, RowK::Fitted { .. }),
        },
        place_sd,
        trips: member.design.trips.len(),
        left_out: member.design.left_out,
        steps: whole.top.steps,
        layout: member.layout,
        moved_sd,
        whole,
    })
}

/// The spread of places with the greatest marginal likelihood times its half-normal prior, by Laplace's approximation, and where
/// the climb stood there.
///
/// `ln p(y | tau) = ln p(y, z | tau) - ln |curvature| / 2` at the top. The top of places and spread together would be no
/// answer: it runs to a spread of 0. Golden section in the logarithm.
fn likeliest_place_sd(posterior: &Posterior, start: Vec<f64>) -> (f64, Vec<f64>) {
    let mut posterior = posterior.clone();
    let mut stand = start;
    let mut marginal = |ln_sd: f64| -> f64 {
        posterior.place_sd = ln_sd.exp();
        let Some(top) = climb_to(&stand, &mut posterior, MOST_STEPS, SEARCH_STEP_END) else {
            return f64::NEG_INFINITY;
        };
        let Some(root) = Cholesky::new(top.curvature) else {
            return f64::NEG_INFINITY;
        };
        stand = top.at;
        let half_ln_det: f64 = root.l().diagonal().iter().map(|d| d.ln()).sum();
        top.value - half_ln_det - 0.5 * (posterior.place_sd / PLACE_SD).powi(2)
    };
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (PLACE_SD_FROM_TO.0.ln(), PLACE_SD_FROM_TO.1.ln());
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (marginal(a), marginal(b));
    while high - low > LN_PLACE_SD_WITHIN {
        if at_a >= at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = marginal(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = marginal(b);
        }
    }
    ((0.5 * (low + high)).exp(), stand)
}

impl SpeciesFit {
    /// What was learned of each coefficient of the species.
    pub fn learned(&self, rows: &SpeciesRows<'_>) -> Vec<learned::Learned> {
        learned::learned(self, rows.species)
    }
}
