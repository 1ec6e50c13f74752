//! Tab-separated files (RDB) of the service: values, lists of sites, ratings.
//!
//! Comment lines begin with `#`; then a line of names, a line of types (`5s`, `20d`, `14n`), and the rows.

use chrono::{FixedOffset, TimeZone as _, Utc};

use super::json::approval;
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Station};
use crate::sources::number::Figure;
use crate::sources::reply::beginning;
use crate::sources::stamp::{Stamp, read_civil, read_day};
use crate::sources::usgs_ogc::{Page, Row, is_gap_word, parameter};

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Rdb {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Rows: line in the file, from 1, and the fields, as many as columns.
    pub rows: Vec<(u64, Vec<String>)>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
}

impl Rdb {
    /// The place of a column.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column == name)
    }
}

/// The table of an RDB file.
///
/// # Errors
/// [`ReadError::Empty`], [`ReadError::Header`] where names or types are missing, as in a page.
pub fn read_rdb(bytes: &[u8]) -> Result<Rdb, ReadError> {
    let text = String::from_utf8_lossy(bytes);
    let lines = text
        .lines()
        .zip(1u64..)
        .filter(|(line, _)| !line.starts_with('#'));
    let mut lines = lines.filter(|(line, _)| !line.trim().is_empty());
    let Some((names, _)) = lines.next() else {
        return Err(ReadError::Empty {
            wanted: "a table of tab-separated columns",
        });
    };
    let columns: Vec<String> = names.split('\t').map(|name| name.trim().to_owned()).collect();
    let types: Vec<&str> = lines
        .next()
        .map(|(line, _)| line.split('\t').collect())
        .unwrap_or_default();
    if types.len() != columns.len() || !types.iter().all(|t| is_type(t.trim())) {
        return Err(ReadError::Header {
            found: beginning(names.as_bytes()),
            wanted: "a line of column names and below it their types, such as 5s and 14n".to_owned(),
        });
    }
    let mut rdb = Rdb {
        columns,
        rows: Vec::new(),
        faults: Vec::new(),
    };
    for (line, number) in lines {
        let fields: Vec<String> = line.split('\t').map(|field| field.trim().to_owned()).collect();
        // A second table may follow in the same file; its head ends the first.
        if fields == rdb.columns || fields.iter().all(|field| is_type(field)) {
            continue;
        }
        if fields.len() == rdb.columns.len() {
            rdb.rows.push((number, fields));
        } else {
            rdb.faults.push(RowFault {
                place: format!("line {number}"),
                found: format!("{} fields", fields.len()),
                wanted: "as many as the line of names has",
            });
        }
    }
    Ok(rdb)
}

/// A type such as `5s`, `20d`, `14n`.
fn is_type(text: &str) -> bool {
    let width = text.strip_suffix(['s', 'd', 'n']);
    width.is_some_and(|width| !width.is_empty() && width.bytes().all(|b| b.is_ascii_digit()))
}

/// A column of values: `01_00060_00003` (daily) or `69928_00060` (within the day).
struct ValueColumn {
    place: usize,
    codes: Option<usize>,
    series_id: String,
    parameter: String,
    statistic: Option<String>,
}

fn value_columns(rdb: &Rdb) -> Vec<ValueColumn> {
    let of = |(place, name): (usize, &String)| {
        let parts: Vec<&str> = name.split('_').collect();
        let is_number =
            |text: &str, width: usize| text.len() == width && text.bytes().all(|b| b.is_ascii_digit());
        let (series, parameter, statistic) = match parts.as_slice() {
            [series, parameter] if is_number(parameter, 5) => (*series, *parameter, None),
            [series, parameter, statistic] if is_number(parameter, 5) && is_number(statistic, 5) => {
                (*series, *parameter, Some((*statistic).to_owned()))
            }
            _ => return None,
        };
        series.bytes().all(|b| b.is_ascii_digit()).then(|| ValueColumn {
            place,
            codes: rdb.column(&format!("{name}_cd")),
            series_id: series.to_owned(),
            parameter: parameter.to_owned(),
            statistic,
        })
    };
    rdb.columns.iter().enumerate().filter_map(of).collect()
}

