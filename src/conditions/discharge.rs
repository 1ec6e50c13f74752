//! Discharge that can be believed: gauged, or computed from a balance and so full of noise.

use super::balance::centred_mean;
use crate::clock::LakeClock;
use crate::math::quantiles::median;
use crate::series::{Daily, Flag, Observation};

/// Negative days from which a record counts as computed: no river flows backward, and one such day may
/// be a fault of a gauge (project choice).
const COMPUTED_NEGATIVE_DAYS: usize = 3;
/// A record that lies within this share of the balance on half of its days was computed from it; a gauge
/// never agrees so well (project choice), on at least so many days.
const COMPUTED_AGREEMENT_FRAC: f64 = 0.05;
const COMPUTED_AGREEMENT_DAYS: usize = 60;
/// A day this many times higher than both of its neighbours is a spike (project choice).
const SPIKE_RATIO: f64 = 2.5;
/// How far a spike may lie from the balance and still be believed, as a share of itself (project choice).
const SPIKE_DISAGREEMENT_FRAC: f64 = 0.5;
/// Days of the centred mean of a computed record.
const COMPUTED_MEAN_DAYS: usize = 3;

/// A daily discharge, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Discharge {
    /// Discharge, never negative. Of a computed record the 3-day centred mean.
    pub daily: Daily,
    /// Whether the record is computed from a balance, and was smoothed for it.
    pub computed: bool,
    /// Standard deviation of the 3-day mean of a computed record, from the record itself: 0 of a gauged
    /// one. A rise that is not well above it is no rise.
    pub noise_m3s: f64,
    /// Days that were not believed.
    pub disbelieved: Vec<chrono::NaiveDate>,
}

/// The discharge to work with, from a record as it stands.
///
/// `record` is the daily series of flags 1 to 3, `observations` the daily rows it came from (for negative
/// values that quality has refused), `balance` the inflow of the lake's own balance where this is the
/// only inflow. A gauged record loses its negative days. A computed one is recognised by its negative
/// days or by its agreement with the balance. There a negative day is the other half of a positive error,
/// so it is averaged in and not clipped; a one-day spike that the balance does not confirm is dropped;
/// then the 3-day centred mean is taken, and a mean that is still not positive is no discharge.
///
/// `None` when nothing is left.
pub fn believable_discharge(
    record: &Daily,
    observations: &[Observation],
    clock: &LakeClock,
    balance: Option<&Daily>,
) -> Option<Discharge> {
    let mut raw = record.clone();
    let mut negative_days = raw.value.iter().flatten().filter(|q| **q < 0.0).count();
    for row in observations.iter().filter(|o| o.flag != Flag::Missing) {
        let Some(value) = row.value.filter(|v| v.is_finite() && *v < 0.0) else {
            continue;
        };
        if let Some(i) = raw
            .index(clock.standard_day(row.time))
            .filter(|i| raw.value[*i].is_none())
        {
            raw.value[i] = Some(value);
            negative_days += 1;
        }
    }
    let computed = negative_days >= COMPUTED_NEGATIVE_DAYS || balance.is_some_and(|b| agrees(record, b));
    if !computed {
        let mut daily = record.clone();
        let disbelieved = drop_where(&mut daily, |_, q| q < 0.0);
        return has_value(&daily).then_some(Discharge {
            daily,
            computed,
            noise_m3s: 0.0,
            disbelieved,
        });
    }
    let disbelieved = drop_spikes(&mut raw, balance);
    let mut daily = centred_mean(&raw, COMPUTED_MEAN_DAYS)?;
    let noise_m3s = noise_of_mean_m3s(&raw, &daily, COMPUTED_MEAN_DAYS);
    drop_where(&mut daily, |_, q| q <= 0.0);
    for i in 0..daily.value.len() {
        daily.suspect[i] = record.index(daily.date(i)).is_some_and(|k| record.suspect[k]);
    }
    has_value(&daily).then_some(Discharge {
        daily,
        computed,
        noise_m3s,
        disbelieved,
    })
}

/// Noise of the centred mean over `days` of a balance, m3/s.
///
/// The errors of a balance are differences of reading errors, so that about a mean of `n` days they keep
/// nearly all of a day's spread, and the mean has an `n`-th of it (they telescope). The spread of a day is
/// 1.4826 times the median distance from the mean (the normal law's factor); floods are few days of a
/// record and do not move a median.
pub(super) fn noise_of_mean_m3s(raw: &Daily, mean: &Daily, days: usize) -> f64 {
    let apart: Vec<f64> = (0..raw.value.len())
        .filter_map(|i| Some((raw.value[i]? - mean.get(raw.date(i))?).abs()))
        .collect();
    1.4826 * median(&apart).unwrap_or(0.0) / days.max(1) as f64
}

