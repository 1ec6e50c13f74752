//! Readers as a table (CSV): one line a reader, with a header.

use chrono::NaiveDate;

use super::error::DeliveryError;
use super::fault::{Fault, faulty};
use super::mailbox::{Mailbox, checked_name};
use super::reader::{DecimalMark, HourStyle, LetterUnits, NewReader, Reader, ReaderState};

/// Columns in the order in which they are written. Only `address` must be there.
pub const COLUMNS: [&str; 8] = [
    "address",
    "name",
    "units",
    "decimal",
    "hours",
    "state",
    "consent_on",
    "consent_source",
];

/// Most faults that are told of one table.
const FAULTS_MOST: usize = 50;

/// The table of readers.
pub fn readers_csv(readers: &[Reader]) -> String {
    let mut out = csv::Writer::from_writer(Vec::new());
    let rows = readers.iter().map(|reader| {
        [
            reader.mailbox.to_string(),
            reader.name.clone().unwrap_or_default(),
            reader.units.word().to_owned(),
            reader.decimal.word().to_owned(),
            reader.hours.word().to_owned(),
            reader.state.word().to_owned(),
            reader.consent_on.map(|day| day.to_string()).unwrap_or_default(),
            reader.consent_source.clone().unwrap_or_default(),
        ]
    });
    let write = |out: &mut csv::Writer<Vec<u8>>| -> Result<(), csv::Error> {
        out.write_record(COLUMNS)?;
        rows.into_iter().try_for_each(|row| out.write_record(row))
    };
    write(&mut out).expect("rows of one length go into memory");
    let bytes = out.into_inner().expect("memory takes what is flushed");
    String::from_utf8(bytes).expect("fields of text make text")
}

/// Reads a table. What is not told of a reader is that of `of`; without day and source of a consent, or with another state than
/// `confirmed`, a reader is still to confirm.
///
/// # Errors
/// [`DeliveryError::Faulty`] with the faults of all lines.
pub fn read_readers(
    bytes: &[u8],
    origin: &str,
    of: (LetterUnits, DecimalMark, HourStyle),
    today: NaiveDate,
) -> Result<Vec<NewReader>, DeliveryError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut table = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(bytes);
    let unread = |error: &csv::Error| {
        Fault::new(
            error
                .position()
                .map_or("the table".to_owned(), |p| format!("line {}", p.line())),
            error.to_string(),
            "a table in UTF-8 with commas, each line as long as the header",
            "save it anew as CSV",
        )
    };
    let header = match table.headers() {
        Ok(header) => header.clone(),
        Err(error) => return Err(faulty(origin, vec![unread(&error)])),
    };
    let strange: Vec<&str> = header.iter().filter(|name| !COLUMNS.contains(name)).collect();
    if !strange.is_empty() || !header.iter().any(|name| name == "address") {
        let fault = Fault::new(
            "the header",
            format!("{:?}", header.iter().collect::<Vec<_>>()),
            format!("address, and of the others some of {}", COLUMNS[1..].join(", ")),
            "name the columns so",
        );
        return Err(faulty(origin, vec![fault]));
    }
    let mut readers = Vec::new();
    let mut faults = Vec::new();
    for record in table.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(unread(&error));
                continue;
            }
        };
        let line = record.position().map_or(0, csv::Position::line);
        let field = |name: &str| {
            let at = header.iter().position(|column| column == name);
            at.and_then(|at| record.get(at)).filter(|text| !text.is_empty())
        };
        let before = faults.len();
        let reader = read_row(&field, of, today, &mut |fault: Fault| {
            let place = format!("line {line}, {}", fault.place);
            faults.push(fault.at(place));
        });
        if faults.len() == before {
            readers.extend(reader);
        }
    }
    if faults.is_empty() {
        return Ok(readers);
    }
    let count = faults.len();
    faults.truncate(FAULTS_MOST);
    if count > FAULTS_MOST {
        let rest = format!("{} more", count - FAULTS_MOST);
        faults.push(Fault::new("the rest", rest, "none", "mend these first"));
    }
    Err(faulty(origin, faults))
}

