//! When a notice is told: once as its condition comes to hold, and again only after it has been false by its margin for
//! some time.
//!
//! ```text
//! x = (figure - threshold) / margin          the other way round for "at most"
//! armed,  x >= 0                 -> told, no longer armed
//! told,   x >  -1                -> stands; the calm begins anew
//! told,   x <= -1 since c days   -> quiet; armed again from c >= rearm_days on
//! ```
//!
//! A figure that wavers within its margin of the threshold is therefore told once at most. Project choice of the form, as a
//! thermostat works.

use chrono::{DateTime, TimeDelta, Utc};

use crate::units::S_PER_DAY;

/// What is remembered of a notice from one look to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Memory {
    /// Whether it is told the next time that it holds.
    pub armed: bool,
    /// First look of the calm that lasts: since then it was false by its margin at every look.
    pub calm_since: Option<DateTime<Utc>>,
    /// When it was told last.
    pub fired_at: Option<DateTime<Utc>>,
    /// Whether that was its first look.
    pub already: bool,
}

/// What one look gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// It is told now.
    Fired,
    /// It was told before, and stands.
    Standing,
    /// It does not hold.
    Quiet,
}

/// What is seen at one look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// How far the figure is past its threshold, in margins.
    pub past_margin_n: f64,
    /// Whether what the notice waits for has come about.
    pub over: bool,
    /// Days of calm before it is told again.
    pub rearm_days: f64,
}

/// The look of `seen` at clock `at`, after `before`; `None` at the first look.
pub fn look(seen: Sight, before: Option<&Memory>, at: DateTime<Utc>) -> (Look, Memory) {
    let holds = seen.past_margin_n >= 0.0;
    let Some(before) = before else {
        // The first look: what is so already is told, what is over is nothing to wait for.
        let fires = holds && !seen.over;
        let memory = Memory {
            armed: !holds,
            calm_since: None,
            fired_at: fires.then_some(at),
            already: fires,
        };
        return (if fires { Look::Fired } else { Look::Quiet }, memory);
    };
    if before.armed {
        if !holds {
            return (Look::Quiet, *before);
        }
        let memory = Memory {
            armed: false,
            calm_since: None,
            fired_at: Some(at),
            already: false,
        };
        return (Look::Fired, memory);
    }
    if seen.past_margin_n > -1.0 {
        let memory = Memory {
            calm_since: None,
            ..*before
        };
        // Told of something that is over, or over at the first look: nothing stands.
        let stands = !seen.over && before.fired_at.is_some();
        return (if stands { Look::Standing } else { Look::Quiet }, memory);
    }
    let since = before.calm_since.unwrap_or(at);
    let calm = at - since;
    let memory = Memory {
        armed: calm >= TimeDelta::seconds((seen.rearm_days * S_PER_DAY) as i64),
        calm_since: Some(since),
        ..*before
    };
    (Look::Quiet, memory)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hour: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_760_000_000 + hour * 3600, 0).unwrap()
    }

    /// Looks at these figures, a day apart.
    fn looks(past: &[f64], rearm_days: f64) -> Vec<Look> {
        let mut memory = None;
        (0..)
            .zip(past)
            .map(|(day, &past_margin_n)| {
                let seen = Sight {
                    past_margin_n,
                    over: false,
                    rearm_days,
                };
                let (look, after) = look(seen, memory.as_ref(), at(24 * day));
                memory = Some(after);
                look
            })
            .collect()
    }

    use Look::{Fired, Quiet, Standing};

    #[test]
    fn it_is_told_once_a_crossing_and_stands_until_it_is_false_by_its_margin() {
        assert_eq!(
            looks(&[-2.0, 0.0, 0.5, -0.5, 0.1, -0.99, 3.0], 0.0),
            [Quiet, Fired, Standing, Standing, Standing, Standing, Standing]
        );
        assert_eq!(
            looks(&[-2.0, 0.1, -1.0, 0.1, -0.5], 0.0),
            [Quiet, Fired, Quiet, Fired, Standing]
        );
    }

    #[test]
    fn the_calm_must_last() {
        // Two days of calm are wanted: two looks a day apart are one day.
        assert_eq!(
            looks(&[-2.0, 1.0, -2.0, -2.0, 1.0, -2.0, -2.0, -2.0, 1.0], 2.0),
            [Quiet, Fired, Quiet, Quiet, Standing, Quiet, Quiet, Quiet, Fired]
        );
        // A look within the margin begins the calm anew.
        assert_eq!(
            looks(&[1.0, -1.5, -0.5, -1.5, 1.0], 1.0),
            [Fired, Quiet, Standing, Quiet, Standing]
        );
    }

    #[test]
    fn what_is_so_already_is_told_once_and_what_is_over_is_not() {
        assert_eq!(looks(&[2.0, 2.0], 1.0), [Fired, Standing]);
        let over = |past_margin_n| Sight {
            past_margin_n,
            over: true,
            rearm_days: 0.0,
        };
        let (first, memory) = look(over(2.0), None, at(0));
        assert_eq!((first, memory.armed, memory.fired_at), (Quiet, false, None));
        assert_eq!(look(over(2.0), Some(&memory), at(24)).0, Quiet);
        // Nobody was told that it would come: it is told when it has.
        let armed = Memory {
            armed: true,
            ..memory
        };
        let (told, memory) = look(over(2.0), Some(&armed), at(48));
        assert_eq!(told, Fired);
        assert_eq!(look(over(2.0), Some(&memory), at(72)).0, Quiet);
    }
}
