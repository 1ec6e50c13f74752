//! Joint draws of coefficients and members: shares with their spread.

use rand_chacha::ChaCha12Rng;
use rand_distr::{Beta, Distribution};

use super::Belief;
use super::rules::Term;
use crate::math::softmax::softmax;
use crate::math::streams::{normal, stream, uniform};
use crate::species::{RuleRow, Species};

/// Log-odds are held within +- this (project choice).
pub const ETA_BOUND: f64 = 4.0;

/// One zone beside the main body, ready to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnZone {
    /// Name that keys the zone's own random streams.
    pub name: String,
    /// Closed: its share is exactly 0.
    pub closed: bool,
    /// Rules that apply to it.
    pub terms: Vec<Term>,
}

/// Share of mature fish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MatureShare {
    /// The species has no parts.
    Whole,
    /// Exactly this share.
    Fixed(f64),
    /// Beta(alpha, beta).
    Drawn {
        /// First parameter.
        alpha: f64,
        /// Second parameter.
        beta: f64,
    },
}

/// Shares by draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// Share of the main body (index 0) and of each zone: `share[1 + zone][draw]`.
    pub share: Vec<Vec<f64>>,
    /// Mean share of the mature and the immature part, `[1 + zone]`, where the species has parts.
    pub parts: Option<(Vec<f64>, Vec<f64>)>,
}

/// Draws the shares `draws` times: coefficients by `belief`, one value for all zones of a draw; members
/// in turn; the mature share by its prior; and for a rule left out, a response uniform within +- its
/// plausible half range. It is centred at 0, the rule's silence, so that a feed that is missing widens the
/// shares and moves none; where only drivers of the whole lake are missing it is one for all zones of a
/// draw, else each zone's own.
///
/// Streams are keyed by seed, species, rule and zone name, so neither the order of zones nor a further
/// rule changes the draws of the others.
pub fn draw_shares(
    species: &Species,
    belief: &Belief,
    zones: &[DrawnZone],
    members: usize,
    mature: MatureShare,
    (draws, seed): (usize, u64),
) -> Draws {
    let draws = draws.max(1);
    let streams = Streams {
        seed,
        species: &species.id,
    };
    let noise: Vec<Vec<f64>> = species
        .rules
        .iter()
        .map(|row| streams.normal(row, draws))
        .collect();
    let coefficients = belief.draw_rules(&noise);
    let unknown: Vec<Vec<Vec<f64>>> = zones
        .iter()
        .map(|z| unknown_responses(species, z, &streams, draws))
        .collect();
    let mature_frac = streams.mature(mature, draws);
    let has_parts = mature != MatureShare::Whole;
    let mut share = vec![vec![0.0; draws]; zones.len() + 1];
    let (mut sum_mature, mut sum_immature) = (vec![0.0; zones.len() + 1], vec![0.0; zones.len() + 1]);
    let (mut whole, mut rest) = (vec![0.0; zones.len() + 1], vec![0.0; zones.len() + 1]);
    for d in 0..draws {
        (whole[0], rest[0]) = (0.0, 0.0);
        for (z, zone) in zones.iter().enumerate() {
            (whole[z + 1], rest[z + 1]) =
                etas(species, zone, &coefficients, &unknown[z], d, d % members.max(1));
        }
        let (mature, immature) = (softmax(&whole), softmax(&rest));
        let m = mature_frac[d];
        for z in 0..share.len() {
            share[z][d] = if has_parts {
                m * mature[z] + (1.0 - m) * immature[z]
            } else {
                mature[z]
            };
            sum_mature[z] += mature[z];
            sum_immature[z] += immature[z];
        }
    }
    let mean = |sums: Vec<f64>| sums.into_iter().map(|s| s / draws as f64).collect();
    Draws {
        share,
        parts: has_parts.then(|| (mean(sum_mature), mean(sum_immature))),
    }
}

