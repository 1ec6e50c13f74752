//! Kept turnover outlooks as distributions over days.

use chrono::{Days, NaiveDate};

use super::record::ForecastParts;
use crate::archive::{KeptPlace, KeptTurnover};
use crate::clock::LakeClock;
use crate::column::turnover::{Hemisphere, Mixing, deep_columns, mixings};
use crate::conditions::ObservedDays;
use crate::lake::Lake;
use crate::skill::dates::DayForecast;
use crate::skill::turnover_record::{IssuedDates, day_number};

/// The outlooks of the main body that were made in time, in order, the first of each day, and how many of them are no distribution.
pub(super) fn turnover_cases(parts: &ForecastParts<'_>, clock: &LakeClock) -> (Vec<IssuedDates>, usize) {
    let main = &parts.lake.main_body().id;
    let in_time = |outlook: &&KeptTurnover| {
        let day = clock.standard_day(outlook.as_of);
        let next = day.checked_add_days(Days::new(1)).unwrap_or(day);
        let made_at = if outlook.replayed {
            outlook.as_of
        } else {
            outlook.made_at
        };
        (parts.with_replayed || !outlook.replayed) && made_at < clock.standard_day_start(next)
    };
    let (mut found, mut faulty) = (Vec::new(), 0);
    let mut in_time: Vec<&KeptTurnover> = parts.outlooks.iter().filter(in_time).collect();
    in_time.sort_by_key(|outlook| (outlook.as_of, outlook.made_at));
    // Made twice in a day, the first was the forecast.
    in_time.dedup_by_key(|outlook| (clock.standard_day(outlook.as_of), outlook.replayed));
    for outlook in in_time {
        for place in outlook.places.iter().filter(|place| place.zone == *main) {
            match issued_dates(clock.standard_day(outlook.as_of), place) {
                Some(dates) => found.push(dates),
                None => faulty += 1,
            }
        }
    }
    (found, faulty)
}

/// The distribution of a place: what was mixed already stands on the day before the first, what does not turn over on the day after the
/// last, which no score looks at.
fn issued_dates(issued: NaiveDate, place: &KeptPlace) -> Option<IssuedDates> {
    let first = day_number(place.first_day);
    let mut day_prob = vec![place.already_prob];
    day_prob.extend(&place.day_prob);
    day_prob.push(place.later_prob);
    Some(IssuedDates {
        issued,
        dates: DayForecast::new(i32::try_from(first - 1).ok()?, day_prob).ok()?,
        last_day: first + place.day_prob.len() as i64 - 1,
    })
}

/// Turnovers of the main body between its observed profiles.
pub fn observed_turnovers(lake: &Lake, observed: &ObservedDays) -> Vec<Mixing> {
    let profiles = observed.profiles.iter();
    let columns = deep_columns(profiles.map(|p| (p.date, p.depth_m.as_slice(), p.temp_degc.as_slice())));
    let found = mixings(&columns, Hemisphere::of_latitude(lake.latitude_deg)).into_iter();
    found.map(|(_, mixing)| mixing).collect()
}
