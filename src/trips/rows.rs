//! Trips as the rows of one table, and back: what CSV and Parquet hold.
//!
//! A row is a trip, a leg, a catch, a mark or a reading, as its first cell says; legs follow their trip and catches their
//! leg. A last row `end` counts the others, so that a table cut short is known for one.

use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};

use super::check::short;
use super::error::TripFault;
use super::model::{Catch, Instrument, Leg, Light, Mark, MarkKind, Origin, Reading, Reason, Trip};
use crate::lake::{SpeciesId, ZoneId};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Text.
    Text,
    /// A number.
    Number,
}

use Holds::{Number, Text};

/// The columns.
#[rustfmt::skip]
pub const COLUMNS: [(&str, Holds); 28] = [
    ("record", Text), ("trip", Number), ("leg", Number), ("date", Text), ("zone", Text), ("stretch", Text), ("time", Text),
    ("duration_h", Number), ("rods", Number), ("depth_m", Number), ("speed_m_s", Number), ("drift_m_s", Number),
    ("drift_deg", Number), ("presentation", Text), ("reason", Text), ("light", Text), ("catch_known", Text),
    ("species", Text), ("count", Number), ("released", Number), ("length_m", Number), ("kind", Text),
    ("temp_degc", Number), ("temp_error_degc", Number), ("oxygen_mg_l", Number), ("oxygen_error_mg_l", Number),
    ("secchi_m", Number), ("note", Text),
];

/// A row: a text a column, numbers as the shortest text that gives them back.
pub type Row = [Option<String>; COLUMNS.len()];

/// A trip and where it was told.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Where.
    pub place: String,
    /// The trip.
    pub trip: Trip,
}

/// Place of a column.
fn column(name: &str) -> usize {
    let found = COLUMNS.iter().position(|(column, _)| *column == name);
    found.expect("only names of the list above are asked for")
}

struct Writing(Row);

impl Writing {
    fn of(record: &str, trip: usize) -> Writing {
        let mut row = Writing(std::array::from_fn(|_| None));
        row.text("record", Some(record));
        row.number("trip", Some(trip as f64));
        row
    }

    fn text(&mut self, name: &str, text: Option<&str>) {
        self.0[column(name)] = text.map(str::to_owned);
    }

    fn number(&mut self, name: &str, value: Option<f64>) {
        self.0[column(name)] = value.map(|v| v.to_string());
    }

    fn time(&mut self, time: Option<DateTime<Utc>>) {
        self.0[column("time")] = time.map(|t| t.to_rfc3339_opts(SecondsFormat::AutoSi, true));
    }
}

/// The rows of trips, with the row `end`.
pub fn rows_of(trips: &[Trip]) -> Vec<Row> {
    let mut rows = Vec::new();
    for (i, trip) in trips.iter().enumerate() {
        let number = i + 1;
        let mut row = Writing::of("trip", number);
        row.text("date", Some(&trip.date.to_string()));
        row.text("kind", Some(trip.origin.word()));
        row.text("note", trip.note.as_deref());
        rows.push(row.0);
        for (j, leg) in trip.legs.iter().enumerate() {
            rows.push(leg_row(number, j + 1, leg));
            rows.extend(leg.catches.iter().map(|fish| fish_row(number, j + 1, fish)));
        }
        for mark in &trip.marks {
            let mut row = Writing::of("mark", number);
            row.text("zone", Some(mark.zone.as_str()));
            row.time(mark.time);
            row.text("kind", Some(mark.kind.word()));
            row.number("depth_m", Some(mark.depth_m));
            row.number("count", mark.count.map(f64::from));
            rows.push(row.0);
        }
        rows.extend(trip.readings.iter().map(|reading| reading_row(number, reading)));
    }
    let mut end = Writing(std::array::from_fn(|_| None));
    end.text("record", Some("end"));
    end.number("count", Some(rows.len() as f64));
    rows.push(end.0);
    rows
}

fn leg_row(trip: usize, number: usize, leg: &Leg) -> Row {
    let mut row = Writing::of("leg", trip);
    row.number("leg", Some(number as f64));
    row.text("zone", Some(leg.zone.as_str()));
    row.text("stretch", leg.stretch.as_deref());
    row.time(leg.start);
    row.number("duration_h", Some(leg.duration_h));
    row.number("rods", leg.rods.map(f64::from));
    row.number("depth_m", leg.depth_m);
    row.number("speed_m_s", leg.speed_m_s);
    row.number("drift_m_s", leg.drift_m_s);
    row.number("drift_deg", leg.drift_deg);
    row.text("presentation", leg.presentation.as_deref());
    row.text("reason", leg.reason.map(Reason::word));
    row.text("light", leg.light.map(Light::word));
    row.text("catch_known", Some(if leg.catch_known { "yes" } else { "no" }));
    row.0
}

