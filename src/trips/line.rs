//! A trip in one line, for the practised: `2025-10-09 sorrel 6:30-11:00 2 rods 18 ft rainbow-trout 3 by forecast`.
//!
//! Day first; a zone or a stretch begins each leg, `then` parts two legs; all other words of a leg may stand in any order
//! (`docs/trip-log.md` lists them). Nothing is guessed: a word that is none of them is a fault, and all faults come at once.

use chrono::{DateTime, NaiveDate, Utc};

use super::check::{Known, is_word, short};
use super::error::TripFault;
use super::model::{Leg, Light, Mark, Origin, Reason, Trip};
use super::words::{Told, depth_of, fish_of, hours_of, mark_of, readings_of, speed_of, words_of};
use crate::lake::{SpeciesId, ZoneId};

/// A leg under way: its zone and hours may still come.
struct Draft {
    place: String,
    leg: Leg,
    has_zone: bool,
    has_hours: bool,
    blank: bool,
    marks: Vec<Mark>,
    readings: Vec<Told>,
}

impl Draft {
    fn new(number: usize) -> Draft {
        Draft {
            place: format!("leg {number}"),
            leg: Leg::of(ZoneId::new(""), 0.0),
            has_zone: false,
            has_hours: false,
            blank: false,
            marks: Vec::new(),
            readings: Vec::new(),
        }
    }
}

/// Reads a trip from its words.
struct Reader<'a> {
    known: &'a Known<'a>,
    words: Vec<String>,
    at: usize,
    date: NaiveDate,
    faults: Vec<TripFault>,
}

/// The trip of a line.
///
/// # Errors
/// Every fault, each with its word; figures are not yet checked ([`super::check_trip`]).
pub fn read_trip_line(line: &str, known: &Known<'_>) -> Result<Trip, Vec<TripFault>> {
    let (line, note) = cut_note(line);
    let words = words_of(line);
    let Some(date) = words.first().and_then(|word| day_of(word, known)) else {
        let found = words
            .first()
            .map_or("nothing".to_owned(), |w| format!("{:?}", short(w)));
        let wanted = "the day of the trip: 2025-10-09, today or yesterday";
        return Err(vec![TripFault::new(
            "word 1",
            found,
            wanted,
            "begin with the day",
        )]);
    };
    let mut reader = Reader {
        known,
        words,
        at: 1,
        date,
        faults: Vec::new(),
    };
    let mut drafts = vec![Draft::new(1)];
    while let Some(word) = reader.next() {
        match (word.as_str(), drafts.last_mut()) {
            ("then", _) => drafts.push(Draft::new(drafts.len() + 1)),
            (_, Some(draft)) => reader.word(&word, draft),
            (_, None) => {}
        }
    }
    let mut trip = Trip {
        date,
        origin: Origin::Told,
        note,
        legs: Vec::new(),
        marks: Vec::new(),
        readings: Vec::new(),
    };
    for draft in drafts {
        reader.close(draft, &mut trip);
    }
    match reader.faults.is_empty() {
        true => Ok(trip.tidied()),
        false => Err(reader.faults),
    }
}

/// Line and note: the note is all that follows the word `note`.
fn cut_note(line: &str) -> (&str, Option<String>) {
    let mut from = 0;
    while let Some(at) = line[from..].find("note") {
        let at = from + at;
        let alone = line[..at].chars().next_back().is_none_or(char::is_whitespace)
            && line[at + 4..].chars().next().is_none_or(char::is_whitespace);
        if alone {
            let note = line[at + 4..].trim();
            return (&line[..at], (!note.is_empty()).then(|| note.to_owned()));
        }
        from = at + 4;
    }
    (line, None)
}

/// The day of a word.
pub fn day_of(word: &str, known: &Known<'_>) -> Option<NaiveDate> {
    let today = known.clock().civil_day(known.as_of);
    match word {
        "today" => Some(today),
        "yesterday" => today.pred_opt(),
        other => other.parse().ok(),
    }
}

