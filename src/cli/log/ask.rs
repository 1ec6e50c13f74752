//! The questions of `log add` for the tired. An answer that cannot be read is asked for again; nothing that is a fact is
//! ever filled in: where a question may stay open, an empty answer says "not known".

use std::io::{BufRead, Write};

use crate::error::Error;
use crate::faces::Units;
use crate::trips::Reading;
use crate::trips::{
    Known, Leg, Origin, Reason, Trip, TripError, TripFault, day_of, depth_of, fish_of, hours_of, span_of,
    temp_of,
};

/// Longest answer that is read.
const ANSWER_MOST_BYTES: u64 = 64 * 1024;
/// Times that one question is asked.
const TRIES: usize = 5;

/// Who asks and who answers.
struct Dialogue<'a, I: BufRead, W: Write> {
    known: &'a Known<'a>,
    units: Units,
    input: &'a mut I,
    to: &'a mut W,
}

/// The trip of the answers.
///
/// # Errors
/// [`TripError::Faulty`] when the answers end too early, or one stays unreadable; [`Error::Output`].
pub(super) fn ask_trip(
    known: &Known<'_>,
    units: Units,
    input: &mut impl BufRead,
    to: &mut impl Write,
) -> Result<Trip, Error> {
    let mut dialogue = Dialogue {
        known,
        units,
        input,
        to,
    };
    let date = dialogue.needed("Day (2025-10-09, today, yesterday)", "a day", |t| {
        day_of(t, known)
    })?;
    let mut trip = Trip {
        date,
        origin: Origin::Told,
        note: None,
        legs: Vec::new(),
        marks: Vec::new(),
        readings: Vec::new(),
    };
    loop {
        dialogue.leg(&mut trip)?;
        if !dialogue.yes("Another leg? [no]")? {
            break;
        }
    }
    trip.note = dialogue.maybe("Note (Enter: none)", "a note", |t| Some(t.to_owned()))?;
    Ok(trip)
}