/// Log-odds of one zone in one draw: of fish that follow every rule, and of those that follow all but the
/// rules of mature fish. Held within the bound; minus infinity where the zone is closed.
fn etas(
    species: &Species,
    zone: &DrawnZone,
    coefficients: &[Vec<f64>],
    unknown: &[Vec<f64>],
    draw: usize,
    member: usize,
) -> (f64, f64) {
    if zone.closed {
        return (f64::NEG_INFINITY, f64::NEG_INFINITY);
    }
    let (mut whole, mut rest) = (0.0, 0.0);
    for (term, unknown) in zone.terms.iter().zip(unknown) {
        let response = unknown.get(draw).copied().unwrap_or(term.by_member[member]);
        let contribution = coefficients[term.row][draw] * term.factor * response;
        whole += contribution;
        if !species.rules[term.row].mature_only {
            rest += contribution;
        }
    }
    (
        whole.clamp(-ETA_BOUND, ETA_BOUND),
        rest.clamp(-ETA_BOUND, ETA_BOUND),
    )
}

/// For each term of the zone its random responses, empty where the response is known.
fn unknown_responses(species: &Species, zone: &DrawnZone, streams: &Streams, draws: usize) -> Vec<Vec<f64>> {
    let of = |term: &Term| {
        if term.missing.is_empty() {
            return Vec::new();
        }
        let row = &species.rules[term.row];
        let place = if term.missing.iter().all(|d| d.is_of_the_lake()) {
            "lake"
        } else {
            &zone.name
        };
        let mut numbers = streams.stream(&format!("unknown/{}/{place}", row.id));
        (0..draws)
            .map(|_| row.unknown_half_range * (2.0 * uniform(&mut numbers) - 1.0))
            .collect()
    };
    zone.terms.iter().map(of).collect()
}

struct Streams<'a> {
    seed: u64,
    species: &'a str,
}

impl Streams<'_> {
    fn stream(&self, purpose: &str) -> ChaCha12Rng {
        stream(self.seed, &format!("whereabouts/{}/{purpose}", self.species))
    }

    fn normal(&self, row: &RuleRow, draws: usize) -> Vec<f64> {
        let mut numbers = self.stream(&format!("coefficient/{}", row.id));
        (0..draws).map(|_| normal(&mut numbers)).collect()
    }

    fn mature(&self, mature: MatureShare, draws: usize) -> Vec<f64> {
        match mature {
            MatureShare::Whole => vec![1.0; draws],
            MatureShare::Fixed(frac) => vec![frac; draws],
            MatureShare::Drawn { alpha, beta } => {
                let beta = Beta::new(alpha, beta)
                    .expect("the reader of species files refuses parameters not above 0");
                let mut numbers = self.stream("mature");
                (0..draws).map(|_| beta.sample(&mut numbers)).collect()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::rules::Driver;
    use super::*;
    use crate::species::builtin;

    fn shares_without(driver: Driver) -> Draws {
        let rainbow = builtin("rainbow-trout").unwrap();
        let row = rainbow.rules.iter().position(|r| r.id == "R10").unwrap();
        let zone = |name: &str| DrawnZone {
            name: name.to_owned(),
            closed: false,
            terms: vec![Term {
                row,
                factor: 1.0,
                median: 0.0,
                by_member: vec![0.0],
                missing: vec![driver],
            }],
        };
        draw_shares(
            &rainbow,
            &Belief::rules(&rainbow),
            &[zone("north"), zone("south")],
            1,
            MatureShare::Whole,
            (50, 7),
        )
    }

    #[test]
    fn what_is_unknown_of_the_whole_lake_is_the_same_for_every_zone_of_a_draw() {
        let lake = shares_without(Driver::LevelChange);
        assert_eq!(lake.share[1], lake.share[2]);
        assert!(
            lake.share[1].iter().any(|s| (s - lake.share[1][0]).abs() > 1e-3),
            "drawn"
        );
        let river = shares_without(Driver::RiverTemp);
        assert!(
            river.share[1].iter().zip(&river.share[2]).all(|(n, s)| n != s),
            "each its own"
        );
    }
}
