//! What a trip must be before the log takes it: every fault at once.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::error::TripFault;
use super::model::{Catch, Leg, Mark, Reading, Trip};
use crate::clock::LakeClock;
use crate::lake::{Lake, ZoneId};

/// Longest leg (project choice): nobody fishes longer without a break.
const LEG_MOST_H: f64 = 24.0;
/// Most rods in one boat (project choice).
const RODS_MOST: u32 = 20;
/// Most fish in one entry (project choice): more is a slip.
const FISH_MOST: u32 = 1000;
/// Deepest that is believed, m; the deepest lake has about 1640 m (from memory).
const DEPTH_MOST_M: f64 = 2000.0;
/// Fastest that is believed, m/s: about 67 mph.
const SPEED_MOST_M_S: f64 = 30.0;
/// Longest fish, m.
const LENGTH_MOST_M: f64 = 3.0;
/// Temperatures, degC, and oxygen, mg/L, that lake water can have (project choice, wide).
const TEMPS_DEGC: (f64, f64) = (-1.0, 45.0);
const OXYGEN_MG_L: (f64, f64) = (0.0, 40.0);
/// Standard errors that are believed, in either unit (project choice).
const ERRORS: (f64, f64) = (0.001, 20.0);
/// Times are kept to the second, hours more finely: so much two legs may seem to overlap.
const OVERLAP_LET_PASS_S: i64 = 2;
/// First day that is believed: before it nobody logged a sonar.
const FIRST_DAY: (i32, u32, u32) = (1950, 1, 1);
/// Longest note, characters (project choice).
const NOTE_MOST: usize = 10_000;

/// What trips are checked against.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The lake.
    pub lake: &'a Lake,
    /// Ids of the species that there are files for, beside those of the lake.
    pub species: &'a [&'a str],
    /// The clock of the run: nothing later is believed.
    pub as_of: DateTime<Utc>,
}

impl Known<'_> {
    /// The lake's clock.
    pub fn clock(&self) -> LakeClock {
        LakeClock::new(self.lake.time_zone)
    }

    /// Every id of a species that may be written.
    pub fn species_ids(&self) -> Vec<&str> {
        let mut ids: Vec<&str> = self.lake.species.iter().map(|s| s.id.as_str()).collect();
        ids.extend(
            self.species
                .iter()
                .filter(|id| !ids.contains(*id))
                .copied()
                .collect::<Vec<_>>(),
        );
        ids
    }

    /// Ids of the zones, as words.
    pub fn zone_words(&self) -> String {
        let ids: Vec<&str> = self.lake.zones.iter().map(|z| z.id.as_str()).collect();
        ids.join(", ")
    }
}

/// Every fault of a trip; `place` says where it was told.
pub fn check_trip(trip: &Trip, known: &Known<'_>, place: &str) -> Vec<TripFault> {
    let mut check = Check {
        known,
        place: place.to_owned(),
        faults: Vec::new(),
    };
    check.day(trip.date);
    if trip.legs.is_empty() && trip.readings.is_empty() && trip.marks.is_empty() {
        check.fault(
            "a trip without legs, readings or marks",
            "one of them",
            "say at least where and how long you fished",
        );
    }
    if trip.note.as_ref().is_some_and(|n| n.chars().count() > NOTE_MOST) {
        check.fault("a note of more than 10,000 characters", "a shorter one", "cut it");
    }
    for (i, leg) in trip.legs.iter().enumerate() {
        check.at(place, &format!("leg {}", i + 1));
        check.leg(leg, trip.date);
    }
    check.overlaps(&trip.legs, place);
    for (i, mark) in trip.marks.iter().enumerate() {
        check.at(place, &format!("mark {}", i + 1));
        check.mark(mark, trip.date);
    }
    for (i, reading) in trip.readings.iter().enumerate() {
        check.at(place, &format!("reading {}", i + 1));
        check.reading(reading, trip.date);
    }
    check.faults
}

struct Check<'a> {
    known: &'a Known<'a>,
    place: String,
    faults: Vec<TripFault>,
}