fn fish_row(trip: usize, leg: usize, fish: &Catch) -> Row {
    let mut row = Writing::of("catch", trip);
    row.number("leg", Some(leg as f64));
    row.text("species", Some(fish.species.as_str()));
    row.number("count", Some(f64::from(fish.count)));
    row.number("released", fish.released.map(f64::from));
    row.number("length_m", fish.length_m);
    row.number("depth_m", fish.depth_m);
    row.0
}

fn reading_row(trip: usize, reading: &Reading) -> Row {
    let mut row = Writing::of("reading", trip);
    row.text("zone", Some(reading.zone.as_str()));
    row.time(reading.time);
    row.text("kind", Some(reading.instrument.word()));
    row.number("depth_m", Some(reading.depth_m));
    row.number("temp_degc", reading.temp_degc);
    row.number("temp_error_degc", reading.temp_error_degc);
    row.number("oxygen_mg_l", reading.oxygen_mg_l);
    row.number("oxygen_error_mg_l", reading.oxygen_error_mg_l);
    row.number("secchi_m", reading.secchi_m);
    row.0
}

/// A row with its place, being read; its faults go to the list.
struct Reader<'a> {
    place: &'a str,
    row: &'a Row,
    faults: &'a mut Vec<TripFault>,
}

impl Reader<'_> {
    fn fault(&mut self, name: &str, found: &str, wanted: &str) {
        let place = format!("{}, column {name}", self.place);
        let found = if found.is_empty() {
            "nothing".to_owned()
        } else {
            format!("{:?}", short(found))
        };
        let fault = TripFault::new(place, found, wanted, "correct the cell");
        self.faults.push(fault);
    }

    fn text(&self, name: &str) -> Option<String> {
        self.row[column(name)].clone()
    }

    fn needed<T>(&mut self, name: &str, wanted: &str, value: Option<T>) -> Option<T> {
        if value.is_none() && self.text(name).is_none() {
            self.fault(name, "", wanted);
        }
        value
    }

    fn parsed<T>(&mut self, name: &str, wanted: &str, parse: impl Fn(&str) -> Option<T>) -> Option<T> {
        let text = self.text(name)?;
        let value = parse(&text);
        if value.is_none() {
            self.fault(name, &text, wanted);
        }
        value
    }

    fn number(&mut self, name: &str) -> Option<f64> {
        self.parsed(name, "a number", |t| {
            t.parse().ok().filter(|v: &f64| v.is_finite())
        })
    }

    fn count(&mut self, name: &str) -> Option<u32> {
        self.parsed(name, "a whole number", |t| t.parse().ok())
    }

    fn time(&mut self) -> Option<DateTime<Utc>> {
        let read = |t: &str| {
            DateTime::parse_from_rfc3339(t)
                .ok()
                .map(|t| t.with_timezone(&Utc))
        };
        self.parsed("time", "a time such as 2025-10-09T13:30:00Z", read)
    }

    fn word<T>(&mut self, name: &str, words: &[&str], of: impl Fn(&str) -> Option<T>) -> Option<T> {
        let wanted = format!("one of {}", words.join(", "));
        self.parsed(name, &wanted, of)
    }

    fn zone(&mut self) -> Option<ZoneId> {
        let zone = self.text("zone").map(ZoneId::new);
        self.needed("zone", "the id of a zone", zone)
    }

    fn needed_number(&mut self, name: &str) -> Option<f64> {
        let value = self.number(name);
        self.needed(name, "a number", value)
    }
}

/// The trips of rows.
///
/// # Errors
/// Every fault of the table; values are not yet checked against a lake.
pub fn trips_of(rows: &[(String, Row)]) -> Result<Vec<Placed>, Vec<TripFault>> {
    let mut faults = Vec::new();
    let mut trips: Vec<Placed> = Vec::new();
    let mut ended = false;
    for (i, (place, row)) in rows.iter().enumerate() {
        let mut reader = Reader {
            place,
            row,
            faults: &mut faults,
        };
        if ended {
            reader.fault(
                "record",
                "a row after the last one",
                "nothing after the row \"end\"",
            );
            break;
        }
        let record = reader.text("record").unwrap_or_default();
        match record.as_str() {
            "end" => {
                ended = true;
                let count = reader.count("count");
                if count.is_some_and(|count| count as usize != i) {
                    let found = format!("{} of {} rows", i, count.unwrap_or_default());
                    reader.fault(
                        "count",
                        &found,
                        "as many rows as the last one counts; export the table again",
                    );
                }
            }
            "trip" => trips.extend(trip_of(&mut reader).map(|trip| Placed {
                place: place.clone(),
                trip,
            })),
            "leg" | "catch" | "mark" | "reading" => match trips.last_mut() {
                Some(Placed { trip, .. }) => part_of(&mut reader, &record, trip),
                // The trip before it has its fault already.
                None if !reader.faults.is_empty() => {}
                None => reader.fault("record", &record, "a trip before its parts"),
            },
            other => {
                let other = other.to_owned();
                reader.fault("record", &other, "trip, leg, catch, mark, reading or end");
            }
        }
    }
    if !ended {
        let place = rows
            .last()
            .map_or("the table".to_owned(), |(place, _)| format!("after {place}"));
        faults.push(TripFault::new(
            place,
            "the end of the file",
            "the row \"end\", which closes a table",
            "the file is cut short: export it again",
        ));
    }
    if faults.is_empty() { Ok(trips) } else { Err(faults) }
}