fn has_value(daily: &Daily) -> bool {
    daily.value.iter().any(Option::is_some)
}

/// Whether half of the days that both have lie within a twentieth of each other.
fn agrees(record: &Daily, balance: &Daily) -> bool {
    let apart: Vec<f64> = (0..record.value.len())
        .filter_map(|i| {
            let (q, b) = (record.value[i]?, balance.get(record.date(i))?);
            (q > 0.0).then(|| (q - b).abs() / q)
        })
        .collect();
    apart.len() >= COMPUTED_AGREEMENT_DAYS && median(&apart).is_some_and(|m| m <= COMPUTED_AGREEMENT_FRAC)
}

/// Takes out one-day spikes upward that the balance does not confirm, and says which.
fn drop_spikes(raw: &mut Daily, balance: Option<&Daily>) -> Vec<chrono::NaiveDate> {
    let before = raw.clone();
    drop_where(raw, |i, q| {
        let neighbour = |k: Option<usize>| k.and_then(|k| before.value.get(k).copied().flatten());
        let (Some(left), Some(right)) = (neighbour(i.checked_sub(1)), neighbour(Some(i + 1))) else {
            return false;
        };
        // Beside a negative day a high one is the other half of one error, and the mean takes care of both.
        let spike = left > 0.0 && right > 0.0 && q > SPIKE_RATIO * left.max(right);
        let confirmed = balance
            .and_then(|b| b.get(before.date(i)))
            .is_some_and(|inferred| (q - inferred).abs() <= SPIKE_DISAGREEMENT_FRAC * q);
        spike && !confirmed
    })
}

fn drop_where(daily: &mut Daily, drop: impl Fn(usize, f64) -> bool) -> Vec<chrono::NaiveDate> {
    let mut dropped = Vec::new();
    for i in 0..daily.value.len() {
        if daily.value[i].is_some_and(|q| drop(i, q)) {
            daily.value[i] = None;
            daily.filled[i] = false;
            dropped.push(daily.date(i));
        }
    }
    dropped
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn record(values: &[f64]) -> Daily {
        let first = NaiveDate::from_ymd_opt(2025, 7, 1).unwrap();
        Daily::new(first, values.iter().map(|v| Some(*v)).collect())
    }

    fn clock() -> LakeClock {
        LakeClock::new(chrono_tz::UTC)
    }

    #[test]
    fn one_negative_day_of_a_gauge_is_dropped_and_the_rest_stays_as_it_is() {
        let found = believable_discharge(&record(&[5.0, -3.0, 6.0]), &[], &clock(), None).unwrap();
        assert!(!found.computed);
        assert_eq!(found.daily.value, vec![Some(5.0), None, Some(6.0)]);
    }

    #[test]
    fn a_computed_record_is_smoothed_with_its_negative_days_and_never_negative() {
        let found = believable_discharge(
            &record(&[9.0, -3.0, 6.0, -9.0, 3.0, -30.0, 6.0, 6.0]),
            &[],
            &clock(),
            None,
        )
        .unwrap();
        assert!(found.computed);
        assert_eq!(found.daily.value[1], Some(4.0));
        assert!(found.daily.value.iter().flatten().all(|q| *q > 0.0));
        assert_eq!(found.daily.value[4], None);
    }

    #[test]
    fn a_spike_is_believed_only_where_the_balance_confirms_it() {
        let mut values = vec![10.0, -1.0, -1.0, -1.0, 10.0, 10.0, 10.0, 90.0, 10.0, 10.0, 10.0];
        let alone = believable_discharge(&record(&values), &[], &clock(), None).unwrap();
        assert_eq!(alone.daily.value[7], Some(10.0));
        assert_eq!(alone.disbelieved.len(), 1);
        let balance = record(&values);
        let confirmed = believable_discharge(&record(&values), &[], &clock(), Some(&balance)).unwrap();
        assert!(confirmed.disbelieved.is_empty());
        values[7] = 10.0;
        let denied = believable_discharge(
            &record(&balance.value.iter().flatten().copied().collect::<Vec<_>>()),
            &[],
            &clock(),
            Some(&record(&values)),
        )
        .unwrap();
        assert_eq!(denied.daily.value[7], Some(10.0));
    }
}
