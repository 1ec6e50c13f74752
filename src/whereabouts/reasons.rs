//! Log-odds at the prior means and median drivers, taken apart into signed reasons.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::draws::ETA_BOUND;
use super::drivers::ZoneDrivers;
use super::rules::{Term, named_drivers};
use super::{Belief, Reason};
use crate::math::softmax::softmax;
use crate::species::Species;

/// The central log-odds of one zone and where they come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Central {
    /// Log-odds against the main body; the contributions of `reasons` sum to it.
    pub eta: f64,
    /// Standard deviation from the coefficients and from rules left out, to first order:
    /// `sqrt(sum w^2 [(f SD)^2 + var u])`, with `w` the weight of the rule in the mixture (1 where the species
    /// has no parts) and `var u` = `(mean^2 + SD^2) h^2 / 3` for an unknown response within +- `h`.
    pub eta_sd: f64,
    /// Whether the bound bit.
    pub clamped: bool,
    /// Reasons, the largest first.
    pub reasons: Vec<Reason>,
}

/// Sums of contributions: of mature fish, which follow every rule, and of the rest.
#[derive(Debug, Clone, Copy)]
struct Sums {
    whole: f64,
    rest: f64,
}

/// The central log-odds of each zone. A closed zone has none: 0 and no reasons.
///
/// With `mature_frac` they are those of the mixture of the mature and the immature part. A rule whose
/// response is 0 is silent and no reason.
pub fn central(
    (species, belief): (&Species, &Belief),
    zones: &[ZoneDrivers],
    terms: &[Vec<Term>],
    mature_frac: Option<f64>,
    date: NaiveDate,
) -> Vec<Central> {
    let sums: Vec<Sums> = terms.iter().map(|t| sums((species, belief), t)).collect();
    let bound = |x: f64| x.clamp(-ETA_BOUND, ETA_BOUND);
    let held: Vec<Sums> = sums
        .iter()
        .map(|s| Sums {
            whole: bound(s.whole),
            rest: bound(s.rest),
        })
        .collect();
    let mixture = mature_frac.filter(|_| sums.iter().any(|s| s.whole != s.rest));
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
        let mut reasons = rule_reasons((species, belief), zone, &terms[z], date);
        // What the bound takes: of all fish (or of the mature part) directly, and of the rest by way of the
        // mixture, as seen with this zone's rest left free.
        let mut taken = held[z].whole - sums[z].whole;
        let mut clamped = taken != 0.0;
        let mut eta = held[z].whole;
        if let Some(m) = mixture {
            eta = mixed_eta(zones, &held, z, m);
            let mut before = eta;
            if held[z].rest != sums[z].rest {
                clamped = true;
                let mut free = held.clone();
                free[z].rest = sums[z].rest;
                before = mixed_eta(zones, &free, z, m);
            }
            taken += eta - before;
            reasons.push(maturity_reason(zone, m, before - held[z].whole));
        }
        if clamped {
            reasons.push(clamp_reason(zone, sums[z].whole, taken));
        }
        reasons.sort_by(|a, b| {
            let larger_first = b.contribution.abs().total_cmp(&a.contribution.abs());
            larger_first.then_with(|| a.rule.cmp(&b.rule))
        });
        let weights = mixture.map_or(Weights::WHOLE, |m| Weights::of(zones, &held, z, m));
        let alone: f64 = terms[z]
            .iter()
            .map(|t| weights.variance((species, belief), t))
            .sum();
        let variance = alone + weights.shared_variance((species, belief), &terms[z]);
        all.push(Central {
            eta,
            eta_sd: variance.sqrt(),
            clamped,
            reasons,
        });
    }
    all
}

/// Log-odds of zone `z` against the main body in a mixture with the share `mature_frac` of mature fish.
fn mixed_eta(zones: &[ZoneDrivers], sums: &[Sums], z: usize, mature_frac: f64) -> f64 {
    let shares_of = |part: fn(&Sums) -> f64| {
        let others = zones
            .iter()
            .zip(sums)
            .map(|(zone, s)| if zone.closed { f64::NEG_INFINITY } else { part(s) });
        softmax(&std::iter::once(0.0).chain(others).collect::<Vec<_>>())
    };
    let (mature, rest) = (shares_of(|s| s.whole), shares_of(|s| s.rest));
    let share = |i: usize| mature_frac * mature[i] + (1.0 - mature_frac) * rest[i];
    (share(z + 1) / share(0)).ln()
}

/// How far the log-odds of one zone move with the contribution of a rule: of one that all fish follow, and
/// of one that only the mature do.
#[derive(Debug, Clone, Copy)]
struct Weights {
    all_frac: f64,
    mature_only_frac: f64,
}

impl Weights {
    const WHOLE: Weights = Weights {
        all_frac: 1.0,
        mature_only_frac: 1.0,
    };

    /// Derivatives of [`mixed_eta`] by central differences.
    fn of(zones: &[ZoneDrivers], sums: &[Sums], z: usize, mature_frac: f64) -> Weights {
        let step = 1e-4;
        let at = |whole: f64, rest: f64| {
            let mut moved = sums.to_vec();
            moved[z].whole += whole;
            moved[z].rest += rest;
            mixed_eta(zones, &moved, z, mature_frac)
        };
        let slope = |whole: f64, rest: f64| (at(whole, rest) - at(-whole, -rest)) / (2.0 * step);
        Weights {
            all_frac: slope(step, step),
            mature_only_frac: slope(step, 0.0),
        }
    }

