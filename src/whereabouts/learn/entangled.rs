//! Whether the choice of zones let the trips teach anything: where the angler only goes where the rules send him, they cannot be
//! found wrong.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::rows::{Morning, SpeciesRows, TripRows};
use crate::lake::ZoneId;
use crate::trips::Reason;

/// Trips below which nothing is said of the choice (project choice).
const LEAST_TRIPS: usize = 10;
/// Part of the hours in the zone that the rules favour, from which choice and belief are entangled (project choice).
const MOST_FAVOURED_FRAC: f64 = 0.9;
/// Correlation of hours with log-odds, from which they are (project choice).
const MOST_CORRELATION: f64 = 0.7;
/// A zone with less of the hours than this is hardly known (project choice).
const LEAST_ZONE_FRAC: f64 = 0.05;
/// Rod-hours of a scouting leg (project choice).
pub const SCOUTING_H: f64 = 1.0;

/// How zones were chosen, beside what the rules said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Choice {
    /// Trips looked at.
    pub trips: usize,
    /// Rod-hours by zone.
    pub effort_h: BTreeMap<ZoneId, f64>,
    /// Part of the hours in the zone that the rules favoured that morning, of those open.
    pub favoured_frac: f64,
    /// Correlation, over zones within a trip, of a zone's part of the hours with its log-odds by the rules. `None` where the
    /// hours or the log-odds do not differ.
    pub correlation: Option<f64>,
    /// Part of the hours chosen by reports.
    pub report_frac: f64,
    /// Whether choice and belief are entangled: then what was learned of shares rests on the rules themselves.
    pub entangled: bool,
    /// Zones that could be fished and hardly were: of them the rules are still all that is known.
    pub hardly_fished: Vec<ZoneId>,
    /// Where an hour of scouting would tell most: the one of them that was open most often, else of all zones the one with the
    /// fewest hours; `None` where nothing is amiss.
    pub scout: Option<ZoneId>,
}

/// How the trips of one species chose among `fishable` zones.
///
/// Log-odds are those of the rules' means without the bound and without the parts of the fish: what an angler is told.
pub fn choice(rows: &SpeciesRows<'_>, fishable: &[ZoneId]) -> Choice {
    let mut effort_h: BTreeMap<ZoneId, f64> = fishable.iter().map(|z| (z.clone(), 0.0)).collect();
    let mut open: BTreeMap<&ZoneId, usize> = BTreeMap::new();
    let (mut trips, mut favoured_h, mut by_report_h) = (0, 0.0, 0.0);
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for trip in rows.trips.iter().filter(|t| !t.efforts.is_empty()) {
        trips += 1;
        let odds = log_odds(rows, &trip.morning, fishable);
        odds.iter().for_each(|(z, _)| *open.entry(z).or_default() += 1);
        let total_h: f64 = trip.efforts.iter().map(|e| e.effort_h).sum();
        for effort in &trip.efforts {
            *effort_h.entry(effort.zone.clone()).or_default() += effort.effort_h;
            let by_report = effort.reason == Some(Reason::Report);
            by_report_h += if by_report { effort.effort_h } else { 0.0 };
        }
        let best = odds.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(z, _)| *z);
        favoured_h += best.map_or(0.0, |best| hours_in(trip, best));
        let mean = odds.iter().map(|(_, eta)| eta).sum::<f64>() / odds.len().max(1) as f64;
        let even = 1.0 / odds.len().max(1) as f64;
        pairs.extend(
            odds.iter()
                .map(|(z, eta)| (hours_in(trip, z) / total_h - even, eta - mean)),
        );
    }
    let all_h: f64 = effort_h.values().sum();
    let of_all = |h: f64| if all_h > 0.0 { h / all_h } else { 0.0 };
    let (favoured_frac, report_frac) = (of_all(favoured_h), of_all(by_report_h));
    let correlation = correlation(&pairs);
    // Where no rule sends anybody anywhere, no choice can follow one.
    let enough = trips >= LEAST_TRIPS && !rows.species.rules.is_empty();
    let entangled =
        enough && (favoured_frac >= MOST_FAVOURED_FRAC || correlation.is_some_and(|r| r >= MOST_CORRELATION));
    let hardly = |z: &&ZoneId| enough && open.contains_key(*z) && of_all(effort_h[*z]) < LEAST_ZONE_FRAC;
    let hardly_fished: Vec<ZoneId> = fishable.iter().filter(hardly).cloned().collect();
    let most_open = hardly_fished
        .iter()
        .max_by_key(|z| open.get(z).copied().unwrap_or(0));
    let least_hours = || {
        let known = fishable.iter().filter(|z| open.contains_key(z));
        known.min_by(|a, b| effort_h[*a].total_cmp(&effort_h[*b]))
    };
    let scout = most_open.or_else(|| least_hours().filter(|_| entangled)).cloned();
    Choice {
        trips,
        effort_h,
        favoured_frac,
        correlation,
        report_frac,
        entangled,
        hardly_fished,
        scout,
    }
}

fn hours_in(trip: &TripRows, zone: &ZoneId) -> f64 {
    trip.efforts
        .iter()
        .filter(|e| &e.zone == zone)
        .map(|e| e.effort_h)
        .sum()
}

/// Log-odds at the rules' means of the zones that can be fished and were open.
fn log_odds<'m>(rows: &SpeciesRows<'_>, morning: &'m Morning, fishable: &[ZoneId]) -> Vec<(&'m ZoneId, f64)> {
    let rules = &rows.species.rules;
    let main = std::iter::once((&morning.main, 0.0));
    let others = morning.zones.iter().filter(|z| !z.closed).map(|z| {
        let eta = z.response.iter().zip(rules).map(|(f, r)| f * r.mean).sum();
        (&z.zone, eta)
    });
    main.chain(others).filter(|(z, _)| fishable.contains(z)).collect()
}

/// Correlation of pairs that are centred already.
fn correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    let sum = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>();
    let (xx, yy, xy) = (sum(|p| p.0 * p.0), sum(|p| p.1 * p.1), sum(|p| p.0 * p.1));
    (xx > 1e-12 && yy > 1e-12).then(|| xy / (xx * yy).sqrt())
}
