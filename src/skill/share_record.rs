//! The shares of past mornings against the trips that followed: a record of calls, scored.

use serde::{Deserialize, Serialize};

use super::SkillError;
use super::checks::{each, same_length};
use super::differences::paired_test;
use super::intervals::wilson_interval;
use super::shares::{expected_split, split_log_score};

/// Trips below which no reliability table is made (the issue's own limit).
pub const LEAST_TRIPS_FOR_TABLE: usize = 40;
/// Trips below which no verdict is given (project choice).
pub const LEAST_TRIPS_FOR_VERDICT: usize = 10;
/// A difference is told as one when chance alone makes one as large less often than this (common practice).
const CHANCE_BELOW_PROB: f64 = 0.05;
/// Bins of the reliability table (project choice: fifths).
const BINS: usize = 5;
/// Confidence of its intervals.
const CONFIDENCE_FRAC: f64 = 0.8;

/// A trip beside the shares that were called on its morning. Every list is by zone that could be fished, in one order.
#[derive(Debug, Clone, PartialEq)]
pub struct CalledTrip {
    /// Shares as called.
    pub share: Vec<f64>,
    /// Fixed shares of the long run, such as the mean over all calls.
    pub long_run_share: Vec<f64>,
    /// Rod-hours.
    pub effort_h: Vec<f64>,
    /// Fish.
    pub catch: Vec<u32>,
}

/// What the record says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RecordVerdict {
    /// Too few trips to tell.
    TooFew,
    /// Better than the reference by more than chance.
    Better,
    /// Worse by more than chance.
    Worse,
    /// No difference beyond chance.
    NoDifference,
}

/// The called shares beside one reference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct AgainstReference {
    /// Mean log score of the reference, nats a trip.
    pub reference_score: f64,
    /// Mean of reference less call: above 0 the call is better.
    pub gained: f64,
    /// Probability of a difference as large by chance (paired t test, trips independent); `None` where too few or all alike.
    pub chance_prob: Option<f64>,
    /// In a word.
    pub verdict: RecordVerdict,
}

/// One row of the reliability table: fish of zones that were expected to give such a part of a trip's catch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ReliabilityRow {
    /// Lower end of the expected part.
    pub from_prob: f64,
    /// Upper end.
    pub to_prob: f64,
    /// Zones of trips in the row.
    pub cases: usize,
    /// Fish of these trips, each counted in every zone of its trip.
    pub fish: u32,
    /// Mean expected part, weighted by fish.
    pub expected_prob: f64,
    /// Part that came.
    pub observed_prob: f64,
    /// Lower end of its 80 % score interval, each fish counted by itself: fish of one trip are alike, so it is too narrow.
    pub low_prob: f64,
    /// Upper end.
    pub high_prob: f64,
}

/// The record of the shares of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ShareRecord {
    /// Trips scored: fish caught, and hours in two zones or more.
    pub trips: usize,
    /// Trips without a fish, which say nothing of the split.
    pub blank: usize,
    /// Trips in one zone, likewise.
    pub one_zone: usize,
    /// Trips with hours only where the call had no fish at all; they count as neither.
    pub impossible: usize,
    /// Mean log score, nats a trip; `None` without trips.
    pub log_score: Option<f64>,
    /// Zones of trips whose expected part was below 0.001 and counted as that.
    pub floored: usize,
    /// Against hours alone: fish in proportion to them.
    pub against_effort: Option<AgainstReference>,
    /// Against fixed shares of the long run.
    pub against_long_run: Option<AgainstReference>,
    /// Reliability; `None` below 40 trips.
    pub reliability: Option<Vec<ReliabilityRow>>,
}

