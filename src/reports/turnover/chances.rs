//! The runs of a place summed up as chances.

use chrono::NaiveDate;

use super::value::{DateChance, PlaceOutlook, TempRange};
use crate::column::turnover::{PlaceRuns, RunEnd, RunYear, SeasonEnd, SeasonRuns};
use crate::lake::Zone;

/// Runs that a temperature of the turnover needs.
const LEAST_RUNS: usize = 5;
/// Chances are sums of weights: this much is rounding.
const ROUNDING_FRAC: f64 = 1e-9;

/// Chances of one place. Every chance is the weight of the runs that say so: with 40 years no chance below 1 in 40 can be told from none.
pub(super) fn place_outlook(zone: &Zone, place: &PlaceRuns, season: &SeasonRuns) -> PlaceOutlook {
    let runs = &season.runs;
    let closed = place.depth_m.is_none();
    let prob = |is: &dyn Fn(&RunEnd) -> bool| -> f64 {
        let weights = runs.iter().zip(&place.ends).filter(|(_, end)| is(end));
        // An empty sum is -0.0.
        (0.0 + weights.map(|(run, _)| run.weight_frac).sum::<f64>()).min(1.0)
    };
    let ends = |end: &RunEnd, wanted: SeasonEnd| matches!(end, RunEnd::Season { by_density, .. } if *by_density == wanted);
    let by_density = by_date(season, place, |end| match end {
        RunEnd::Season { by_density, .. } => Some(by_density),
        RunEnd::Closed => None,
    });
    let by_degree = by_date(season, place, |end| match end {
        RunEnd::Season { by_degree, .. } => Some(by_degree),
        RunEnd::Closed => None,
    });
    let reached = |curve: &[DateChance], wanted_prob: f64| day_reached(curve, wanted_prob);
    PlaceOutlook {
        zone: zone.id.clone(),
        name: zone.name.clone(),
        kind: zone.kind,
        closed,
        depth_m: place.depth_m,
        already_mixed_prob: prob(&|end| ends(end, SeasonEnd::AlreadyMixed)),
        turns_over_prob: prob(&|end| turned(end).is_some()),
        not_turned_over_prob: prob(&|end| ends(end, SeasonEnd::NotTurnedOver)),
        closed_prob: prob(&|end| *end == RunEnd::Closed),
        early: reached(&by_density, 0.1),
        median: reached(&by_density, 0.5),
        late: reached(&by_density, 0.9),
        median_by_degree: reached(&by_degree, 0.5),
        surface_then: surface_then(runs, place),
        surface_now: range(place.top_degc.iter().map(|top| (*top, 1.0)).collect()),
        under_way_prob: place.half_mixed_frac,
        by_date: by_density,
    }
}

/// Day of a run's turnover, and the surface on it.
fn turned(end: &RunEnd) -> Option<(NaiveDate, f64)> {
    match end {
        RunEnd::Season {
            by_density: SeasonEnd::TurnedOver { day, top_degc },
            ..
        } => Some((*day, *top_degc)),
        _ => None,
    }
}

/// Chance that it has turned over by each day of the season from the clock on.
fn by_date(
    season: &SeasonRuns,
    place: &PlaceRuns,
    end: impl Fn(&RunEnd) -> Option<&SeasonEnd>,
) -> Vec<DateChance> {
    let days = season.today.iter_days().take_while(|day| *day <= season.until);
    days.map(|date| {
        let over = |(_, of): &(&RunYear, &RunEnd)| match end(of) {
            Some(SeasonEnd::AlreadyMixed) => true,
            Some(SeasonEnd::TurnedOver { day, .. }) => *day <= date,
            Some(SeasonEnd::NotTurnedOver) | None => false,
        };
        let weights = season.runs.iter().zip(&place.ends).filter(over);
        let turned_over_prob = (0.0 + weights.map(|(run, _)| run.weight_frac).sum::<f64>()).min(1.0);
        DateChance {
            date,
            turned_over_prob,
        }
    })
    .collect()
}

/// First day by which a chance is reached; `None` where it was on the first already, or never is.
fn day_reached(curve: &[DateChance], wanted_prob: f64) -> Option<NaiveDate> {
    let reached = |chance: &&DateChance| chance.turned_over_prob >= wanted_prob - ROUNDING_FRAC;
    if curve.first().as_ref().is_some_and(reached) {
        return None;
    }
    curve.iter().find(reached).map(|chance| chance.date)
}

/// Surface on the day of the turnover, of the runs that turn over.
fn surface_then(runs: &[RunYear], place: &PlaceRuns) -> Option<TempRange> {
    let pairs = runs.iter().zip(&place.ends);
    let tops: Vec<(f64, f64)> = pairs
        .filter_map(|(run, end)| Some((turned(end)?.1, run.weight_frac)))
        .collect();
    (tops.len() >= LEAST_RUNS).then(|| range(tops)).flatten()
}

/// Weighted quantiles: the least value up to which so much of the weight lies.
fn range(mut pairs: Vec<(f64, f64)>) -> Option<TempRange> {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let sum: f64 = pairs.iter().map(|(_, weight)| weight).sum();
    let at = |share: f64| {
        let mut reached = 0.0;
        let found = pairs.iter().find(|(_, weight)| {
            reached += weight;
            reached >= share * sum - ROUNDING_FRAC
        });
        found.or(pairs.last()).map(|(value, _)| *value)
    };
    Some(TempRange {
        low_degc: at(0.1)?,
        median_degc: at(0.5)?,
        high_degc: at(0.9)?,
    })
}

/// How much later in days a place turned over in the third of the runs with the most of `of` than in that with the least; runs that were mixed
/// already or did not turn over stand aside. `None` for fewer than nine runs.
pub(super) fn later_days(
    season: &SeasonRuns,
    place: &PlaceRuns,
    of: impl Fn(&RunYear) -> f64,
) -> Option<f64> {
    let pairs = season.runs.iter().zip(&place.ends);
    let mut known: Vec<(f64, f64)> = pairs
        .filter_map(|(run, end)| Some((of(run), (turned(end)?.0 - season.today).num_days() as f64)))
        .collect();
    let third = known.len() / 3;
    if third < 3 {
        return None;
    }
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mean = |part: &[(f64, f64)]| part.iter().map(|(_, days)| days).sum::<f64>() / part.len() as f64;
    Some(mean(&known[known.len() - third..]) - mean(&known[..third]))
}