impl Check<'_> {
    fn at(&mut self, place: &str, part: &str) {
        self.place = format!("{place}, {part}");
    }

    fn fault(&mut self, found: impl Into<String>, wanted: impl Into<String>, mend: impl Into<String>) {
        let fault = TripFault::new(self.place.as_str(), found, wanted, mend);
        self.faults.push(fault);
    }

    fn day(&mut self, date: NaiveDate) {
        let today = self.known.clock().civil_day(self.known.as_of);
        let (year, month, day) = FIRST_DAY;
        let first = NaiveDate::from_ymd_opt(year, month, day).unwrap_or(NaiveDate::MIN);
        if date > today {
            let wanted = format!("a day up to {today}, that of the clock at the lake");
            self.fault(
                format!("the day {date}, which lies ahead"),
                wanted,
                "correct the date",
            );
        } else if date < first {
            self.fault(
                format!("the day {date}"),
                "a day of your own time",
                "correct the date",
            );
        }
    }

    fn zone(&mut self, zone: &ZoneId) {
        if self.known.lake.zone(zone).is_none() {
            let wanted = format!("a zone of the lake: {}", self.known.zone_words());
            let mend = "correct the word, or add the zone to the lake file";
            self.fault(format!("zone {:?}", short(zone.as_str())), wanted, mend);
        }
    }

    /// A number within limits, which must be there as one.
    fn number(&mut self, what: &str, value: f64, (low, high): (f64, f64), unit: &str) {
        if !(value >= low && value <= high) {
            let wanted = format!("{low} to {high} {unit}");
            self.fault(
                format!("{what} of {value} {unit}"),
                wanted,
                "correct the figure or its unit",
            );
        }
    }

    fn known_number(&mut self, what: &str, value: Option<f64>, limits: (f64, f64), unit: &str) {
        if let Some(value) = value {
            self.number(what, value, limits, unit);
        }
    }

    /// An instant of the trip: not ahead, and on its day or the one after.
    fn instant(&mut self, what: &str, time: DateTime<Utc>, date: NaiveDate) {
        if time > self.known.as_of {
            let wanted = format!(
                "one up to {}, the clock of the run",
                self.known.as_of.to_rfc3339()
            );
            self.fault(
                format!("{what} {}, which lies ahead", time.to_rfc3339()),
                wanted,
                "correct day or hour",
            );
            return;
        }
        let day = self.known.clock().civil_day(time);
        if day < date || day > date + Duration::days(1) {
            let zone = self.known.lake.time_zone.name();
            self.fault(
                format!(
                    "{what} {}, which is {day} at the lake ({zone})",
                    time.to_rfc3339()
                ),
                format!("one on {date} or in the night after it"),
                "write times with their offset, or as the lake's clocks show them, and check the date",
            );
        }
    }

    fn leg(&mut self, leg: &Leg, date: NaiveDate) {
        self.zone(&leg.zone);
        if let Some(stretch) = &leg.stretch {
            self.stretch(stretch, &leg.zone);
        }
        if !(leg.duration_h > 0.0 && leg.duration_h <= LEG_MOST_H) {
            let wanted = format!("more than 0 and at most {LEG_MOST_H} hours");
            self.fault(
                format!("{} hours", leg.duration_h),
                wanted,
                "correct the hours, or begin before you end",
            );
        }
        if let Some(start) = leg.start {
            self.instant("a start at", start, date);
            if let Some(end) = leg
                .end()
                .filter(|end| start <= self.known.as_of && *end > self.known.as_of)
            {
                let wanted = format!(
                    "one up to {}, the clock of the run",
                    self.known.as_of.to_rfc3339()
                );
                self.fault(
                    format!("an end at {}, which lies ahead", end.to_rfc3339()),
                    wanted,
                    "log it when it is over",
                );
            }
        }
        if leg.rods.is_some_and(|rods| rods == 0 || rods > RODS_MOST) {
            let wanted = format!("1 to {RODS_MOST}");
            self.fault(
                format!("{} rods", leg.rods.unwrap_or_default()),
                wanted,
                "correct the number of rods",
            );
        }
        self.known_number("a depth", leg.depth_m, (0.0, DEPTH_MOST_M), "m");
        self.known_number("a speed", leg.speed_m_s, (0.0, SPEED_MOST_M_S), "m/s");
        self.known_number("a drift", leg.drift_m_s, (0.0, SPEED_MOST_M_S), "m/s");
        self.known_number("a direction of drift", leg.drift_deg, (0.0, 360.0), "degrees");
        if let Some(presentation) = &leg.presentation
            && !is_word(presentation)
        {
            let mend = "write a kind of tackle as one word, such as spoon or blade-and-bait";
            self.fault(
                format!("presentation {:?}", short(presentation)),
                "letters, digits and hyphens",
                mend,
            );
        }
        if !leg.catches.is_empty() && !leg.catch_known {
            self.fault(
                "fish in a leg whose catch is not known",
                "one of the two",
                "set catch_known to true",
            );
        }
        for fish in &leg.catches {
            self.fish(fish);
        }
    }

    fn stretch(&mut self, stretch: &str, zone: &ZoneId) {
        let lake = self.known.lake;
        let of_zone = |id: &str| lake.stretches.iter().find(|s| s.id == id).map(|s| s.zone.clone());
        match of_zone(stretch) {
            Some(home) if &home == zone => {}
            Some(home) => self.fault(
                format!("stretch {stretch} in zone {}", short(zone.as_str())),
                format!("zone {home}, which holds it"),
                "correct zone or stretch",
            ),
            None => {
                let ids: Vec<&str> = lake.stretches.iter().map(|s| s.id.as_str()).collect();
                let wanted = format!("a stretch of the lake: {}", ids.join(", "));
                self.fault(
                    format!("stretch {:?}", short(stretch)),
                    wanted,
                    "correct the word, or add it to the lake file",
                );
            }
        }
    }

    fn fish(&mut self, fish: &Catch) {
        let ids = self.known.species_ids();
        if !ids.contains(&fish.species.as_str()) {
            let wanted = format!("one of {}", ids.join(", "));
            let mend = "correct the word; fish of other species belong into the note";
            self.fault(
                format!("species {:?}", short(fish.species.as_str())),
                wanted,
                mend,
            );
        }
        if fish.count > FISH_MOST {
            self.fault(
                format!("{} fish in one entry", fish.count),
                format!("at most {FISH_MOST}"),
                "correct the number",
            );
        }
        if fish.released.is_some_and(|released| released > fish.count) {
            let found = format!("{} of {} released", fish.released.unwrap_or_default(), fish.count);
            self.fault(found, "no more than were caught", "correct one of the two");
        }
        self.known_number("a length", fish.length_m, (0.01, LENGTH_MOST_M), "m");
        self.known_number("a depth", fish.depth_m, (0.0, DEPTH_MOST_M), "m");
    }

    /// Two legs of one trip at the same time.
    fn overlaps(&mut self, legs: &[Leg], place: &str) {
        let mut spans: Vec<(DateTime<Utc>, DateTime<Utc>, usize)> = legs
            .iter()
            .enumerate()
            .filter_map(|(i, leg)| Some((leg.start?, leg.end()?, i + 1)))
            .collect();
        spans.sort();
        for pair in spans.windows(2) {
            if pair[1].0 + Duration::seconds(OVERLAP_LET_PASS_S) < pair[0].1 {
                self.at(place, &format!("leg {}", pair[1].2));
                let found = format!(
                    "a start at {} before leg {} ends",
                    pair[1].0.to_rfc3339(),
                    pair[0].2
                );
                self.fault(
                    found,
                    "legs one after the other",
                    "correct the hours: a boat is at one place",
                );
            }
        }
    }

    fn mark(&mut self, mark: &Mark, date: NaiveDate) {
        self.zone(&mark.zone);
        if let Some(time) = mark.time {
            self.instant("a mark at", time, date);
        }
        self.number("a depth", mark.depth_m, (0.0, DEPTH_MOST_M), "m");
        if mark.count.is_some_and(|count| count == 0 || count > FISH_MOST) {
            let wanted = format!("1 to {FISH_MOST}");
            self.fault(
                format!("{} marks", mark.count.unwrap_or_default()),
                wanted,
                "leave the mark out, or correct the number",
            );
        }
    }

    fn reading(&mut self, reading: &Reading, date: NaiveDate) {
        self.zone(&reading.zone);
        if let Some(time) = reading.time {
            self.instant("a reading at", time, date);
        }
        self.number("a depth", reading.depth_m, (0.0, DEPTH_MOST_M), "m");
        self.known_number("a temperature", reading.temp_degc, TEMPS_DEGC, "degC");
        self.known_number("oxygen", reading.oxygen_mg_l, OXYGEN_MG_L, "mg/L");
        self.known_number("a Secchi depth", reading.secchi_m, (0.05, 80.0), "m");
        self.known_number(
            "an error of the temperature",
            reading.temp_error_degc,
            ERRORS,
            "degC",
        );
        self.known_number(
            "an error of the oxygen",
            reading.oxygen_error_mg_l,
            ERRORS,
            "mg/L",
        );
        if reading.temp_degc.is_none() && reading.oxygen_mg_l.is_none() && reading.secchi_m.is_none() {
            self.fault(
                "a reading of nothing",
                "temperature, oxygen or Secchi depth",
                "write one of them, or leave the reading out",
            );
        }
        let idle = (reading.temp_error_degc.is_some() && reading.temp_degc.is_none())
            || (reading.oxygen_error_mg_l.is_some() && reading.oxygen_mg_l.is_none());
        if idle {
            self.fault(
                "the error of a value that is not there",
                "both or neither",
                "write the value, or leave its error out",
            );
        }
    }
}

/// Lower-case letters, digits and hyphens, as ids are.
pub(super) fn is_word(text: &str) -> bool {
    let sound = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    !text.is_empty() && text.len() <= 64 && text.chars().all(sound) && !text.starts_with('-')
}

/// A text for a message.
pub(super) fn short(text: &str) -> String {
    const MOST: usize = 60;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}