/// Begin and hours of `6:30-11:00` on a day, as the lake's clocks show them; over midnight where the end is the earlier.
///
/// # Errors
/// What was found, what was wanted, how to mend it.
pub fn span_of(text: &str, date: NaiveDate, known: &Known<'_>) -> Result<(DateTime<Utc>, f64), [String; 3]> {
    const NIGHT_MOST_H: f64 = 12.0;
    let fault = |found: String, wanted: &str, mend: &str| [found, wanted.to_owned(), mend.to_owned()];
    let wanted = "begin and end such as 6:30-11:00";
    let halves = text
        .split_once('-')
        .and_then(|(a, b)| Some((clock_of(a)?, clock_of(b)?)));
    let Some((from, to)) = halves else {
        return Err(fault(
            format!("{:?}", short(text)),
            wanted,
            "write hours and minutes of the lake's clocks",
        ));
    };
    let clock = known.clock();
    let instant = |day: NaiveDate, (hour, minute): (u32, u32)| {
        let civil = format!("{day}T{hour:02}:{minute:02}");
        clock.read_as_of(&civil).map_err(|error| {
            let found = format!("{text:?}: {error}");
            fault(
                found,
                "hours that the lake's clocks show once that day",
                "give the hours fished instead, such as 4.5 h",
            )
        })
    };
    let start = instant(date, from)?;
    let next_day = to <= from;
    let day = if next_day {
        date.succ_opt().unwrap_or(date)
    } else {
        date
    };
    let end = instant(day, to)?;
    let hours_h = (end - start).num_seconds() as f64 / 3600.0;
    if next_day && hours_h > NIGHT_MOST_H {
        let found = format!("{text:?}, which ends before it begins");
        return Err(fault(
            found,
            "an end after the beginning",
            "turn the two round, or correct one",
        ));
    }
    Ok((start, hours_h))
}

/// Hour and minute of `6:30`.
fn clock_of(text: &str) -> Option<(u32, u32)> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |t: &str| (1..=2).contains(&t.len()) && t.chars().all(|c| c.is_ascii_digit());
    if !digits(hour) || minute.len() != 2 || !digits(minute) {
        return None;
    }
    let (hour, minute): (u32, u32) = (hour.parse().ok()?, minute.parse().ok()?);
    (hour < 24 && minute < 60).then_some((hour, minute))
}

/// The species that a word means: its id, or the beginning of one alone.
pub fn species_of(word: &str, known: &Known<'_>) -> Option<SpeciesId> {
    const LEAST: usize = 4;
    let ids = known.species_ids();
    if ids.contains(&word) {
        return Some(SpeciesId::new(word));
    }
    let mut meant = ids
        .iter()
        .filter(|id| word.len() >= LEAST && id.starts_with(word));
    match (meant.next(), meant.next()) {
        (Some(id), None) => Some(SpeciesId::new(*id)),
        _ => None,
    }
}

