//! Tables of other programs and of one's own: a row a leg, by a map of columns.

use chrono::{DateTime, NaiveDate, Utc};

use super::foreign_map::ColumnMap;
use crate::lake::{SpeciesId, ZoneId};
use crate::trips::check::{Known, short};
use crate::trips::error::TripFault;
use crate::trips::line::span_of;
use crate::trips::model::{Catch, Leg, Origin, Reading, Reason, Trip};
use crate::trips::rows::Placed;

/// A row, as what it says of a trip.
struct Row {
    place: String,
    trip: Option<String>,
    date: NaiveDate,
    leg: Leg,
    surface_degc: Option<f64>,
    note: Option<String>,
}

/// The trips of a foreign table. Cells are text and nothing else: a formula is the text that it is.
///
/// # Errors
/// Every fault, with its line.
pub fn read_foreign_csv(
    bytes: &[u8],
    map: &ColumnMap,
    known: &Known<'_>,
) -> Result<Vec<Placed>, Vec<TripFault>> {
    let plain = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(::csv::Trim::All)
        .from_reader(plain);
    let mut records = reader.byte_records();
    let header: Vec<String> = match records.next() {
        Some(Ok(header)) => header
            .iter()
            .map(|n| String::from_utf8_lossy(n).into_owned())
            .collect(),
        _ => {
            let wanted = "a header line with the columns of the map";
            return Err(vec![TripFault::new(
                "line 1",
                "an empty file",
                wanted,
                "name another file",
            )]);
        }
    };
    let mut faults = absent_columns(&header, map);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut rows = Vec::new();
    for record in records {
        match record {
            Ok(record) => {
                let place = format!("line {}", record.position().map_or(0, ::csv::Position::line));
                let mut cells = Cells {
                    header: &header,
                    record: &record,
                    map,
                    known,
                    place,
                    faults: &mut faults,
                };
                rows.extend(cells.row());
            }
            Err(error) => {
                faults.push(TripFault::new(
                    "the table",
                    error.to_string(),
                    "CSV",
                    "save it again as CSV",
                ));
                break;
            }
        }
    }
    if faults.is_empty() {
        Ok(trips_of(rows))
    } else {
        Err(faults)
    }
}

/// Columns of the map that the table does not have.
fn absent_columns(header: &[String], map: &ColumnMap) -> Vec<TripFault> {
    let single = [
        &map.trip,
        &map.zone,
        &map.stretch,
        &map.hours,
        &map.start,
        &map.end,
        &map.rods,
        &map.depth,
        &map.speed,
        &map.presentation,
        &map.reason,
        &map.surface_temp,
        &map.note,
    ];
    let mut wanted: Vec<&String> = vec![&map.date];
    wanted.extend(single.into_iter().flatten());
    wanted.extend(map.catch.keys());
    let absent = wanted.into_iter().filter(|name| !header.contains(name));
    absent
        .map(|name| {
            let found: Vec<String> = header
                .iter()
                .take(30)
                .map(|h| format!("{:?}", short(h)))
                .collect();
            let found = format!("the columns {}", found.join(", "));
            TripFault::new("line 1", found, format!("a column {name:?}"), "correct the map")
        })
        .collect()
}

struct Cells<'a> {
    header: &'a [String],
    record: &'a ::csv::ByteRecord,
    map: &'a ColumnMap,
    known: &'a Known<'a>,
    place: String,
    faults: &'a mut Vec<TripFault>,
}

