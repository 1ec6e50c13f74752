//! Log-odds at the prior means and median drivers, taken apart into signed reasons.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::Reason;
use super::draws::ETA_BOUND;
use super::drivers::ZoneDrivers;
use super::rules::{Term, named_drivers};
use crate::math::softmax::softmax;
use crate::species::Species;

/// The central log-odds of one zone and where they come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Central {
    /// Log-odds against the main body; the contributions of `reasons` sum to it.
    pub eta: f64,
    /// Standard deviation from the coefficients alone: `sqrt(sum (f SD)^2)`.
    pub eta_sd: f64,
    /// Whether the bound bit.
    pub clamped: bool,
    /// Reasons, the largest first.
    pub reasons: Vec<Reason>,
}

/// Sums of contributions: of mature fish, which follow every rule, and of the rest.
struct Sums {
    whole: f64,
    rest: f64,
}

/// The central log-odds of each zone. A closed zone has none: 0 and no reasons.
///
/// With `mature_frac` they are those of the mixture of the mature and the immature part. A rule whose
/// response is 0 is silent and no reason.
pub fn central(
    species: &Species,
    zones: &[ZoneDrivers],
    terms: &[Vec<Term>],
    mature_frac: Option<f64>,
    date: NaiveDate,
) -> Vec<Central> {
    let sums: Vec<Sums> = terms.iter().map(|t| sums(species, t)).collect();
    let bound = |x: f64| x.clamp(-ETA_BOUND, ETA_BOUND);
    let open = |z: usize, eta: f64| if zones[z].closed { f64::NEG_INFINITY } else { eta };
    let shares_of = |eta: &dyn Fn(&Sums) -> f64| {
        let etas = std::iter::once(0.0).chain(sums.iter().enumerate().map(|(z, s)| open(z, eta(s))));
        softmax(&etas.collect::<Vec<_>>())
    };
    let (whole_shares, rest_shares) = (shares_of(&|s| bound(s.whole)), shares_of(&|s| bound(s.rest)));
    let free_rest_shares = shares_of(&|s| s.rest);
    let differ = sums.iter().any(|s| s.whole != s.rest);
    let mixed = |rest: &[f64], z: usize, m: f64| {
        let share = |i: usize| m * whole_shares[i] + (1.0 - m) * rest[i];
        (share(z + 1) / share(0)).ln()
    };
    let mut all = Vec::with_capacity(zones.len());
    for (z, zone) in zones.iter().enumerate() {
        if zone.closed {
            all.push(Central {
                eta: 0.0,
                eta_sd: 0.0,
                clamped: false,
                reasons: Vec::new(),
            });
            continue;
        }
        let mut reasons = rule_reasons(species, zone, &terms[z], date);
        let held = bound(sums[z].whole);
        let (free, eta) = match mature_frac.filter(|_| differ) {
            Some(m) => (mixed(&free_rest_shares, z, m), mixed(&rest_shares, z, m)),
            None => (held, held),
        };
        if let (Some(m), true) = (mature_frac, differ) {
            reasons.push(maturity_reason(zone, m, free - held));
        }
        let clamped = held != sums[z].whole || (differ && bound(sums[z].rest) != sums[z].rest);
        let taken = (held - sums[z].whole) + (eta - free);
        if clamped || taken != 0.0 {
            reasons.push(clamp_reason(zone, sums[z].whole, taken));
        }
        reasons.sort_by(|a, b| {
            b.contribution
                .abs()
                .total_cmp(&a.contribution.abs())
                .then_with(|| a.rule.cmp(&b.rule))
        });
        let variance: f64 = terms[z]
            .iter()
            .map(|t| (t.factor * t.median * species.rules[t.row].sd).powi(2))
            .sum();
        all.push(Central {
            eta,
            eta_sd: variance.sqrt(),
            clamped,
            reasons,
        });
    }
    all
}

fn sums(species: &Species, terms: &[Term]) -> Sums {
    let mut sums = Sums {
        whole: 0.0,
        rest: 0.0,
    };
    for term in terms {
        let row = &species.rules[term.row];
        let contribution = row.mean * term.factor * term.median;
        sums.whole += contribution;
        if !row.mature_only {
            sums.rest += contribution;
        }
    }
    sums
}

fn rule_reasons(species: &Species, zone: &ZoneDrivers, terms: &[Term], date: NaiveDate) -> Vec<Reason> {
    let of = |term: &Term| {
        let row = &species.rules[term.row];
        Reason {
            zone: zone.zone.clone(),
            rule: row.id.clone(),
            drivers: named_drivers(row, species, &zone.median, date),
            response: term.median,
            coefficient: row.mean * term.factor,
            coefficient_sd: row.sd * term.factor,
            contribution: row.mean * term.factor * term.median,
            label: row.label.clone(),
            evidence: row.evidence.clone(),
            source: row.source.clone(),
        }
    };
    terms.iter().filter(|t| t.median != 0.0).map(of).collect()
}

fn maturity_reason(zone: &ZoneDrivers, mature_frac: f64, contribution: f64) -> Reason {
    Reason {
        zone: zone.zone.clone(),
        rule: "maturity".to_owned(),
        drivers: BTreeMap::from([("mature_frac".to_owned(), mature_frac)]),
        response: 1.0,
        coefficient: contribution,
        coefficient_sd: 0.0,
        contribution,
        label: "the immature part, which does not run".to_owned(),
        evidence: "elicited".to_owned(),
        source: "mixture of a mature and an immature part by the prior of the species file".to_owned(),
    }
}

fn clamp_reason(zone: &ZoneDrivers, before: f64, contribution: f64) -> Reason {
    Reason {
        zone: zone.zone.clone(),
        rule: "clamp".to_owned(),
        drivers: BTreeMap::from([
            ("eta_before".to_owned(), before),
            ("eta_bound".to_owned(), ETA_BOUND),
        ]),
        response: 1.0,
        coefficient: contribution,
        coefficient_sd: 0.0,
        contribution,
        label: "log-odds held within 4 of the main body".to_owned(),
        evidence: "none".to_owned(),
        source: "project choice: no rule set is to claim more than that".to_owned(),
    }
}