/// Scores the calls of one species against its trips.
///
/// Score of a trip: [`split_log_score`] of its catch by zone under [`expected_split`] of shares and hours (S-WHERE). Trips are scored
/// over zones that could be fished, whatever share the rivers had.
///
/// # Errors
/// [`SkillError`] where lists of a trip differ in length, or a number is negative or not finite.
pub fn share_record(trips: &[CalledTrip]) -> Result<ShareRecord, SkillError> {
    let (mut blank, mut one_zone, mut impossible, mut floored) = (0, 0, 0, 0);
    let (mut called, mut effort, mut long_run) = (Vec::new(), Vec::new(), Vec::new());
    let mut pairs: Vec<(f64, u32, u32)> = Vec::new();
    for trip in trips {
        check(trip)?;
        let fish: u32 = trip.catch.iter().sum();
        if fish == 0 {
            blank += 1;
            continue;
        }
        if trip.effort_h.iter().filter(|h| **h > 0.0).count() < 2 {
            one_zone += 1;
            continue;
        }
        let split = match expected_split(&trip.share, &trip.effort_h) {
            Err(SkillError::Undefined { .. }) => {
                impossible += 1;
                continue;
            }
            split => split?,
        };
        let score = split_log_score(&split, &trip.catch)?;
        floored += score.floored;
        called.push(score.log_score);
        let alike = vec![1.0; trip.share.len()];
        effort.push(split_log_score(&expected_split(&alike, &trip.effort_h)?, &trip.catch)?.log_score);
        long_run.push(
            split_log_score(
                &expected_split(&trip.long_run_share, &trip.effort_h)?,
                &trip.catch,
            )?
            .log_score,
        );
        let fished = trip
            .effort_h
            .iter()
            .zip(&split)
            .zip(&trip.catch)
            .filter(|((h, _), _)| **h > 0.0);
        pairs.extend(fished.map(|((_, q), y)| (*q, *y, fish)));
    }
    let mean = |scores: &[f64]| scores.iter().sum::<f64>() / scores.len() as f64;
    let some = !called.is_empty();
    Ok(ShareRecord {
        trips: called.len(),
        blank,
        one_zone,
        impossible,
        log_score: some.then(|| mean(&called)),
        floored,
        against_effort: some.then(|| against(&called, &effort)),
        against_long_run: some.then(|| against(&called, &long_run)),
        reliability: (called.len() >= LEAST_TRIPS_FOR_TABLE)
            .then(|| reliability(&pairs))
            .transpose()?,
    })
}

fn check(trip: &CalledTrip) -> Result<(), SkillError> {
    same_length("hours of fishing by zone", trip.effort_h.len(), trip.share.len())?;
    same_length("fish by zone", trip.catch.len(), trip.share.len())?;
    same_length(
        "shares of the long run",
        trip.long_run_share.len(),
        trip.share.len(),
    )?;
    let fits = |x: f64| x.is_finite() && x >= 0.0;
    each("shares by zone", &trip.share, "a share of 0 or more", fits)?;
    each(
        "shares of the long run",
        &trip.long_run_share,
        "a share of 0 or more",
        fits,
    )?;
    each(
        "hours of fishing by zone",
        &trip.effort_h,
        "0 or more hours",
        fits,
    )
}

fn against(called: &[f64], reference: &[f64]) -> AgainstReference {
    let differences: Vec<f64> = reference.iter().zip(called).map(|(r, c)| r - c).collect();
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let gained = mean(&differences);
    let enough = differences.len() >= LEAST_TRIPS_FOR_VERDICT;
    let chance_prob = paired_test(&differences)
        .ok()
        .filter(|_| enough)
        .map(|t| t.chance_prob);
    let verdict = match chance_prob {
        _ if !enough => RecordVerdict::TooFew,
        Some(p) if p < CHANCE_BELOW_PROB && gained > 0.0 => RecordVerdict::Better,
        Some(p) if p < CHANCE_BELOW_PROB => RecordVerdict::Worse,
        _ => RecordVerdict::NoDifference,
    };
    AgainstReference {
        reference_score: mean(reference),
        gained,
        chance_prob,
        verdict,
    }
}