/// The rows of a file of values. The unit of a parameter is not in the file: it is the one that the parameter's code
/// stands for, and empty for a code that is not known here. Times within the day carry the abbreviation of their zone.
///
/// # Errors
/// [`ReadError`] of [`read_rdb`]; [`ReadError::Header`] where a column is missing.
pub fn read_rdb_observations(bytes: &[u8]) -> Result<Page, ReadError> {
    let rdb = read_rdb(bytes)?;
    let values = value_columns(&rdb);
    let needed = |name: &str| {
        rdb.column(name).ok_or_else(|| ReadError::Header {
            found: beginning(rdb.columns.join(" ").as_bytes()),
            wanted: format!("a column {name}"),
        })
    };
    let (agency, site, time) = (needed("agency_cd")?, needed("site_no")?, needed("datetime")?);
    let zone = rdb.column("tz_cd");
    if values.is_empty() {
        return Err(ReadError::Header {
            found: beginning(rdb.columns.join(" ").as_bytes()),
            wanted: "a column of values, such as 01_00060_00003".to_owned(),
        });
    }
    let mut page = Page {
        rows: Vec::new(),
        faults: rdb.faults.clone(),
        next: None,
    };
    for (line, fields) in &rdb.rows {
        let fault = |found: String, wanted| RowFault {
            place: format!("line {line}"),
            found,
            wanted,
        };
        let Some(stamp) = stamp(&fields[time], zone.map(|z| fields[z].as_str())) else {
            let zone = zone.map_or("", |z| fields[z].as_str());
            let found = format!("\"{}\" {zone}", fields[time]);
            page.faults.push(fault(
                found.trim_end().to_owned(),
                "a day, or a time with the abbreviation of its zone",
            ));
            continue;
        };
        for column in &values {
            let codes: Vec<&str> = column
                .codes
                .map_or(Vec::new(), |c| fields[c].split([' ', ':', ',']).collect());
            let mut words: Vec<&str> = codes.iter().copied().filter(|code| !code.is_empty()).collect();
            let value = match Figure::from_text(&fields[column.place]) {
                Figure::Number(number) if number != -999_999.0 => Some(number),
                // A blank without a code is a time at which this sensor has nothing.
                Figure::Nothing if words.is_empty() => continue,
                Figure::Number(_) | Figure::Nothing => None,
                Figure::Word(word) if is_gap_word(word.split('_').next_back().unwrap_or(&word)) => {
                    words.push(&fields[column.place]);
                    None
                }
                Figure::Word(word) => {
                    page.faults.push(fault(format!("\"{word}\""), "a number"));
                    continue;
                }
            };
            page.rows.push(Row {
                station: format!("{}-{}", fields[agency], fields[site]),
                parameter: column.parameter.clone(),
                statistic: column.statistic.clone(),
                series_id: column.series_id.clone(),
                stamp,
                value,
                unit: parameter(&column.parameter).map_or(String::new(), |p| p.usual_unit.to_owned()),
                approval: approval(&words),
                qualifier: (!words.is_empty()).then(|| words.join(", ")),
                last_modified: None,
            });
        }
    }
    Ok(page)
}

/// A day, or a civil time in the zone of an abbreviation.
fn stamp(text: &str, zone: Option<&str>) -> Option<Stamp> {
    match zone {
        None => read_day(text, &["%Y-%m-%d"]).map(Stamp::Day),
        Some(zone) => {
            let civil = read_civil(text, &["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"])?;
            let instant = offset(zone)?.from_local_datetime(&civil).single()?;
            Some(Stamp::Instant(instant.with_timezone(&Utc)))
        }
    }
}

/// Offset of an abbreviation that the service uses; `None` for any other, for abbreviations are not unique.
fn offset(abbreviation: &str) -> Option<FixedOffset> {
    let hours = match abbreviation {
        "UTC" | "GMT" => 0,
        "AST" | "EDT" => -4,
        "EST" | "CDT" => -5,
        "CST" | "MDT" => -6,
        "MST" | "PDT" => -7,
        "PST" | "AKDT" => -8,
        "AKST" => -9,
        "HST" => -10,
        _ => return None,
    };
    FixedOffset::east_opt(hours * 3600)
}

/// The sites of an RDB list of sites.
///
/// # Errors
/// [`ReadError`] of [`read_rdb`]; [`ReadError::Header`] where agency, number or name is missing.
pub fn read_sites(bytes: &[u8]) -> Result<(Vec<Station>, Vec<RowFault>), ReadError> {
    let rdb = read_rdb(bytes)?;
    let place = |name: &str| rdb.column(name);
    let (Some(agency), Some(site), Some(name)) = (place("agency_cd"), place("site_no"), place("station_nm"))
    else {
        return Err(ReadError::Header {
            found: beginning(rdb.columns.join(" ").as_bytes()),
            wanted: "columns agency_cd, site_no and station_nm".to_owned(),
        });
    };
    let station = |fields: &Vec<String>| {
        let text = |name: &str| {
            place(name)
                .map(|k| fields[k].clone())
                .filter(|text| !text.is_empty())
        };
        let number = |name: &str| match Figure::from_text(&text(name)?) {
            Figure::Number(number) => Some(number),
            Figure::Nothing | Figure::Word(_) => None,
        };
        Station {
            id: format!("{}-{}", fields[agency], fields[site]),
            name: Some(fields[name].clone()),
            latitude_deg: number("dec_lat_va"),
            longitude_deg: number("dec_long_va"),
            vertical_datum: text("alt_datum_cd"),
            time_zone: text("tz_cd"),
        }
    };
    let stations = rdb.rows.iter().map(|(_, fields)| station(fields)).collect();
    Ok((stations, rdb.faults))
}
