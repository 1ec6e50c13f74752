//! The call of one species: habitat, drivers, rules, draws and depth band, put together.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::catchability::{CatchDrivers, catchability, fish_temp_degc, half_light_frac};
use super::draws::{DrawnZone, Draws, MatureShare, draw_shares};
use super::drivers::{ZoneDrivers, habitat_of, inflow_of, turbidity_ntu, water_of, zone_drivers};
use super::gaps::{band_gap, driver_gaps, oxygen_gap, species_gaps};
use super::habitat::ZoneHabitat;
use super::reasons::{Central, central};
use super::rules::{Term, terms};
use super::zone_band::{band_of, median_within_limits};
use super::{Belief, Catchability, DepthRange, SpeciesCall, Verdict, ZoneShare};
use crate::column::{ProfileBasis, Water};
use crate::conditions::{Conditions, trip_window};
use crate::lake::{Inflow, Lake, SpeciesId, Zone, ZoneId, ZoneKind};
use crate::math::quantiles::quantile_of_sorted;
use crate::species::{Species, Unknown};

/// "Either place" is said below this share of the draws (project choice).
const FIRST_ENOUGH_PROB: f64 = 0.6;

/// How a call is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CallOptions {
    /// Joint draws of coefficients and members; at least 1. Design 5 wants 2000 or more.
    pub draws: usize,
    /// Seed of the random streams.
    pub seed: u64,
    /// Civil day of the trip at the lake.
    pub date: NaiveDate,
}

/// Where `species` is thought to be on the morning of `options.date`, by the rules alone.
pub fn call_species(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
    options: &CallOptions,
) -> SpeciesCall {
    let rules = Belief::rules(species);
    call_species_by(lake, (species, &rules), conditions, water, options)
}

/// Where a species is thought to be on the morning of `options.date`, by what is believed of its coefficients.
///
/// Nothing that is missing is an error: a rule that cannot be evaluated is left out of the means, keeps
/// its spread in the draws, and is named in `gaps`. With an empty trip log this is exactly the rules.
pub fn call_species_by(
    lake: &Lake,
    (species, belief): (&Species, &Belief),
    conditions: &Conditions,
    water: &Water,
    options: &CallOptions,
) -> SpeciesCall {
    let habitats: Vec<(ZoneId, ZoneHabitat)> = water
        .zones
        .iter()
        .filter_map(|w| Some((w.zone.clone(), ZoneHabitat::new(w, species)?)))
        .collect();
    let zones = zone_drivers(lake, species, conditions, water, &habitats, options.date);
    let by_zone: Vec<Vec<Term>> = zones.iter().map(|z| terms(species, z, options.date)).collect();
    let mature = mature_share(lake, species);
    let mature_frac = mean_mature_frac(mature);
    let centrals = central((species, belief), &zones, &by_zone, mature_frac, options.date);
    let mut gaps = driver_gaps(lake, species, &zones, &by_zone);
    let parts_differ = mature_frac.is_some() && parts_differ(species, &zones, &by_zone);
    let drawn: Vec<DrawnZone> = zones
        .iter()
        .zip(by_zone)
        .map(|(z, terms)| DrawnZone {
            name: z.zone.to_string(),
            closed: z.closed,
            terms,
        })
        .collect();
    let mut draws = draw_shares(
        species,
        belief,
        &drawn,
        water.members,
        mature,
        (options.draws, options.seed),
    );
    let (shares, verdict, likeliest) = match species.why_not_known(Unknown::Rules) {
        Some(why) => {
            let why = why.to_owned();
            (
                BTreeMap::new(),
                Verdict::NotKnown { why },
                lake.main_body().id.clone(),
            )
        }
        None => {
            let shares = zone_shares(lake, &zones, &centrals, &mut draws, parts_differ);
            let (verdict, likeliest) = verdict(lake, &shares);
            (shares, verdict, likeliest)
        }
    };
    gaps.extend(oxygen_gap(lake, water));
    gaps.extend(species_gaps(species));
    let band = Band::of(lake, species, water, &habitats, &likeliest);
    gaps.extend(band.gap);
    let main = habitat_of(&habitats, &lake.main_body().id);
    let mut reasons: Vec<_> = centrals.into_iter().flat_map(|c| c.reasons).collect();
    reasons.sort_by(|a, b| b.contribution.abs().total_cmp(&a.contribution.abs()));
    SpeciesCall {
        species: SpeciesId::new(species.id.clone()),
        name: species.name.clone(),
        verdict,
        likeliest_fishable: likeliest,
        band_top_m: band.top_m,
        band_bottom_m: band.bottom_m,
        band_best_m: band.best_m,
        band_basis: band.basis,
        within_limits: band.within_limits,
        near_surface_suitability: main.and_then(|h| h.median_of(|m| m.surface_suitability)),
        mature_frac,
        reasons,
        catchability: catchabilities(lake, (species, belief), conditions, &shares, &habitats),
        gaps,
        zones: shares,
    }
}

