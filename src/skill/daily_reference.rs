//! What a forecast of days ahead has to better: the same days of other years, and yesterday's departure from them, fading.
//!
//! Both are ensembles, made of what was known at the issue and of nothing else, so that they are judged as the forecast is.

use chrono::{Datelike, NaiveDate};

use crate::math::quantiles::mean;
use crate::series::Daily;

/// Days either side of a day of the year that are pooled, and values of other years needed among them (project choices: of two
/// other years at least).
const POOLED_DAYS: usize = 7;
const POOLED_MIN_COUNT: usize = 20;
/// Days either side of the target's day of the year from which fading and errors are learned, and pairs needed (project choices).
const SEASON_DAYS: usize = 30;
const PAIRS_MIN_COUNT: usize = 60;
/// Values of the same season lie within so many days of each other.
const OWN_SEASON_DAYS: i64 = 180;
/// Oldest value that persistence starts from, days before the first day ahead (project choice).
const OLDEST_START_DAYS: i64 = 4;
const YEAR_DAYS: usize = 365;

/// The two references of one day.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyReferences {
    /// Values within 7 days of the day of the year, of other years.
    pub climatology: Vec<f64>,
    /// Mean of these, plus the newest departure times what of such a departure was left so many days later in this season, plus
    /// what was then missed; `None` where the newest value is too old or too few pairs are known.
    pub persistence: Option<Vec<f64>>,
}

/// Everything that was known of a daily series when a forecast was issued.
#[derive(Debug, Clone)]
pub struct KnownDays {
    daily: Daily,
    slot: Vec<usize>,
    total: Vec<(f64, usize)>,
    /// Departure of each day from the days of other years.
    departure: Vec<Option<f64>>,
    newest: Option<(NaiveDate, f64)>,
    last: NaiveDate,
}

impl KnownDays {
    /// The days of `daily` up to `last`, with a newer value where the issue knew one.
    pub fn new(daily: &Daily, last: NaiveDate, newer: Option<(NaiveDate, f64)>) -> KnownDays {
        let count = usize::try_from((last - daily.first).num_days() + 1).unwrap_or(0);
        let known = Daily::new(daily.first, daily.value.iter().take(count).copied().collect());
        let slot: Vec<usize> = (0..known.value.len()).map(|i| slot_of(known.date(i))).collect();
        let mut by_day = vec![(0.0, 0_usize); YEAR_DAYS];
        for (value, slot) in known.value.iter().zip(&slot) {
            if let Some(value) = value {
                by_day[*slot] = (by_day[*slot].0 + value, by_day[*slot].1 + 1);
            }
        }
        let pooled = |slot: usize| {
            let window =
                (0..=2 * POOLED_DAYS).map(|k| by_day[(slot + YEAR_DAYS + k - POOLED_DAYS) % YEAR_DAYS]);
            window.fold((0.0, 0), |all, one| (all.0 + one.0, all.1 + one.1))
        };
        let mut made = KnownDays {
            total: (0..YEAR_DAYS).map(pooled).collect(),
            departure: Vec::new(),
            newest: None,
            last,
            slot,
            daily: known,
        };
        let departure = |i: usize| Some(made.daily.value[i]? - made.usual(i as i64, made.slot[i])?);
        made.departure = (0..made.daily.value.len()).map(departure).collect();
        let own = (0..made.daily.value.len())
            .rev()
            .find_map(|i| Some((made.daily.date(i), made.daily.value[i]?)));
        made.newest = newer.into_iter().chain(own).max_by_key(|(date, _)| *date);
        made
    }

    /// Mean of the days of other years about entry `index`, which may lie ahead of the record.
    fn usual(&self, index: i64, slot: usize) -> Option<f64> {
        let (mut sum, mut count) = self.total[slot];
        // Beside the window a leap day, and one for the end of a leap year.
        let reach = POOLED_DAYS as i64 + 2;
        for near in (index - reach).max(0)..=index + reach {
            let Some(Some(value)) = usize::try_from(near).ok().and_then(|j| self.daily.value.get(j)) else {
                continue;
            };
            if apart(self.slot[near as usize], slot) <= POOLED_DAYS {
                sum -= value;
                count -= 1;
            }
        }
        (count >= POOLED_MIN_COUNT).then(|| sum / count as f64)
    }

    /// The references of `target`, a day after the newest known one; `None` where no two other years are known.
    pub fn references(&self, target: NaiveDate) -> Option<DailyReferences> {
        let slot = slot_of(target);
        let index = (target - self.daily.first).num_days();
        let of_other_years = |(i, value): (usize, &Option<f64>)| {
            let is_near = apart(self.slot[i], slot) <= POOLED_DAYS;
            (*value).filter(|_| is_near && (index - i as i64).abs() > OWN_SEASON_DAYS)
        };
        let values = self.daily.value.iter().enumerate();
        let climatology: Vec<f64> = values.filter_map(of_other_years).collect();
        if climatology.len() < POOLED_MIN_COUNT {
            return None;
        }
        Some(DailyReferences {
            persistence: self.persistence(index, slot, mean(&climatology)?),
            climatology,
        })
    }

    fn persistence(&self, index: i64, slot: usize, usual: f64) -> Option<Vec<f64>> {
        let (date, value) = self.newest?;
        let start = (date - self.daily.first).num_days();
        let apart_days = usize::try_from(index - start).ok().filter(|lead| *lead > 0)?;
        if (self.last - date).num_days() > OLDEST_START_DAYS {
            return None;
        }
        let pairs: Vec<(f64, f64)> = (apart_days..self.departure.len())
            .filter(|i| apart(self.slot[*i], slot) <= SEASON_DAYS)
            .filter_map(|i| Some((self.departure[i - apart_days]?, self.departure[i]?)))
            .collect();
        let squares: f64 = pairs.iter().map(|(x, _)| x * x).sum();
        if pairs.len() < PAIRS_MIN_COUNT || squares == 0.0 {
            return None;
        }
        let left_frac = pairs.iter().map(|(x, y)| x * y).sum::<f64>() / squares;
        // A departure that grows, or turns about, does not persist.
        let left_frac = left_frac.clamp(0.0, 1.0);
        let departure = value - self.usual(start, slot_of(date))?;
        Some(
            (pairs.iter())
                .map(|(x, y)| usual + left_frac * departure + (y - left_frac * x))
                .collect(),
        )
    }
}

/// Day of the year from 0; the last of a leap year counts with the one before.
fn slot_of(date: NaiveDate) -> usize {
    (date.ordinal0() as usize).min(YEAR_DAYS - 1)
}

/// Days between two days of the year, around its turn too.
fn apart(one: usize, other: usize) -> usize {
    let apart = one.abs_diff(other);
    apart.min(YEAR_DAYS - apart)
}