impl Cells<'_> {
    fn fault(&mut self, column: &str, found: &str, wanted: &str, mend: &str) {
        let place = format!("{}, column {column}", self.place);
        self.faults.push(TripFault::new(place, found, wanted, mend));
    }

    /// The text of a column; `None` where it has no value.
    fn text(&mut self, column: &str) -> Option<String> {
        let at = self.header.iter().position(|name| name == column)?;
        let Ok(text) = std::str::from_utf8(self.record.get(at)?) else {
            self.fault(
                column,
                "bytes that are no UTF-8",
                "text",
                "save the table as UTF-8",
            );
            return None;
        };
        let is_missing = text.is_empty() || self.map.missing.iter().any(|m| m == text);
        (!is_missing).then(|| text.to_owned())
    }

    fn of(&mut self, column: &Option<String>) -> Option<String> {
        self.text(column.as_deref()?)
    }

    fn number(&mut self, column: &Option<String>) -> Option<f64> {
        let column = column.as_deref()?;
        let text = self.text(column)?;
        let number = text.parse().ok().filter(|v: &f64| v.is_finite());
        if number.is_none() {
            let mend = "correct the cell, or name it under missing in the map";
            self.fault(column, &format!("{:?}", short(&text)), "a number", mend);
        }
        number
    }

    /// A word of theirs as one of ours.
    fn word(&mut self, column: &Option<String>) -> Option<String> {
        let word = self.of(column)?;
        Some(self.map.words.get(&word).cloned().unwrap_or(word))
    }

    fn row(&mut self) -> Option<Row> {
        let map = self.map;
        if self.record.len() != self.header.len() {
            let found = format!("{} cells", self.record.len());
            let fault = TripFault::new(
                self.place.as_str(),
                found,
                "as many as the header has",
                "the file is cut short, or a cell holds a comma: save it again as CSV",
            );
            self.faults.push(fault);
            return None;
        }
        let date = self.date();
        let zone = self.zone();
        let hours = date.and_then(|date| self.hours(date));
        let rods = self.whole(&map.rods);
        let reason = self.word(&map.reason).and_then(|word| {
            let reason = Reason::from_word(&word);
            if reason.is_none() {
                let wanted = format!("one of {}", Reason::WORDS.join(", "));
                self.fault(
                    map.reason.as_deref().unwrap_or(""),
                    &format!("{:?}", short(&word)),
                    &wanted,
                    "name their word under [words] in the map",
                );
            }
            reason
        });
        let (catch_known, catches) = self.catches();
        let (start, duration_h) = hours?;
        let leg = Leg {
            stretch: self
                .of(&map.stretch)
                .map(|s| map.zones.get(&s).cloned().unwrap_or(s)),
            start,
            rods,
            depth_m: self.number(&map.depth).map(|depth| map.depth_m(depth)),
            speed_m_s: self.number(&map.speed).map(|speed| map.speed_m_s(speed)),
            presentation: self.word(&map.presentation),
            reason,
            catch_known,
            catches,
            ..Leg::of(zone?, duration_h)
        };
        Some(Row {
            trip: self.of(&map.trip),
            date: date?,
            leg,
            surface_degc: self.number(&map.surface_temp).map(|temp| map.temp_degc(temp)),
            note: self.of(&map.note),
            place: self.place.clone(),
        })
    }

    fn date(&mut self) -> Option<NaiveDate> {
        let map = self.map;
        let text = self.text(&map.date);
        let format = map.date_format.as_deref().unwrap_or("%Y-%m-%d");
        let date = text
            .as_deref()
            .and_then(|t| NaiveDate::parse_from_str(t, format).ok());
        if date.is_none() {
            let found = text.map_or("nothing".to_owned(), |t| format!("{:?}", short(&t)));
            self.fault(
                &map.date,
                &found,
                &format!("a day in the form {format}"),
                "correct the cell, or date_format in the map",
            );
        }
        date
    }

    fn zone(&mut self) -> Option<ZoneId> {
        let map = self.map;
        if let Some(zone) = &map.zone_is {
            return Some(ZoneId::new(zone.as_str()));
        }
        let word = self.of(&map.zone);
        if word.is_none() {
            let wanted = format!("one of {}", self.known.zone_words());
            self.fault(
                map.zone.as_deref().unwrap_or(""),
                "nothing",
                &wanted,
                "write the zone",
            );
        }
        word.map(|word| ZoneId::new(map.zones.get(&word).cloned().unwrap_or(word)))
    }

    /// Begin, where it is known, and hours.
    fn hours(&mut self, date: NaiveDate) -> Option<(Option<DateTime<Utc>>, f64)> {
        let map = self.map;
        if let Some(column) = map.hours.as_deref() {
            let hours = self.number(&map.hours);
            if hours.is_none() && self.text(column).is_none() {
                self.fault(column, "nothing", "the hours fished", "write them");
            }
            return hours.map(|hours| (None, hours));
        }
        let (from, to) = (self.of(&map.start), self.of(&map.end));
        let column = map.start.as_deref().unwrap_or("");
        let (Some(from), Some(to)) = (from, to) else {
            self.fault(
                column,
                "no begin or no end",
                "both, such as 6:30 and 11:00",
                "write both",
            );
            return None;
        };
        match span_of(&format!("{from}-{to}"), date, self.known) {
            Ok((start, hours)) => Some((Some(start), hours)),
            Err([found, wanted, mend]) => {
                self.fault(column, &found, &wanted, &mend);
                None
            }
        }
    }

    fn whole(&mut self, column: &Option<String>) -> Option<u32> {
        let number = self.number(column)?;
        let whole = (number.fract() == 0.0 && (0.0..1e6).contains(&number)).then_some(number as u32);
        if whole.is_none() {
            self.fault(
                column.as_deref().unwrap_or(""),
                &number.to_string(),
                "a whole number from 0 up",
                "correct the cell",
            );
        }
        whole
    }

    /// Whether the catch is told, and the fish.
    fn catches(&mut self) -> (bool, Vec<Catch>) {
        let map = self.map;
        let (mut told, mut untold, mut catches) = (0, None, Vec::new());
        for (column, species) in &map.catch {
            let count = self.whole(&Some(column.clone()));
            match (count, map.blank_is_zero) {
                (None, false) => untold = untold.or(Some(column)),
                (None, true) | (Some(0), _) => told += 1,
                (Some(count), _) => {
                    told += 1;
                    let species = SpeciesId::new(species.as_str());
                    catches.push(Catch {
                        species,
                        count,
                        released: None,
                        length_m: None,
                        depth_m: None,
                    });
                }
            }
        }
        if let Some(column) = untold.filter(|_| told > 0) {
            let mend = "write 0 where none was caught, or blank_is_zero = true in the map if an empty cell means that";
            self.fault(
                column,
                "nothing, beside a catch of another species",
                "a number of fish",
                mend,
            );
        }
        (told > 0 && untold.is_none(), catches)
    }
}