/// How easily the fish are caught, by zone that can be fished, in the order of the lake file.
fn catchabilities(
    lake: &Lake,
    of: (&Species, &Belief),
    conditions: &Conditions,
    shares: &BTreeMap<ZoneId, ZoneShare>,
    habitats: &[(ZoneId, ZoneHabitat)],
) -> Vec<Catchability> {
    let fished = |z: &&Zone| shares.get(&z.id).is_some_and(|s| s.fishable);
    lake.zones
        .iter()
        .filter(fished)
        .filter_map(|zone| catchability(of, &zone.id, catch_drivers(lake, conditions, zone, habitats)))
        .collect()
}

/// What drives catchability in `zone` on the trip of the morning.
pub(super) fn catch_drivers(
    lake: &Lake,
    conditions: &Conditions,
    zone: &Zone,
    habitats: &[(ZoneId, ZoneHabitat)],
) -> CatchDrivers {
    let trip = trip_window(lake, conditions.as_of);
    CatchDrivers {
        turbidity_ntu: turbidity_ntu(conditions, zone, arm_inflow(lake, zone)),
        fish_temp_degc: habitat_of(habitats, &zone.id).and_then(fish_temp_degc),
        half_light_frac: half_light_frac(conditions.light.as_ref(), &trip),
    }
}

/// The river whose water an arm has at its head; the main body is not taken for its river's.
fn arm_inflow<'l>(lake: &'l Lake, zone: &Zone) -> Option<&'l Inflow> {
    (zone.kind == ZoneKind::Arm).then(|| inflow_of(lake, zone))?
}

/// Mean share of mature fish of `species` at `lake`; `None` where it has no parts.
pub fn mature_frac(lake: &Lake, species: &Species) -> Option<f64> {
    mean_mature_frac(mature_share(lake, species))
}

/// The mature share: the species file's prior, moved to the lake file's mean where it gives one.
pub(super) fn mature_share(lake: &Lake, species: &Species) -> MatureShare {
    let Some(prior) = &species.maturity else {
        return MatureShare::Whole;
    };
    let given = lake
        .species
        .iter()
        .find(|s| s.id.as_str() == species.id)
        .and_then(|s| s.mature_frac);
    let weight = prior.alpha + prior.beta;
    match given {
        None => MatureShare::Drawn {
            alpha: prior.alpha,
            beta: prior.beta,
        },
        Some(mean) if mean > 0.0 && mean < 1.0 => MatureShare::Drawn {
            alpha: mean * weight,
            beta: (1.0 - mean) * weight,
        },
        Some(mean) => MatureShare::Fixed(mean),
    }
}

/// Mean of the mature share; `None` where the species has no parts.
pub(super) fn mean_mature_frac(mature: MatureShare) -> Option<f64> {
    match mature {
        MatureShare::Whole => None,
        MatureShare::Fixed(frac) => Some(frac),
        MatureShare::Drawn { alpha, beta } => Some(alpha / (alpha + beta)),
    }
}

/// Whether any rule of mature fish speaks today, or might.
fn parts_differ(species: &Species, zones: &[ZoneDrivers], by_zone: &[Vec<Term>]) -> bool {
    let speaks = |t: &Term| {
        let moved = t.by_member.iter().any(|f| *f != 0.0) || !t.missing.is_empty();
        species.rules[t.row].mature_only && moved
    };
    zones
        .iter()
        .zip(by_zone)
        .any(|(zone, terms)| !zone.closed && terms.iter().any(speaks))
}

