//! Changes of a trip in words: `note=...`, `date=...`, `2.rods=3`, `rods=3` (every leg), `1.rainbow-trout=2`, `1.catch=blank`.

use super::check::{Known, short};
use super::error::TripFault;
use super::line::{day_of, span_of, species_of};
use super::model::{Leg, Light, Reason, Trip};
use super::words::{depth_of, fish_of, hours_of, speed_of};
use crate::lake::ZoneId;

/// What a leg has that may be changed, for a message.
const LEG_KEYS: &str =
    "zone, stretch, hours, rods, depth, speed, presentation, reason, light, catch, or a species";

/// What is wrong with a change: found, wanted, how to mend it.
type Refused = [String; 3];

/// The trip with changes made, one after the other. An empty value takes away what was there.
///
/// # Errors
/// Every fault, with the change that it is in; the trip as a whole is not yet checked.
pub fn change_trip(trip: &Trip, changes: &[String], known: &Known<'_>) -> Result<Trip, Vec<TripFault>> {
    let mut changed = trip.clone();
    let mut faults = Vec::new();
    for (i, change) in changes.iter().enumerate() {
        if let Err([found, wanted, mend]) = apply(&mut changed, change, known) {
            faults.push(TripFault::new(format!("change {}", i + 1), found, wanted, mend));
        }
    }
    if faults.is_empty() {
        Ok(changed.tidied())
    } else {
        Err(faults)
    }
}

fn refused(found: impl Into<String>, wanted: impl Into<String>, mend: &str) -> Refused {
    [found.into(), wanted.into(), mend.to_owned()]
}

fn apply(trip: &mut Trip, change: &str, known: &Known<'_>) -> Result<(), Refused> {
    let Some((key, value)) = change.split_once('=').map(|(k, v)| (k.trim(), v.trim())) else {
        let wanted = "key=value, such as 1.rods=2, depth=18ft, 1.rainbow-trout=3 or note=\"cold wind\"";
        return Err(refused(
            format!("{:?}", short(change)),
            wanted,
            "put = between the two",
        ));
    };
    match key {
        "note" => trip.note = (!value.is_empty()).then(|| value.to_owned()),
        "date" => {
            trip.date = day_of(value, known).ok_or_else(|| {
                refused(
                    format!("date {:?}", short(value)),
                    "a day such as 2025-10-09",
                    "correct the date",
                )
            })?;
        }
        _ => {
            let (legs, key) = legs_of(trip, key)?;
            let date = trip.date;
            for at in legs {
                change_leg(&mut trip.legs[at], key, value, date, known)?;
            }
        }
    }
    Ok(())
}

/// The legs that a key speaks of, and the key without their number.
fn legs_of<'k>(trip: &Trip, key: &'k str) -> Result<(std::ops::Range<usize>, &'k str), Refused> {
    let count = trip.legs.len();
    let numbered = key
        .split_once('.')
        .and_then(|(number, rest)| Some((number.parse::<usize>().ok()?, rest)));
    let (range, rest) = match numbered {
        Some((number, rest)) => match number.checked_sub(1).filter(|at| *at < count) {
            Some(at) => (at..at + 1, rest),
            None => {
                return Err(refused(
                    format!("leg {number} of {count}"),
                    format!("1 to {count}"),
                    "correct the number",
                ));
            }
        },
        None => (0..count, key),
    };
    if range.is_empty() {
        return Err(refused(
            "a trip without legs",
            "one with a leg to change",
            "correct the number of the trip",
        ));
    }
    Ok((range, rest))
}

fn change_leg(
    leg: &mut Leg,
    key: &str,
    value: &str,
    date: chrono::NaiveDate,
    known: &Known<'_>,
) -> Result<(), Refused> {
    let empty = value.is_empty();
    let wrong = |wanted: &str| {
        refused(
            format!("{key} {:?}", short(value)),
            wanted,
            "correct the value, or leave it empty",
        )
    };
    let maybe = |read: Option<f64>, wanted: &str| match (empty, read) {
        (true, _) => Ok(None),
        (false, Some(value)) => Ok(Some(value)),
        (false, None) => Err(wrong(wanted)),
    };
    match key {
        "zone" => (leg.zone, leg.stretch) = (ZoneId::new(value), None),
        "stretch" => leg.stretch = (!empty).then(|| value.to_owned()),
        "hours" if value.contains(':') => {
            let (start, hours_h) = span_of(value, date, known)?;
            (leg.start, leg.duration_h) = (Some(start), hours_h);
        }
        "hours" => {
            leg.duration_h =
                hours_of(value).ok_or_else(|| wrong("4.5h, or begin and end such as 6:30-11:00"))?
        }
        "rods" if empty => leg.rods = None,
        "rods" => leg.rods = Some(value.parse().map_err(|_| wrong("a whole number"))?),
        "depth" => leg.depth_m = maybe(depth_of(value), "a depth such as 18ft or 5.5m")?,
        "speed" => leg.speed_m_s = maybe(speed_of(value), "a speed such as 2.2mph or 1m/s")?,
        "presentation" => leg.presentation = (!empty).then(|| value.to_owned()),
        "reason" if empty => leg.reason = None,
        "reason" => {
            leg.reason = Some(Reason::from_word(value).ok_or_else(|| wrong(&Reason::WORDS.join(", ")))?)
        }
        "light" if empty => leg.light = None,
        "light" => leg.light = Some(Light::from_word(value).ok_or_else(|| wrong(&Light::WORDS.join(", ")))?),
        "catch" => {
            leg.catch_known = match value {
                "blank" => true,
                "" | "unknown" => false,
                _ => return Err(wrong("blank or unknown; fish are written as rainbow-trout=3")),
            };
            leg.catches.clear();
        }
        _ => {
            let species = species_of(key, known).ok_or_else(|| {
                refused(
                    format!("{:?}", short(key)),
                    format!("date, note, or of a leg {LEG_KEYS}"),
                    "correct the key",
                )
            })?;
            let fish = if empty {
                Vec::new()
            } else {
                fish_of(&species, value).map_err(wrong)?
            };
            leg.catches.retain(|fish| fish.species != species);
            leg.catches.extend(fish);
            leg.catch_known = true;
        }
    }
    Ok(())
}