/// One reader of a table; faults go to `told`.
fn read_row<'r>(
    field: &impl Fn(&str) -> Option<&'r str>,
    (units, decimal, hours): (LetterUnits, DecimalMark, HourStyle),
    today: NaiveDate,
    told: &mut impl FnMut(Fault),
) -> Option<NewReader> {
    let mailbox = Mailbox::for_list(field("address").unwrap_or(""))
        .map_err(&mut *told)
        .ok();
    let name = checked_name(field("name").unwrap_or("")).map_err(&mut *told).ok();
    let units = choice(
        field("units"),
        units,
        "units",
        LetterUnits::WORDS,
        LetterUnits::from_word,
        told,
    );
    let decimal = choice(
        field("decimal"),
        decimal,
        "decimal",
        DecimalMark::WORDS,
        DecimalMark::from_word,
        told,
    );
    let hours = choice(
        field("hours"),
        hours,
        "hours",
        HourStyle::WORDS,
        HourStyle::from_word,
        told,
    );
    let state = choice(
        field("state"),
        ReaderState::Confirmed,
        "state",
        ReaderState::WORDS,
        ReaderState::from_word,
        told,
    );
    let consent = match (field("consent_on"), field("consent_source")) {
        (None, None) => None,
        (Some(day), Some(source)) => read_consent(day, source, today).map_err(&mut *told).ok(),
        _ => {
            told(Fault::new(
                "the consent",
                "its day or its source alone",
                "both, or neither for one who is still to confirm",
                "write the other one too",
            ));
            None
        }
    };
    Some(NewReader {
        mailbox: mailbox?,
        name: name?,
        units: units?,
        decimal: decimal?,
        hours: hours?,
        consent: consent.filter(|_| state == Some(ReaderState::Confirmed)),
    })
}

fn choice<T>(
    text: Option<&str>,
    unsaid: T,
    place: &str,
    words: &[&str],
    read: impl Fn(&str) -> Option<T>,
    told: &mut impl FnMut(Fault),
) -> Option<T> {
    let Some(text) = text else {
        return Some(unsaid);
    };
    let value = read(text);
    if value.is_none() {
        let wanted = format!("one of {}", words.join(", "));
        told(Fault::new(
            place,
            format!("{text:?}"),
            wanted,
            "write one of them",
        ));
    }
    value
}

/// Day and source of a consent.
///
/// # Errors
/// A fault for a day that no calendar has, that lies ahead or before 1970, and for a source that is empty, not printable, or longer than 100 characters.
pub fn read_consent(day: &str, source: &str, today: NaiveDate) -> Result<(NaiveDate, String), Fault> {
    let parsed: Option<NaiveDate> = day.parse().ok();
    // No letter went by wire before: an earlier day is a slip, such as a year of two digits.
    let first = NaiveDate::default();
    let Some(day) = parsed.filter(|day| (first..=today).contains(day)) else {
        return Err(Fault::new(
            "the day of the consent",
            format!("{day:?}"),
            format!("a day from {first} to {today}"),
            "write the day on which it was given, such as 2026-11-20",
        ));
    };
    match checked_name(source) {
        Ok(Some(source)) => Ok((day, source)),
        Ok(None) => Err(Fault::new(
            "the source of the consent",
            "nothing",
            "how it was given, in a few words",
            "write such as \"asked at the ramp, on paper\"",
        )),
        Err(fault) => Err(fault.at("the source of the consent")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OF: (LetterUnits, DecimalMark, HourStyle) =
        (LetterUnits::Us, DecimalMark::Point, HourStyle::Hours24);

    fn read(text: &str) -> Result<Vec<NewReader>, String> {
        let today = NaiveDate::from_ymd_opt(2026, 11, 27).expect("a day");
        read_readers(text.as_bytes(), "r.csv", OF, today).map_err(|e| e.to_string())
    }

    #[test]
    fn only_a_whole_consent_makes_a_confirmed_reader() {
        let text = "address,state,consent_on,consent_source\n\
                    a@example.org,,2026-11-20,on paper\nb@example.org,,,\nc@example.org,pending,2026-11-20,on paper\n\
                    d@example.org,suspended,2026-11-20,on paper\n";
        let read = read(text).expect("sound");
        let confirmed: Vec<bool> = read.iter().map(|r| r.consent.is_some()).collect();
        assert_eq!(confirmed, [true, false, false, false]);
    }

    #[test]
    fn a_consent_is_of_a_day_that_can_be() {
        let today = NaiveDate::from_ymd_opt(2026, 11, 27).expect("a day");
        for (day, sound) in [
            ("2026-11-27", true),
            ("1970-01-01", true),
            ("1969-12-31", false),
            ("0026-11-27", false),
            ("2026-11-28", false),
            ("2026-02-29", false),
        ] {
            assert_eq!(read_consent(day, "on paper", today).is_ok(), sound, "{day}");
        }
    }

    #[test]
    fn every_fault_has_its_line() {
        let text = "address,name,units,consent_on,consent_source\n\
                    \"a@example.org\nBcc: b@example.org\",,,,\n\
                    c@example.org,=1+1,feet,2026-11-28,x\n\
                    d@example.org,,,2026-11-20,\n";
        let said = read(text).expect_err("faulty");
        for words in [
            "line 2, the address: found \"a@example.org\\nBcc",
            "line 4, the name",
            "line 4, units: found \"feet\", wanted one of us, metric",
            "line 4, the day of the consent: found \"2026-11-28\", wanted a day from 1970-01-01 to 2026-11-27",
            "line 5, the consent",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        assert!(
            read("email\na@example.org\n")
                .expect_err("a header")
                .contains("the header: found")
        );
        assert!(
            read("address,name\na@example.org\n")
                .expect_err("short")
                .contains("line 2")
        );
    }
}