/// Mean share, quantiles and first places of every zone.
fn zone_shares(
    lake: &Lake,
    zones: &[ZoneDrivers],
    centrals: &[Central],
    draws: &mut Draws,
    parts_differ: bool,
) -> BTreeMap<ZoneId, ZoneShare> {
    let ids: Vec<&ZoneId> = std::iter::once(&lake.main_body().id)
        .chain(zones.iter().map(|z| &z.zone))
        .collect();
    let closed = |i: usize| i > 0 && zones[i - 1].closed;
    let kind = |i: usize| lake.zone(ids[i]).map_or(ZoneKind::MainBody, |z| z.kind);
    let fishable: Vec<bool> = (0..ids.len())
        .map(|i| !closed(i) && kind(i) != ZoneKind::River)
        .collect();
    let first = first_probs(&draws.share, &fishable);
    let mut shares = BTreeMap::new();
    for (i, id) in ids.iter().enumerate() {
        let by_draw = &mut draws.share[i];
        let mean = by_draw.iter().sum::<f64>() / by_draw.len() as f64;
        by_draw.sort_unstable_by(f64::total_cmp);
        let at = |prob| quantile_of_sorted(by_draw, prob).unwrap_or(mean);
        let central = i.checked_sub(1).map(|z| &centrals[z]);
        let parts = draws.parts.as_ref().filter(|_| parts_differ);
        let share = ZoneShare {
            name: lake.zone(id).map_or_else(|| id.to_string(), |z| z.name.clone()),
            kind: kind(i),
            share: mean,
            low: at(0.1),
            high: at(0.9),
            eta: central.map_or(0.0, |c| c.eta),
            eta_sd: central.map_or(0.0, |c| c.eta_sd),
            clamped: central.is_some_and(|c| c.clamped),
            first_prob: first[i],
            fishable: fishable[i],
            closed: closed(i),
            mature_share: parts.map(|(mature, _)| mature[i]),
            immature_share: parts.map(|(_, immature)| immature[i]),
        };
        shares.insert((*id).clone(), share);
    }
    shares
}

/// Share of the draws in which each zone is first among those that can be fished; equals share the place.
fn first_probs(share: &[Vec<f64>], fishable: &[bool]) -> Vec<f64> {
    let draws = share[0].len();
    let mut first = vec![0.0; share.len()];
    for d in 0..draws {
        let candidates = || (0..share.len()).filter(|i| fishable[*i]);
        let greatest = candidates()
            .map(|i| share[i][d])
            .fold(f64::NEG_INFINITY, f64::max);
        let winners = candidates().filter(|i| share[*i][d] == greatest).count() as f64;
        for i in candidates().filter(|i| share[*i][d] == greatest) {
            first[i] += 1.0 / winners;
        }
    }
    first.iter_mut().for_each(|f| *f /= draws as f64);
    first
}

/// What is said of the zones that can be fished, and the one that is first most often.
fn verdict(lake: &Lake, shares: &BTreeMap<ZoneId, ZoneShare>) -> (Verdict, ZoneId) {
    let mut order: Vec<(&ZoneId, &ZoneShare)> = shares.iter().filter(|(_, s)| s.fishable).collect();
    order.sort_by(|a, b| {
        b.1.first_prob
            .total_cmp(&a.1.first_prob)
            .then(b.1.share.total_cmp(&a.1.share))
    });
    let Some((zone, share)) = order.first() else {
        let zone = lake.main_body().id.clone();
        return (
            Verdict::EitherPlace {
                zones: vec![zone.clone()],
                first_prob: 0.0,
            },
            zone,
        );
    };
    let (zone, first_prob) = ((*zone).clone(), share.first_prob);
    if first_prob >= FIRST_ENOUGH_PROB {
        return (
            Verdict::Likeliest {
                zone: zone.clone(),
                first_prob,
            },
            zone,
        );
    }
    let zones = order.iter().take(2).map(|(id, _)| (*id).clone()).collect();
    (Verdict::EitherPlace { zones, first_prob }, zone)
}

/// The depth band in one zone, as far as there is one.
struct Band {
    top_m: Option<f64>,
    bottom_m: Option<f64>,
    best_m: Option<f64>,
    basis: ProfileBasis,
    within_limits: Option<Vec<DepthRange>>,
    gap: Option<crate::series::Gap>,
}

impl Band {
    fn of(
        lake: &Lake,
        species: &Species,
        water: &Water,
        habitats: &[(ZoneId, ZoneHabitat)],
        zone: &ZoneId,
    ) -> Band {
        let own = water_of(water, zone);
        let basis = own.map_or(ProfileBasis::SeasonOnly, |w| w.basis.clone());
        let habitat = habitat_of(habitats, zone);
        let band = habitat.and_then(|h| band_of(species, &basis, h));
        let name = lake.zone(zone).map_or(zone.as_str(), |z| z.name.as_str());
        Band {
            top_m: band.map(|b| b.top_m),
            bottom_m: band.map(|b| b.bottom_m),
            best_m: band.and_then(|b| b.best_m),
            basis,
            within_limits: species
                .limits
                .as_ref()
                .map(|limits| own.map(|w| median_within_limits(w, limits)).unwrap_or_default()),
            // Why there is none for want of knowledge of the species is a gap of its own.
            gap: (band.is_none() && species.temperature.is_some())
                .then(|| band_gap(species, name, habitat.is_some())),
        }
    }
}