impl Reader<'_> {
    fn next(&mut self) -> Option<String> {
        let word = self.words.get(self.at)?.clone();
        self.at += 1;
        Some(word)
    }

    fn fault(&mut self, found: impl Into<String>, wanted: impl Into<String>, mend: impl Into<String>) {
        let place = format!("word {}", self.at);
        self.faults.push(TripFault::new(place, found, wanted, mend));
    }

    /// The next word where it is one of these.
    fn next_of<T>(&mut self, words: &[&str], of: impl Fn(&str) -> Option<T>) -> Option<T> {
        let next = self.next().unwrap_or_default();
        let value = of(&next);
        if value.is_none() {
            let mend = "correct the word";
            self.fault(
                format!("{:?}", short(&next)),
                format!("one of {}", words.join(", ")),
                mend,
            );
        }
        value
    }

    fn word(&mut self, word: &str, draft: &mut Draft) {
        let lake = self.known.lake;
        if let Some(zone) = lake.zones.iter().find(|z| z.id.as_str() == word) {
            return self.place(word, zone.id.clone(), None, draft);
        }
        if let Some(stretch) = lake.stretches.iter().find(|s| s.id == word) {
            return self.place(word, stretch.zone.clone(), Some(stretch.id.clone()), draft);
        }
        if let Some(species) = species_of(word, self.known) {
            return self.fish(species, draft);
        }
        match word {
            "blank" => draft.blank = true,
            "by" => draft.leg.reason = self.next_of(Reason::WORDS, Reason::from_word),
            "light" => draft.leg.light = self.next_of(Light::WORDS, Light::from_word),
            "on" => {
                let kind = |word: &str| is_word(word).then(|| word.to_owned());
                draft.leg.presentation = self.next_of(&["spoon, plug, fly, or another kind of tackle"], kind);
            }
            "surface" | "secchi" | "cast" | "probe" => {
                let next = self.next().unwrap_or_default();
                match readings_of(word, &next) {
                    Ok(readings) => draft.readings.extend(readings),
                    Err(wanted) => self.fault(
                        format!("{:?}", short(&next)),
                        wanted,
                        "write figures with their units",
                    ),
                }
            }
            _ => self.figure(word, draft),
        }
    }

    fn place(&mut self, word: &str, zone: ZoneId, stretch: Option<String>, draft: &mut Draft) {
        let same =
            draft.has_zone && draft.leg.zone == zone && draft.leg.stretch.is_none() && stretch.is_some();
        if draft.has_zone && !same {
            let found = format!("{word:?} after {}", draft.leg.zone);
            return self.fault(found, "one place a leg", "write `then` between two legs");
        }
        (draft.has_zone, draft.leg.zone, draft.leg.stretch) = (true, zone, stretch);
    }

    fn fish(&mut self, species: SpeciesId, draft: &mut Draft) {
        let next = self.next().unwrap_or_default();
        match fish_of(&species, &next) {
            Ok(mut fish) => {
                if self.words.get(self.at).is_some_and(|w| w == "released") {
                    self.at += 1;
                    let number = self.next_of(&["a whole number"], |w| w.parse::<u32>().ok());
                    match (fish.as_mut_slice(), number) {
                        ([one], Some(number)) if one.length_m.is_none() => one.released = Some(number),
                        (_, Some(_)) => self.fault(
                            "released after lengths",
                            "a mark with each fish",
                            "write 18in! for a fish that went back",
                        ),
                        _ => {}
                    }
                }
                draft.leg.catches.extend(fish);
            }
            Err(wanted) => {
                self.fault(
                    format!("{:?} after {species}", short(&next)),
                    wanted,
                    "write how many, or the length of each fish",
                );
            }
        }
    }

    /// A word that is a figure: hours, rods, depth, speed, or a mark.
    fn figure(&mut self, word: &str, draft: &mut Draft) {
        if let Some(mark) = mark_of(word) {
            return draft.marks.push(mark);
        }
        if word.contains(':') && word.contains('-') {
            return match span_of(word, self.date, self.known) {
                Ok((start, hours_h)) => {
                    self.once(draft.has_hours, word, "hours");
                    (draft.has_hours, draft.leg.start, draft.leg.duration_h) = (true, Some(start), hours_h);
                }
                Err([found, wanted, mend]) => self.fault(found, wanted, mend),
            };
        }
        if let Some(hours_h) = hours_of(word) {
            self.once(draft.has_hours, word, "hours");
            (draft.has_hours, draft.leg.duration_h) = (true, hours_h);
        } else if let Some(rods) = word
            .strip_suffix("rods")
            .or(word.strip_suffix("rod"))
            .and_then(|n| n.parse().ok())
        {
            self.once(draft.leg.rods.is_some(), word, "rods");
            draft.leg.rods = Some(rods);
        } else if let Some(depth_m) = depth_of(word) {
            self.once(draft.leg.depth_m.is_some(), word, "depth");
            draft.leg.depth_m = Some(depth_m);
        } else if let Some(speed_m_s) = speed_of(word) {
            self.once(draft.leg.speed_m_s.is_some(), word, "speed");
            draft.leg.speed_m_s = Some(speed_m_s);
        } else {
            self.unknown(word);
        }
    }

    fn once(&mut self, is_there: bool, word: &str, what: &str) {
        if is_there {
            self.fault(
                format!("{what} again: {word:?}"),
                "each once a leg",
                "remove one, or write `then` between two legs",
            );
        }
    }

    fn unknown(&mut self, word: &str) {
        let found = format!("{:?}", short(word));
        if word.parse::<f64>().is_ok() {
            let wanted = "a figure with its unit: 4.5h, 2rods, 18ft, 5.5m, 2.2mph";
            return self.fault(
                found,
                wanted,
                "write the unit right after the figure, or one blank off",
            );
        }
        let wanted = format!(
            "a zone ({}), a stretch, a species ({}), a figure with its unit, or one of then, blank, by, on, light, surface, \
             secchi, cast, probe, note",
            self.known.zone_words(),
            self.known.species_ids().join(", ")
        );
        self.fault(
            found,
            wanted,
            "correct the word; what is none of these belongs after `note`",
        );
    }

    /// Puts a leg into the trip.
    fn close(&mut self, draft: Draft, trip: &mut Trip) {
        let Draft {
            place,
            mut leg,
            has_zone,
            has_hours,
            blank,
            marks,
            readings,
        } = draft;
        let mut fault = |found: &str, wanted: &str, mend: &str| {
            self.faults
                .push(TripFault::new(place.as_str(), found, wanted, mend));
        };
        if !has_zone {
            let wanted = format!("one of {}", self.known.zone_words());
            fault("no zone", &wanted, "write where you were");
        }
        let only_water =
            !has_hours && (!marks.is_empty() || !readings.is_empty()) && leg.catches.is_empty() && !blank;
        if !has_hours && !only_water {
            fault(
                "no hours",
                "begin and end such as 6:30-11:00, or hours such as 4.5h",
                "write how long you fished there",
            );
        }
        if blank && leg.catches.iter().any(|fish| fish.count > 0) {
            fault("blank and fish in one leg", "one of the two", "remove one");
        }
        let middle = leg.middle();
        trip.marks.extend(marks.into_iter().map(|mark| Mark {
            zone: leg.zone.clone(),
            time: middle,
            ..mark
        }));
        trip.readings
            .extend(readings.into_iter().map(|told| told.at(&leg.zone, middle)));
        leg.catch_known = blank || !leg.catches.is_empty();
        if !only_water {
            trip.legs.push(leg);
        }
    }
}
