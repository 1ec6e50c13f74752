//! A simulated angler: fish with coefficients of their own, mornings, choices of zone, and what is caught.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use plungeline::lake::ZoneId;
use plungeline::math::streams::{normal, uniform};
use plungeline::species::Species;
use plungeline::trips::Reason;
use plungeline::whereabouts::learn::report::shares_at;
use plungeline::whereabouts::learn::{Effort, Morning, TripRows};
use rand_chacha::ChaCha12Rng;
use rand_distr::{Distribution, Gamma, Poisson};
use serde::{Deserialize, Serialize};

/// What rules and terms of catchability look at on one morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredMorning {
    pub date: NaiveDate,
    pub morning: Morning,
    pub catch_response: BTreeMap<ZoneId, Vec<f64>>,
}

/// The mornings of the demonstration lake's year for species `id`.
pub fn stored_mornings(id: &str) -> Vec<StoredMorning> {
    let text = include_str!("../../../fixtures/learning/mornings.json");
    let mut all: BTreeMap<String, Vec<StoredMorning>> = serde_json::from_str(text).expect("the fixture");
    all.remove(id).expect("the species of the fixture")
}

/// What an angler does not know.
#[derive(Debug, Clone)]
pub struct Truth {
    pub beta: Vec<f64>,
    pub gamma: Vec<f64>,
    pub ln_rate: f64,
    /// Effect of each zone on the catch; 0 where it has none.
    pub zone_effect: BTreeMap<ZoneId, f64>,
    pub k: f64,
}

impl Truth {
    /// Coefficients and rate from the priors, all zones caught alike, dispersion 1.5.
    pub fn drawn(species: &Species, numbers: &mut ChaCha12Rng) -> Truth {
        let mut draw = |mean: f64, sd: f64| mean + sd * normal(numbers);
        Truth {
            beta: species.rules.iter().map(|r| draw(r.mean, r.sd)).collect(),
            gamma: species.catchability.iter().map(|c| draw(c.mean, c.sd)).collect(),
            ln_rate: draw(0.3_f64.ln(), 1.0),
            zone_effect: BTreeMap::new(),
            k: 1.5,
        }
    }

    /// Fish caught in `effort_h` rod-hours where `share` of the fish are.
    pub fn catch(
        &self,
        zone: &ZoneId,
        share: f64,
        of_terms: &[f64],
        effort_h: f64,
        numbers: &mut ChaCha12Rng,
    ) -> u32 {
        let terms: f64 = self.gamma.iter().zip(of_terms).map(|(g, x)| g * x).sum();
        let of_zone = self.zone_effect.get(zone).copied().unwrap_or(0.0);
        let mu = effort_h * (self.ln_rate + terms + of_zone).exp() * share;
        negative_binomial(mu, self.k, numbers)
    }
}

/// A negative binomial count: Poisson with a gamma mean.
pub fn negative_binomial(mu: f64, k: f64, numbers: &mut ChaCha12Rng) -> u32 {
    let rate = Gamma::new(k, mu / k).map_or(0.0, |g| g.sample(numbers));
    Poisson::new(rate).map_or(0.0, |p| p.sample(numbers)) as u32
}

/// Zones that can be fished, with their place among all (the main body is 0).
pub fn fishable(morning: &Morning) -> Vec<(usize, ZoneId)> {
    let others = morning
        .zones
        .iter()
        .enumerate()
        .filter(|(_, z)| !z.closed && !is_river(&z.zone));
    std::iter::once((0, morning.main.clone()))
        .chain(others.map(|(i, z)| (i + 1, z.zone.clone())))
        .collect()
}

/// The demonstration lake's rivers, by their names.
pub fn is_river(zone: &ZoneId) -> bool {
    zone.as_str().ends_with("river") || zone.as_str().ends_with("creek")
}

/// A trip: half of them where the rules' means send it, three in ten to the main body, two in ten scouting; every other one has a
/// second leg anywhere.
pub fn simulate_trip(
    (species, mature_frac): (&Species, Option<f64>),
    truth: &Truth,
    stored: &StoredMorning,
    number: usize,
    numbers: &mut ChaCha12Rng,
) -> TripRows {
    let morning = &stored.morning;
    let zones = fishable(morning);
    let means: Vec<f64> = species.rules.iter().map(|r| r.mean).collect();
    let told = shares_at(species, mature_frac, morning, &means);
    let fish = shares_at(species, mature_frac, morning, &truth.beta);
    let best = zones
        .iter()
        .max_by(|a, b| told[a.0].total_cmp(&told[b.0]))
        .expect("the main body");
    let any = |numbers: &mut ChaCha12Rng| zones[(uniform(numbers) * zones.len() as f64) as usize].clone();
    let die = uniform(numbers);
    let first = match die {
        d if d < 0.5 => (best.clone(), Reason::Forecast),
        d if d < 0.8 => (zones[0].clone(), Reason::Habit),
        _ => (any(numbers), Reason::Scouting),
    };
    let mut legs = vec![first];
    if uniform(numbers) < 0.5 {
        let second = any(numbers);
        if second != legs[0].0 {
            legs.push((second, Reason::Scouting));
        }
    }
    let efforts = legs.into_iter().map(|((at, zone), reason)| {
        let effort_h = 3.0 + 5.0 * uniform(numbers);
        let none = vec![0.0; species.catchability.len()];
        let catch_response = stored.catch_response.get(&zone).cloned().unwrap_or(none);
        Effort {
            catch: truth.catch(&zone, fish[at], &catch_response, effort_h, numbers),
            zone,
            stretch: None,
            effort_h,
            catch_response,
            reason: Some(reason),
            surface_temp_degc: None,
        }
    });
    TripRows {
        trip: format!("trip-{number}"),
        // One trip a week, whatever the season of the morning: nothing but its features acts.
        date: NaiveDate::from_ymd_opt(2020, 1, 6).expect("a Monday") + chrono::Days::new(7 * number as u64),
        morning: morning.clone(),
        efforts: efforts.collect(),
        marks: Vec::new(),
    }
}

/// Log score of the zone of one fish, equal hours in every zone that can be fished, averaged over where the fish are.
pub fn mean_log_score(morning: &Morning, fish: &[f64], forecast: &[f64]) -> f64 {
    let zones = fishable(morning);
    let sum = |of: &[f64]| zones.iter().map(|(i, _)| of[*i]).sum::<f64>();
    let (all, told) = (sum(fish), sum(forecast));
    zones
        .iter()
        .map(|(i, _)| -fish[*i] / all * (forecast[*i] / told).ln())
        .sum()
}
