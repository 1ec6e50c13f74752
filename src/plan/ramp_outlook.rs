//! Whether a ramp floats the boat on the days ahead, by the level's members.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::conditions::outlook::LevelProjection;

/// Chances of too little water below which a ramp counts as usable, and above which as not (project choices).
const USABLE_BELOW_PROB: f64 = 0.10;
const NOT_USABLE_ABOVE_PROB: f64 = 0.50;
/// Chance that dates a turn, and the chances at its early and late end.
const TURN_PROB: f64 = 0.5;
const SPAN_PROB: (f64, f64) = (0.1, 0.9);

/// A ramp on the days ahead. By level only.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampOutlook {
    /// One entry a day, the day of the trip first.
    pub days: Vec<RampDay>,
    /// When it goes out of use, or comes back, within the horizon.
    pub turn: Option<RampTurn>,
}

/// A ramp on one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampDay {
    /// Civil day.
    pub date: NaiveDate,
    /// Probability that the level is below the toe and the water that the boat needs.
    pub below_prob: f64,
    /// The same in a word.
    pub chance: RampChance,
}

/// A chance in a word: below 10 % of too little water, to 50 %, above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RampChance {
    /// Too little water in fewer than 10 % of the members.
    Usable,
    /// In 10 to 50 %.
    Doubtful,
    /// In more than 50 %.
    NotUsable,
}

/// The day from which a ramp is more likely out of use than in use, or the other way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampTurn {
    /// Whether it comes back into use; else it goes out of use.
    pub comes_back: bool,
    /// First day with a chance of at least 50 % of the new state.
    pub date: NaiveDate,
    /// That chance on that day.
    pub turned_prob: f64,
    /// First day with a chance of at least 10 %.
    pub early: NaiveDate,
    /// First day with a chance of at least 90 %; `None` where it lies beyond the horizon.
    pub late: Option<NaiveDate>,
}

/// The word for a chance of too little water.
pub fn ramp_chance(below_prob: f64) -> RampChance {
    if below_prob < USABLE_BELOW_PROB {
        RampChance::Usable
    } else if below_prob <= NOT_USABLE_ABOVE_PROB {
        RampChance::Doubtful
    } else {
        RampChance::NotUsable
    }
}

/// The outlook of a ramp that needs the level at `least_m`. `None` without members.
pub(super) fn ramp_outlook(projection: &LevelProjection, least_m: f64) -> Option<RampOutlook> {
    let days: Vec<RampDay> = projection
        .outlook
        .days
        .iter()
        .enumerate()
        .filter_map(|(i, day)| {
            let below_prob = projection.below_prob(i, least_m)?;
            Some(RampDay {
                date: day.date,
                below_prob,
                chance: ramp_chance(below_prob),
            })
        })
        .collect();
    let turn = turn(&days);
    (!days.is_empty()).then_some(RampOutlook { days, turn })
}

/// The first turn away from the state of the first day.
fn turn(days: &[RampDay]) -> Option<RampTurn> {
    let comes_back = days.first()?.below_prob >= TURN_PROB;
    let turned_prob = |day: &RampDay| {
        if comes_back {
            1.0 - day.below_prob
        } else {
            day.below_prob
        }
    };
    let first_with = |prob: f64| days.iter().find(|day| turned_prob(day) >= prob);
    // From 50 % down to 50 % up is no turn: it must be the likelier state.
    let turned = days.iter().skip(1).find(|day| {
        if comes_back {
            day.below_prob < TURN_PROB
        } else {
            day.below_prob >= TURN_PROB
        }
    })?;
    Some(RampTurn {
        comes_back,
        date: turned.date,
        turned_prob: turned_prob(turned),
        early: first_with(SPAN_PROB.0).map_or(turned.date, |day| day.date),
        late: first_with(SPAN_PROB.1).map(|day| day.date),
    })
}

#[cfg(test)]
mod tests {
    use chrono::Days;

    use super::*;

    fn days(below: &[f64]) -> Vec<RampDay> {
        let first = NaiveDate::from_ymd_opt(2025, 7, 24).unwrap();
        (0..)
            .zip(below)
            .map(|(i, &below_prob)| RampDay {
                date: first + Days::new(i),
                below_prob,
                chance: ramp_chance(below_prob),
            })
            .collect()
    }

    #[test]
    fn words_change_at_ten_and_at_fifty_percent() {
        let words = [0.0, 0.099, 0.1, 0.5, 0.501, 1.0].map(ramp_chance);
        use RampChance::{Doubtful, NotUsable, Usable};
        assert_eq!(words, [Usable, Usable, Doubtful, Doubtful, NotUsable, NotUsable]);
    }

    #[test]
    fn a_falling_lake_takes_a_ramp_out_on_the_first_day_of_even_chances() {
        let falling = days(&[0.0, 0.05, 0.2, 0.45, 0.5, 0.8, 0.95]);
        let found = turn(&falling).unwrap();
        assert!(!found.comes_back);
        let of = |i: usize| falling[i].date;
        assert_eq!((found.date, found.early, found.late), (of(4), of(2), Some(of(6))));
        assert_eq!(found.turned_prob, 0.5);
        assert_eq!(turn(&days(&[0.0, 0.2, 0.49])), None, "never as likely as not");
        assert_eq!(turn(&falling[..6]).unwrap().late, None, "beyond the horizon");
    }

    #[test]
    fn a_rising_lake_brings_a_ramp_back() {
        let rising = days(&[1.0, 0.95, 0.85, 0.5, 0.4, 0.1]);
        let found = turn(&rising).unwrap();
        assert!(found.comes_back);
        assert_eq!((found.date, found.early), (rising[4].date, rising[2].date));
        assert_eq!(found.late, Some(rising[5].date));
        assert_eq!(turn(&[]), None);
    }
}