impl<I: BufRead, W: Write> Dialogue<'_, I, W> {
    /// The answer to a question; `None` at the end of the answers.
    fn answer(&mut self, question: &str) -> Result<Option<String>, Error> {
        let asked = write!(self.to, "{question}: ").and_then(|()| self.to.flush());
        asked.map_err(|source| Error::Output { source })?;
        let mut line = Vec::new();
        let read = std::io::Read::take(&mut *self.input, ANSWER_MOST_BYTES).read_until(b'\n', &mut line);
        match read {
            Ok(0) | Err(_) => Ok(None),
            Ok(_) => Ok(Some(String::from_utf8_lossy(&line).trim().to_owned())),
        }
    }

    /// An answer that may be empty, asked for again while it cannot be read.
    fn maybe<T>(
        &mut self,
        question: &str,
        wanted: &str,
        read: impl Fn(&str) -> Option<T>,
    ) -> Result<Option<T>, Error> {
        for _ in 0..TRIES {
            let Some(answer) = self.answer(question)? else {
                return Err(self.stopped(question, "the end of the answers", wanted));
            };
            if answer.is_empty() {
                return Ok(None);
            }
            if let Some(value) = read(&answer) {
                return Ok(Some(value));
            }
            self.say(&format!("found {answer:?}, wanted {wanted}"))?;
        }
        Err(self.stopped(question, &format!("no such answer in {TRIES} tries"), wanted))
    }

    /// An answer that there must be.
    fn needed<T>(
        &mut self,
        question: &str,
        wanted: &str,
        read: impl Fn(&str) -> Option<T>,
    ) -> Result<T, Error> {
        for _ in 0..TRIES {
            if let Some(value) = self.maybe(question, wanted, &read)? {
                return Ok(value);
            }
            self.say(&format!("wanted {wanted}: without it there is no trip"))?;
        }
        Err(self.stopped(question, &format!("no answer in {TRIES} tries"), wanted))
    }

    fn yes(&mut self, question: &str) -> Result<bool, Error> {
        let word = |t: &str| match t.to_ascii_lowercase().as_str() {
            "y" | "yes" => Some(true),
            "n" | "no" => Some(false),
            _ => None,
        };
        Ok(self.maybe(question, "yes or no", word)?.unwrap_or(false))
    }

    fn say(&mut self, text: &str) -> Result<(), Error> {
        writeln!(self.to, "  {text}").map_err(|source| Error::Output { source })
    }

    fn stopped(&self, question: &str, found: &str, wanted: &str) -> Error {
        let fault = TripFault::new(
            format!("the question {question:?}"),
            found,
            wanted,
            "begin again: nothing was kept",
        );
        TripError::Faulty {
            origin: "the answers".to_owned(),
            faults: vec![fault],
        }
        .into()
    }

    /// A figure with its unit, or in the unit of the question without one.
    fn with_unit(answer: &str, unit: &str) -> String {
        let compact: String = answer.split_whitespace().collect();
        match compact.parse::<f64>() {
            Ok(_) => format!("{compact}{unit}"),
            Err(_) => compact,
        }
    }

    fn leg(&mut self, trip: &mut Trip) -> Result<(), Error> {
        let known = self.known;
        let lake = known.lake;
        let places: Vec<&str> = lake
            .zones
            .iter()
            .map(|z| z.id.as_str())
            .chain(lake.stretches.iter().map(|s| s.id.as_str()))
            .collect();
        let list = places.join(", ");
        let place = self.needed(&format!("Where ({list})"), "one of these", |t| {
            places.iter().find(|p| **p == t).copied()
        })?;
        let stretch = lake.stretches.iter().find(|s| s.id == place);
        let zone = stretch.map_or_else(|| crate::lake::ZoneId::new(place), |s| s.zone.clone());
        let date = trip.date;
        let (start, duration_h) = self.hours(date)?;
        let mut leg = Leg {
            start,
            stretch: stretch.map(|s| s.id.clone()),
            ..Leg::of(zone, duration_h)
        };
        leg.rods = Some(self.needed("Rods in the water", "a whole number", |t| t.parse::<u32>().ok())?);
        let unit = match self.units {
            Units::Us => "ft",
            Units::Metric => "m",
        };
        let depth = |t: &str| depth_of(&Self::with_unit(t, unit));
        leg.depth_m = self.maybe(
            &format!("Depth fished, {unit} (Enter: not known)"),
            "a depth",
            depth,
        )?;
        for species in &lake.species {
            let id = species.id.clone();
            let question = format!("{id}: how many, or lengths such as 18in,20in! (0: none; ! went back)");
            let fish = self.needed(&question, "a number of fish, or a length a fish", |t| {
                fish_of(&id, &t.split_whitespace().collect::<String>()).ok()
            })?;
            leg.catches.extend(fish.into_iter().filter(|f| f.count > 0));
        }
        leg.catch_known = true;
        let reasons = Reason::WORDS.join(", ");
        leg.reason = self.maybe(
            &format!("Why there ({reasons}; Enter: not told)"),
            &reasons,
            Reason::from_word,
        )?;
        let unit = match self.units {
            Units::Us => "F",
            Units::Metric => "C",
        };
        let temp = |t: &str| temp_of(&Self::with_unit(t, unit));
        if let Some(temp_degc) = self.maybe(
            &format!("Surface temperature, {unit} (Enter: not read)"),
            "a temperature",
            temp,
        )? {
            trip.readings.push(Reading::of_surface(&leg, temp_degc));
        }
        trip.legs.push(leg);
        Ok(())
    }

    /// Begin, where it is told, and hours.
    fn hours(
        &mut self,
        date: chrono::NaiveDate,
    ) -> Result<(Option<chrono::DateTime<chrono::Utc>>, f64), Error> {
        let known = self.known;
        let wanted = "6:30-11:00 or 4.5 h, the end after the beginning, in hours that the clocks show once";
        self.needed("Hours (6:30-11:00, or 4.5 h)", wanted, |t| {
            let compact: String = t.split_whitespace().collect();
            if compact.contains(':') {
                return span_of(&compact, date, known)
                    .ok()
                    .map(|(start, hours_h)| (Some(start), hours_h));
            }
            hours_of(&compact)
                .filter(|hours_h| *hours_h > 0.0)
                .map(|hours_h| (None, hours_h))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::lakes;

    fn told(answers: &str) -> (Result<Trip, Error>, String) {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let lake = lakes::read(&file).unwrap();
        let known = Known {
            lake: &lake,
            species: &[],
            as_of: "2025-10-10T00:00:00Z".parse().unwrap(),
        };
        let mut said = Vec::new();
        let trip = ask_trip(&known, Units::Us, &mut answers.as_bytes(), &mut said);
        (trip, String::from_utf8(said).unwrap())
    }

    #[test]
    fn short_answers_make_a_trip_and_bad_ones_are_asked_for_again() {
        let answers =
            "tomorrow\ntoday\nsorel\nsorrel\n6:30-11:00\n2\n18\n18in,20in!\n0\nforecast\n64\nno\ncold wind\n";
        let (trip, said) = told(answers);
        let trip = trip.unwrap();
        let leg = &trip.legs[0];
        // 6:30 Pacific daylight time is 13:30 UTC; 18 ft are 5.4864 m by definition.
        assert_eq!(leg.start, Some("2025-10-09T13:30:00Z".parse().unwrap()));
        assert!((leg.duration_h - 4.5).abs() < 1e-12 && (leg.depth_m.unwrap() - 5.4864).abs() < 1e-12);
        assert_eq!(
            (leg.rods, leg.catches.len(), leg.catches[1].released),
            (Some(2), 2, Some(1))
        );
        assert_eq!(
            (leg.reason, trip.note.as_deref()),
            (Some(Reason::Forecast), Some("cold wind"))
        );
        assert_eq!(trip.readings.len(), 1);
        assert!(
            said.contains("found \"tomorrow\"") && said.contains("found \"sorel\""),
            "{said}"
        );
        // No fact is offered as a default.
        assert!(said.matches('[').count() == 1 && said.contains("[no]"), "{said}");
    }

    #[test]
    fn answers_that_stop_keep_nothing() {
        let (trip, _) = told("today\nsorrel\n6:30-11:00\n");
        let message = trip.unwrap_err().to_string();
        assert!(
            message.contains("the end of the answers") && message.contains("nothing was kept"),
            "{message}"
        );
    }
}