fn trip_of(reader: &mut Reader<'_>) -> Option<Trip> {
    let date: Option<NaiveDate> = reader.parsed("date", "a day such as 2025-10-09", |t| t.parse().ok());
    let date = reader.needed("date", "a day such as 2025-10-09", date);
    let origin = reader.word("kind", Origin::WORDS, Origin::from_word);
    let origin = reader.needed("kind", "where the trip came from", origin);
    Some(Trip {
        date: date?,
        origin: origin?,
        note: reader.text("note"),
        legs: Vec::new(),
        marks: Vec::new(),
        readings: Vec::new(),
    })
}

fn part_of(reader: &mut Reader<'_>, record: &str, trip: &mut Trip) {
    match record {
        "leg" => trip.legs.extend(leg_of(reader)),
        "mark" => trip.marks.extend(mark_of(reader)),
        "reading" => trip.readings.extend(reading_of(reader)),
        _ => {
            let fish = fish_of(reader);
            match trip.legs.last_mut() {
                Some(leg) => leg.catches.extend(fish),
                None if !reader.faults.is_empty() => {}
                None => reader.fault("record", record, "a leg before its fish"),
            }
        }
    }
}

fn leg_of(reader: &mut Reader<'_>) -> Option<Leg> {
    let (zone, duration_h) = (reader.zone(), reader.needed_number("duration_h"));
    let known = reader.word("catch_known", &["yes", "no"], |t| match t {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    });
    let catch_known = reader.needed("catch_known", "yes or no", known);
    Some(Leg {
        stretch: reader.text("stretch"),
        start: reader.time(),
        rods: reader.count("rods"),
        depth_m: reader.number("depth_m"),
        speed_m_s: reader.number("speed_m_s"),
        drift_m_s: reader.number("drift_m_s"),
        drift_deg: reader.number("drift_deg"),
        presentation: reader.text("presentation"),
        reason: reader.word("reason", Reason::WORDS, Reason::from_word),
        light: reader.word("light", Light::WORDS, Light::from_word),
        catch_known: catch_known?,
        ..Leg::of(zone?, duration_h?)
    })
}

fn fish_of(reader: &mut Reader<'_>) -> Option<Catch> {
    let species = reader.text("species").map(SpeciesId::new);
    let species = reader.needed("species", "the id of a species", species);
    let count = reader.count("count");
    let count = reader.needed("count", "how many", count);
    Some(Catch {
        species: species?,
        count: count?,
        released: reader.count("released"),
        length_m: reader.number("length_m"),
        depth_m: reader.number("depth_m"),
    })
}

fn mark_of(reader: &mut Reader<'_>) -> Option<Mark> {
    let (zone, time) = (reader.zone(), reader.time());
    let kind = reader.word("kind", MarkKind::WORDS, MarkKind::from_word);
    let kind = reader.needed("kind", "bait or single", kind);
    let depth_m = reader.needed_number("depth_m");
    let count = reader.count("count");
    Some(Mark {
        zone: zone?,
        time,
        kind: kind?,
        depth_m: depth_m?,
        count,
    })
}

fn reading_of(reader: &mut Reader<'_>) -> Option<Reading> {
    let (zone, time) = (reader.zone(), reader.time());
    let instrument = reader.word("kind", Instrument::WORDS, Instrument::from_word);
    let instrument = reader.needed("kind", "what it was read with", instrument);
    let depth_m = reader.needed_number("depth_m");
    let [
        temp_degc,
        temp_error_degc,
        oxygen_mg_l,
        oxygen_error_mg_l,
        secchi_m,
    ] = [
        "temp_degc",
        "temp_error_degc",
        "oxygen_mg_l",
        "oxygen_error_mg_l",
        "secchi_m",
    ]
    .map(|name| reader.number(name));
    Some(Reading {
        zone: zone?,
        time,
        instrument: instrument?,
        depth_m: depth_m?,
        temp_degc,
        temp_error_degc,
        oxygen_mg_l,
        oxygen_error_mg_l,
        secchi_m,
    })
}
