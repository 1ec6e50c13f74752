//! The wind of a trip hour by hour, as wind and waves judge it.

use chrono::{DateTime, Utc};

use super::note::number;
use crate::conditions::{WindCondition, WindHour};

/// The wind of one hour that nine members in ten stay below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::plan) struct HourWind {
    /// Hour; `None` where the forecast is known for the trip as a whole only.
    pub time: Option<DateTime<Utc>>,
    pub mean_m_s: Option<f64>,
    pub gust_m_s: Option<f64>,
    /// Direction that it blows from, by the control run.
    pub direction_deg: Option<f64>,
}

/// The hours of the trip; where there are none, the trip as one.
///
/// Members blow hardest at different hours, so that the highest of the hours' own figures is below the
/// trip's. All hours are raised by one factor, so that the highest has the trip's figure.
pub(in crate::plan) fn wind_hours(wind: &WindCondition) -> Vec<HourWind> {
    if wind.hours.is_empty() {
        return vec![HourWind {
            time: None,
            mean_m_s: number(Some(wind.speed_max_m_s)),
            gust_m_s: number(wind.gust_max_m_s),
            direction_deg: number(wind.direction_deg),
        }];
    }
    let figures = |of: &dyn Fn(&WindHour) -> Option<f64>, trip: Option<f64>| {
        let hours: Vec<Option<f64>> = wind.hours.iter().map(|h| number(of(h))).collect();
        raised(&hours, number(trip))
    };
    let mean = figures(
        &|h| h.speed_high_m_s.or(Some(h.speed_m_s)),
        Some(wind.speed_max_m_s),
    );
    let gust = figures(&|h| h.gust_high_m_s.or(h.gust_m_s), wind.gust_max_m_s);
    let hours = wind.hours.iter().zip(mean).zip(gust);
    hours
        .map(|((hour, mean_m_s), gust_m_s)| HourWind {
            time: Some(hour.time),
            mean_m_s,
            gust_m_s,
            direction_deg: number(hour.direction_deg),
        })
        .collect()
}

/// Wind of the hours, raised so that the highest is that of the trip. An hour without a figure takes the
/// higher of the known ones beside it; without any, all take the trip's.
fn raised(hours_m_s: &[Option<f64>], trip_m_s: Option<f64>) -> Vec<Option<f64>> {
    let highest = hours_m_s.iter().flatten().copied().max_by(f64::total_cmp);
    let factor = match (trip_m_s, highest) {
        (Some(trip), Some(highest)) if highest > 0.0 && trip > highest => trip / highest,
        _ => 1.0,
    };
    (0..hours_m_s.len())
        .map(|at| {
            let before = hours_m_s[..=at].iter().rev().flatten().next();
            let after = hours_m_s[at..].iter().flatten().next();
            let beside = before.into_iter().chain(after).copied();
            let known = hours_m_s[at].or_else(|| beside.max_by(f64::total_cmp));
            known.map(|figure| factor * figure).or(trip_m_s)
        })
        .collect()
}

/// First and last of the hours in which `passes` holds; the whole trip where the hours are not known. The
/// forecast's steps that hold the ends of the trip count whole.
pub(super) fn hours_of(
    wind: &WindCondition,
    hours: &[HourWind],
    passes: impl Fn(&HourWind) -> bool,
) -> (DateTime<Utc>, DateTime<Utc>) {
    let mut passing = hours.iter().filter(|h| passes(h)).filter_map(|h| h.time);
    let first = passing.next();
    let last = passing.next_back().or(first);
    first.zip(last).unwrap_or((wind.from, wind.to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_raised_to_the_figure_of_the_trip_and_holes_take_the_higher_neighbour() {
        let hours = [Some(2.0), None, Some(4.0), None];
        // The trip's 6 is 1.5 times the highest hour's 4.
        assert_eq!(
            raised(&hours, Some(6.0)),
            [Some(3.0), Some(6.0), Some(6.0), Some(6.0)]
        );
        assert_eq!(raised(&hours, None)[0], Some(2.0));
        assert_eq!(raised(&[None, None], Some(6.0)), [Some(6.0), Some(6.0)]);
        assert_eq!(raised(&[Some(0.0)], Some(0.0)), [Some(0.0)]);
    }
}
