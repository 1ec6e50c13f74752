//! An outlook as the archive keeps it, to be scored when the autumn has shown.

use chrono::{DateTime, Utc};

use super::value::{PlaceOutlook, TurnoverOutlook};
use crate::archive::{KeptPlace, KeptTurnover, TURNOVER_FORM};

/// The distributions of an outlook; `None` where it has none.
pub fn kept_turnover(
    outlook: &TurnoverOutlook,
    made_at: DateTime<Utc>,
    replayed: bool,
) -> Option<KeptTurnover> {
    let places: Vec<KeptPlace> = outlook.places.iter().filter_map(kept_place).collect();
    (!places.is_empty()).then(|| KeptTurnover {
        form: TURNOVER_FORM.to_owned(),
        version: outlook.version.clone(),
        lake: outlook.lake.id.clone(),
        as_of: outlook.as_of,
        made_at,
        replayed,
        places,
    })
}

/// What is mixed already, then day by day, then the rest: what does not turn over, closes before, or is like no run. A closed place has nothing
/// to turn over.
fn kept_place(place: &PlaceOutlook) -> Option<KeptPlace> {
    let (first, last) = (place.by_date.first()?, place.by_date.last()?);
    if place.closed {
        return None;
    }
    let rise = |pair: &[super::DateChance]| pair[1].turned_over_prob - pair[0].turned_over_prob;
    Some(KeptPlace {
        zone: place.zone.clone(),
        already_prob: first.turned_over_prob,
        first_day: first.date.succ_opt()?,
        day_prob: place.by_date.windows(2).map(rise).collect(),
        later_prob: 1.0 - last.turned_over_prob,
    })
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::lake::{ZoneId, ZoneKind};
    use crate::reports::DateChance;

    fn place(chances: &[f64]) -> PlaceOutlook {
        let first = NaiveDate::from_ymd_opt(2025, 10, 9).unwrap();
        let on = |(i, &turned_over_prob): (u64, &f64)| DateChance {
            date: first + chrono::Days::new(i),
            turned_over_prob,
        };
        PlaceOutlook {
            zone: ZoneId::new("main"),
            name: "the main body".to_owned(),
            kind: ZoneKind::MainBody,
            closed: false,
            depth_m: Some(40.0),
            already_mixed_prob: 0.0,
            turns_over_prob: 0.0,
            not_turned_over_prob: 0.0,
            closed_prob: 0.0,
            no_run_prob: 0.0,
            by_date: (0..).zip(chances).map(on).collect(),
            early: None,
            median: None,
            late: None,
            median_by_degree: None,
            surface_then: None,
            surface_now: None,
            under_way_prob: 0.0,
        }
    }

    #[test]
    fn the_three_parts_of_a_kept_place_are_those_of_its_curve() {
        let kept = kept_place(&place(&[0.1, 0.1, 0.4, 0.75])).unwrap();
        assert_eq!(kept.first_day, NaiveDate::from_ymd_opt(2025, 10, 10).unwrap());
        assert_eq!((kept.already_prob, kept.later_prob), (0.1, 0.25));
        let wanted = [0.0, 0.3, 0.35];
        assert!(
            kept.day_prob
                .iter()
                .zip(wanted)
                .all(|(found, w)| (found - w).abs() < 1e-12)
        );
        assert_eq!(kept.day_prob.len(), wanted.len());
        let sum = kept.already_prob + kept.day_prob.iter().sum::<f64>() + kept.later_prob;
        assert!((sum - 1.0).abs() < 1e-12);
        assert_eq!(kept_place(&place(&[])), None);
        let closed = PlaceOutlook {
            closed: true,
            ..place(&[0.0, 1.0])
        };
        assert_eq!(kept_place(&closed), None);
    }
}