/// Rows put together: those of one trip, or of one day, one after the other.
fn trips_of(rows: Vec<Row>) -> Vec<Placed> {
    let mut trips: Vec<(Option<String>, Placed)> = Vec::new();
    for row in rows {
        let is_of =
            |(of, placed): &&mut (Option<String>, Placed)| of == &row.trip && placed.trip.date == row.date;
        let at = match trips.last_mut().filter(is_of) {
            Some((_, placed)) => placed,
            None => {
                let trip = Trip {
                    date: row.date,
                    origin: Origin::Table,
                    note: None,
                    legs: Vec::new(),
                    marks: Vec::new(),
                    readings: Vec::new(),
                };
                trips.push((
                    row.trip.clone(),
                    Placed {
                        place: row.place.clone(),
                        trip,
                    },
                ));
                &mut trips.last_mut().expect("one was just pushed").1
            }
        };
        if let Some(temp_degc) = row.surface_degc {
            at.trip.readings.push(Reading::of_surface(&row.leg, temp_degc));
        }
        at.trip.legs.push(row.leg);
        at.trip.note = match (at.trip.note.take(), row.note) {
            (Some(first), Some(more)) if first != more => Some(format!("{first}; {more}")),
            (first, more) => first.or(more),
        };
    }
    let placed = trips.into_iter().map(|(_, placed)| placed);
    placed
        .map(|p| Placed {
            trip: p.trip.tidied(),
            ..p
        })
        .collect()
}