    fn of_row(self, species: &Species, row: usize) -> f64 {
        if species.rules[row].mature_only {
            self.mature_only_frac
        } else {
            self.all_frac
        }
    }

    /// What coefficients that hang together add to the variance; 0 for those of the rules.
    fn shared_variance(self, (species, belief): (&Species, &Belief), terms: &[Term]) -> f64 {
        if !belief.is_joint() {
            return 0.0;
        }
        let slope = |t: &Term| self.of_row(species, t.row) * t.factor * t.median;
        let pairs = (0..terms.len()).flat_map(|a| (0..a).map(move |b| (&terms[a], &terms[b])));
        pairs
            .map(|(a, b)| 2.0 * slope(a) * slope(b) * belief.covariance(a.row, b.row))
            .sum()
    }

    fn variance(self, (species, belief): (&Species, &Belief), term: &Term) -> f64 {
        let row = &species.rules[term.row];
        let weight = self.of_row(species, term.row);
        let (mean, sd) = (belief.mean(term.row), belief.sd(term.row));
        let of_response = if term.missing.is_empty() {
            (term.median * sd).powi(2)
        } else {
            (mean.powi(2) + sd.powi(2)) * row.unknown_half_range.powi(2) / 3.0
        };
        (weight * term.factor).powi(2) * of_response
    }
}

fn sums((species, belief): (&Species, &Belief), terms: &[Term]) -> Sums {
    let mut sums = Sums {
        whole: 0.0,
        rest: 0.0,
    };
    for term in terms {
        let row = &species.rules[term.row];
        let contribution = belief.mean(term.row) * term.factor * term.median;
        sums.whole += contribution;
        if !row.mature_only {
            sums.rest += contribution;
        }
    }
    sums
}

fn rule_reasons(
    (species, belief): (&Species, &Belief),
    zone: &ZoneDrivers,
    terms: &[Term],
    date: NaiveDate,
) -> Vec<Reason> {
    let of = |term: &Term| {
        let row = &species.rules[term.row];
        let mean = belief.mean(term.row);
        Reason {
            zone: zone.zone.clone(),
            rule: row.id.clone(),
            drivers: named_drivers(row, species, &zone.median, date),
            response: term.median,
            coefficient: mean * term.factor,
            coefficient_sd: belief.sd(term.row) * term.factor,
            contribution: mean * term.factor * term.median,
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

fn clamp_reason(zone: &ZoneDrivers, eta_before: f64, contribution: f64) -> Reason {
    Reason {
        zone: zone.zone.clone(),
        rule: "clamp".to_owned(),
        drivers: BTreeMap::from([
            ("eta_before".to_owned(), eta_before),
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

#[cfg(test)]
mod tests {
    use super::super::drivers::Drivers;
    use super::*;
    use crate::lake::ZoneId;
    use crate::species::{RuleZone, builtin};

    fn arm() -> ZoneDrivers {
        ZoneDrivers {
            zone: ZoneId::new("north"),
            kind: RuleZone::Arm,
            closed: false,
            by_member: vec![Drivers::default()],
            median: Drivers::default(),
            has_river: true,
        }
    }

    #[test]
    fn a_rule_of_the_mature_weighs_what_the_mature_weigh() {
        let sums = [Sums {
            whole: 0.2,
            rest: -0.9,
        }];
        let weights = Weights::of(&[arm()], &sums, 0, 0.4);
        // By hand, one arm: share = 0.4 s(0.2) + 0.6 s(-0.9) = 0.393364 with the logistic s, and
        // d logit(share)/dw = 0.4 s(0.2)(1 - s(0.2)) / (0.393364 x 0.606636) = 0.414898; for the rest 0.516702.
        assert!((weights.mature_only_frac - 0.414_898).abs() < 1e-5, "{weights:?}");
        assert!((weights.all_frac - 0.931_600).abs() < 1e-5, "{weights:?}");
    }

    #[test]
    fn a_rule_left_out_widens_the_log_odds_and_does_not_move_them() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let row = rainbow.rules.iter().position(|r| r.id == "R4").unwrap();
        let term = |missing: Vec<super::super::rules::Driver>| Term {
            row,
            factor: 1.0,
            median: 0.0,
            by_member: vec![0.0],
            missing,
        };
        let date = NaiveDate::from_ymd_opt(2026, 3, 12).unwrap();
        let rules = Belief::rules(&rainbow);
        let of = |term: Term| central((&rainbow, &rules), &[arm()], &[vec![term]], None, date).remove(0);
        let silent = of(term(Vec::new()));
        let unknown = of(term(vec![super::super::rules::Driver::FlowRatio]));
        assert_eq!((silent.eta, silent.eta_sd, unknown.eta), (0.0, 0.0, 0.0));
        // A product of N(1, 0.5) and U(-0.5, 0.5): variance (1 + 0.25) x 0.25 / 3.
        assert!(
            (unknown.eta_sd - (1.25_f64 * 0.25 / 3.0).sqrt()).abs() < 1e-12,
            "{}",
            unknown.eta_sd
        );
    }
}
