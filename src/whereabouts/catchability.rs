//! How easily the fish of a zone are caught today. It moves the catch that is expected, never a share.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::habitat::ZoneHabitat;
use super::response::{log_reaction_distance, ramp};
use super::{Belief, CatchTerm, Catchability};
use crate::conditions::{LightCondition, TripWindow};
use crate::lake::ZoneId;
use crate::math::quantiles::{NORMAL_QUANTILE_90, median};
use crate::species::{CatchResponse, Species};

/// What drives catchability in one zone; `None` is not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CatchDrivers {
    /// Turbidity.
    pub turbidity_ntu: Option<f64>,
    /// Temperature where the fish are.
    pub fish_temp_degc: Option<f64>,
    /// Share of the trip in the half-light.
    pub half_light_frac: Option<f64>,
}

/// Mean temperature of the water where the fish of `habitat` are, median over members: weights `A S^g`, as the
/// depth band has them. `None` where no member has suitable water.
pub fn fish_temp_degc(habitat: &ZoneHabitat) -> Option<f64> {
    let temps: Vec<f64> = habitat.members.iter().filter_map(|m| m.fish_temp_degc).collect();
    median(&temps)
}

/// Share of the trip between first light and sunrise, or between sunset and last light; `None` where the sun
/// has no such times, or the trip no length.
pub fn half_light_frac(light: Option<&LightCondition>, trip: &TripWindow) -> Option<f64> {
    let light = light?;
    let pair = |a: Option<DateTime<Utc>>, b: Option<DateTime<Utc>>| Some((a?, b?));
    let (dawn, dusk) = (
        pair(light.civil_dawn, light.sunrise)?,
        pair(light.sunset, light.civil_dusk)?,
    );
    let trip_s = (trip.to - trip.from).num_seconds();
    let common_s = |(from, to): (DateTime<Utc>, DateTime<Utc>)| {
        (trip.to.min(to) - trip.from.max(from)).num_seconds().max(0)
    };
    (trip_s > 0).then(|| (common_s(dawn) + common_s(dusk)) as f64 / trip_s as f64)
}

/// The terms of one zone and their product, relative to clear and cool water in full daylight; `None` where the
/// species has no terms, or none of them is known.
///
/// `factor = exp(sum c f)`, its 80 % interval `exp(sum c f -+ 1.28 sqrt(sum (f sd)^2))`. A term whose driver
/// is not known is left out and named in `unknown`.
pub fn catchability(
    (species, belief): (&Species, &Belief),
    zone: &ZoneId,
    drivers: CatchDrivers,
) -> Option<Catchability> {
    let mut terms = Vec::new();
    let mut unknown = Vec::new();
    let mut places = Vec::new();
    for (place, row) in species.catchability.iter().enumerate() {
        let (name, driver, response) = match &row.response {
            CatchResponse::ReactionDistance(distance) => (
                "turbidity_ntu",
                drivers.turbidity_ntu,
                drivers
                    .turbidity_ntu
                    .map(|ntu| log_reaction_distance(ntu, distance)),
            ),
            CatchResponse::WarmFish { fish_degc } => (
                "fish_temp_degc",
                drivers.fish_temp_degc,
                drivers.fish_temp_degc.map(|t| ramp(t, *fish_degc)),
            ),
            CatchResponse::HalfLight => (
                "half_light_frac",
                drivers.half_light_frac,
                drivers.half_light_frac,
            ),
        };
        let Some((driver, response)) = driver.zip(response) else {
            unknown.push(row.id.clone());
            continue;
        };
        let place = belief.catch_row(place);
        places.push(place);
        let coefficient = belief.mean(place);
        terms.push(CatchTerm {
            term: row.id.clone(),
            drivers: BTreeMap::from([(name.to_owned(), driver)]),
            response,
            coefficient,
            coefficient_sd: belief.sd(place),
            contribution: coefficient * response,
            label: row.label.clone(),
            evidence: row.evidence.clone(),
            source: row.source.clone(),
        });
    }
    if terms.is_empty() {
        return None;
    }
    let log: f64 = terms.iter().map(|t| t.contribution).sum();
    let variance: f64 = terms
        .iter()
        .map(|t| (t.response * t.coefficient_sd).powi(2))
        .sum();
    let variance = variance + shared_variance(belief, &terms, &places);
    let spread = NORMAL_QUANTILE_90 * variance.sqrt();
    Some(Catchability {
        zone: zone.clone(),
        factor: log.exp(),
        factor_low: (log - spread).exp(),
        factor_high: (log + spread).exp(),
        terms,
        unknown,
    })
}