/// Rows of fifths that have any fish.
fn reliability(pairs: &[(f64, u32, u32)]) -> Result<Vec<ReliabilityRow>, SkillError> {
    let mut rows = Vec::new();
    for bin in 0..BINS {
        let (from_prob, to_prob) = (bin as f64 / BINS as f64, (bin + 1) as f64 / BINS as f64);
        let last = bin + 1 == BINS;
        let within = |q: f64| q >= from_prob && (q < to_prob || last);
        let own: Vec<&(f64, u32, u32)> = pairs.iter().filter(|(q, _, _)| within(*q)).collect();
        let (hits, fish) = own.iter().fold((0, 0), |(h, n), (_, y, all)| (h + y, n + all));
        if fish == 0 {
            continue;
        }
        let interval = wilson_interval(hits, fish, CONFIDENCE_FRAC)?;
        rows.push(ReliabilityRow {
            from_prob,
            to_prob,
            cases: own.len(),
            fish,
            expected_prob: own.iter().map(|(q, _, all)| q * f64::from(*all)).sum::<f64>() / f64::from(fish),
            observed_prob: f64::from(hits) / f64::from(fish),
            low_prob: interval.low,
            high_prob: interval.high,
        });
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trip(share: [f64; 3], effort_h: [f64; 3], catch: [u32; 3]) -> CalledTrip {
        CalledTrip {
            share: share.to_vec(),
            long_run_share: vec![0.6, 0.3, 0.1],
            effort_h: effort_h.to_vec(),
            catch: catch.to_vec(),
        }
    }

    #[test]
    fn one_trip_has_the_published_scores_and_no_verdict() {
        let record = share_record(&[trip([0.5, 0.3, 0.2], [6.0, 4.0, 2.0], [5, 1, 0])]).unwrap();
        // S-WHERE, scipy 1.17.1.
        assert!((record.log_score.unwrap() - 1.689195).abs() < 1e-6);
        let effort = record.against_effort.unwrap();
        assert!((effort.reference_score - 2.772589).abs() < 1e-6);
        assert!((effort.gained - 1.083394).abs() < 1e-6);
        assert_eq!(
            (effort.verdict, effort.chance_prob),
            (RecordVerdict::TooFew, None)
        );
        assert_eq!((record.trips, record.reliability), (1, None));
    }

    #[test]
    fn trips_that_say_nothing_are_counted_and_not_scored() {
        let record = share_record(&[
            trip([0.5, 0.3, 0.2], [6.0, 4.0, 2.0], [0, 0, 0]),
            trip([0.5, 0.3, 0.2], [6.0, 0.0, 0.0], [3, 0, 0]),
            trip([0.0, 0.0, 1.0], [6.0, 1.0, 0.0], [3, 0, 0]),
        ])
        .unwrap();
        assert_eq!(
            (record.trips, record.blank, record.one_zone, record.impossible),
            (0, 1, 1, 1)
        );
        assert_eq!((record.log_score, record.against_effort), (None, None));
        let mut wrong = trip([0.5, 0.3, 0.2], [6.0, 4.0, 2.0], [1, 0, 0]);
        wrong.catch.pop();
        assert!(matches!(share_record(&[wrong]), Err(SkillError::Lengths { .. })));
        let negative = trip([0.5, 0.3, 0.2], [6.0, -4.0, 2.0], [1, 0, 0]);
        assert!(matches!(share_record(&[negative]), Err(SkillError::Value { .. })));
    }

    #[test]
    fn a_good_record_is_told_from_a_bad_one_and_its_table_sums_up() {
        // Nine fish in ten where half of the hours and nine tenths of the fish were, with a turn now and then.
        let trips: Vec<CalledTrip> = (0..40)
            .map(|i| {
                trip(
                    [0.9, 0.1, 0.0],
                    [4.0, 4.0, 0.0],
                    if i % 10 == 0 { [0, 1, 0] } else { [1, 0, 0] },
                )
            })
            .collect();
        let record = share_record(&trips).unwrap();
        assert_eq!(record.against_effort.unwrap().verdict, RecordVerdict::Better);
        let table = record.reliability.unwrap();
        assert_eq!(table.len(), 2, "{table:?}");
        let high = table[1];
        assert_eq!((high.cases, high.fish, high.observed_prob), (40, 40, 0.9));
        assert!((high.expected_prob - 0.9).abs() < 1e-12 && high.low_prob < 0.9 && high.high_prob > 0.9);
        let turned: Vec<CalledTrip> = trips
            .iter()
            .map(|t| CalledTrip {
                share: vec![0.1, 0.9, 0.0],
                ..t.clone()
            })
            .collect();
        assert_eq!(
            share_record(&turned).unwrap().against_effort.unwrap().verdict,
            RecordVerdict::Worse
        );
        assert_eq!(
            share_record(&trips[..39]).unwrap().reliability,
            None,
            "no table below 40"
        );
    }
}