/// What coefficients that hang together add to the variance of the sum; 0 for those of the rules.
fn shared_variance(belief: &Belief, terms: &[CatchTerm], places: &[usize]) -> f64 {
    if !belief.is_joint() {
        return 0.0;
    }
    let pairs = (0..terms.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    pairs
        .map(|(a, b)| 2.0 * terms[a].response * terms[b].response * belief.covariance(places[a], places[b]))
        .sum()
}

#[cfg(test)]
mod tests {
    use chrono::Duration;

    use super::*;
    use crate::species::builtin;

    fn of(drivers: CatchDrivers) -> Catchability {
        let rainbow = builtin("rainbow-trout").unwrap();
        let rules = Belief::rules(&rainbow);
        catchability((&rainbow, &rules), &ZoneId::new("main"), drivers).unwrap()
    }

    fn response(drivers: CatchDrivers, term: &str) -> f64 {
        of(drivers)
            .terms
            .iter()
            .find(|t| t.term == term)
            .unwrap()
            .response
    }

    #[test]
    fn c1_follows_the_published_distances_and_turbid_water_costs_fish() {
        let at = |ntu| {
            response(
                CatchDrivers {
                    turbidity_ntu: Some(ntu),
                    ..CatchDrivers::default()
                },
                "C1",
            )
        };
        // 0.80 at 15 NTU and 0.45 at 30: Barrett, Grossman & Rosenfeld 1992.
        assert_eq!((at(0.0), at(5.0)), (0.0, 0.0));
        assert!((at(15.0) - 0.80f64.ln()).abs() < 1e-12 && (at(30.0) - 0.45f64.ln()).abs() < 1e-12);
        assert!((at(500.0) - 0.2f64.ln()).abs() < 1e-12, "the floor");
        let factor = of(CatchDrivers {
            turbidity_ntu: Some(30.0),
            ..CatchDrivers::default()
        })
        .factor;
        assert!(
            (factor - 0.45).abs() < 1e-12,
            "coefficient 1: catch follows distance"
        );
    }

    #[test]
    fn c2_is_a_ramp_from_15_to_20_degc_and_warm_fish_bite_less() {
        let drivers = |t| CatchDrivers {
            fish_temp_degc: Some(t),
            ..CatchDrivers::default()
        };
        let at = |t| response(drivers(t), "C2");
        assert_eq!(
            [at(10.0), at(15.0), at(17.5), at(20.0), at(25.0)],
            [0.0, 0.0, 0.5, 1.0, 1.0]
        );
        // exp(-0.8) = 0.449329, its interval exp(-0.8 -+ 1.281552 x 0.4) = 0.269116, 0.750218.
        let warm = of(drivers(20.0));
        for (found, wanted) in [
            (warm.factor, 0.449_329),
            (warm.factor_low, 0.269_116),
            (warm.factor_high, 0.750_218),
        ] {
            assert!((found - wanted).abs() < 1e-5, "{found} {wanted}");
        }
    }

    #[test]
    fn c3_is_the_share_of_the_trip_in_half_light_and_helps() {
        let start = DateTime::from_timestamp(1_760_000_400, 0).unwrap();
        let at = |min| start + Duration::minutes(min);
        let light = LightCondition {
            civil_dawn: Some(at(0)),
            sunrise: Some(at(30)),
            sunset: Some(at(700)),
            civil_dusk: Some(at(730)),
        };
        let trip = |from, to| TripWindow {
            day: start.date_naive(),
            from: at(from),
            to: at(to),
        };
        let frac = |from, to| half_light_frac(Some(&light), &trip(from, to));
        assert_eq!(frac(-60, 240), Some(0.1), "30 of 300 minutes");
        assert_eq!(frac(15, 715), Some(30.0 / 700.0), "half of dawn and half of dusk");
        assert_eq!(frac(60, 300), Some(0.0));
        assert_eq!((frac(60, 60), half_light_frac(None, &trip(0, 9))), (None, None));
        let lit = of(CatchDrivers {
            half_light_frac: Some(1.0),
            ..CatchDrivers::default()
        });
        assert!((lit.factor - 0.2f64.exp()).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_known_is_named_and_not_taken_for_clear_water() {
        let half_known = of(CatchDrivers {
            fish_temp_degc: Some(10.0),
            ..CatchDrivers::default()
        });
        assert_eq!(half_known.unknown, ["C1", "C3"]);
        let rainbow = builtin("rainbow-trout").unwrap();
        assert_eq!(
            catchability(
                (&rainbow, &Belief::rules(&rainbow)),
                &ZoneId::new("main"),
                CatchDrivers::default()
            ),
            None
        );
    }
}
