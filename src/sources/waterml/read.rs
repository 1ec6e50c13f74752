//! A file: bytes to rows, still in the file's unit and without a lake.

use chrono::{FixedOffset, NaiveTime, TimeZone as _, Utc};
use roxmltree::Node;

use crate::series::Approval;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::markup::{children, read_document, text_of};
use crate::sources::number::Figure;
use crate::sources::reply::begins_with_word;
use crate::sources::saved::Saved;
use crate::sources::stamp::{Stamp, read_civil, read_rfc3339};
use crate::sources::usgs_ogc::{Page, Row, is_gap_word, row_record};

/// Whether bytes look like such a file.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "waterML/1.1")
        || begins_with_word(bytes, "timeSeriesResponse") && begins_with_word(bytes, "<?xml")
}

/// The values of a file: station `agency-code`, or `network-code` where it names no agency; a method's number names the sensor.
/// A value that cannot be read is left out and named; the others stand.
///
/// # Errors
/// [`ReadError`]: no XML, cut short, with a document type, or of another kind.
pub fn read_values(bytes: &[u8]) -> Result<Page, ReadError> {
    let text = String::from_utf8_lossy(bytes);
    let document = read_document(&text)?;
    let root = document.root_element();
    if root.tag_name().name() != "timeSeriesResponse" {
        return Err(ReadError::Kind {
            found: format!("XML of {}", root.tag_name().name()),
            wanted: "a timeSeriesResponse of WaterML 1.1".to_owned(),
        });
    }
    let mut page = Page {
        rows: Vec::new(),
        faults: Vec::new(),
        next: None,
    };
    for (k, series) in children(root, "timeSeries").enumerate() {
        read_series(&mut page, k + 1, series);
    }
    Ok(page)
}

/// What all values of a series share.
struct Head {
    station: String,
    parameter: String,
    unit: String,
    no_data: Option<f64>,
}

fn read_series(page: &mut Page, nth: usize, series: Node<'_, '_>) {
    let head = match head(series) {
        Ok(head) => head,
        Err(wanted) => {
            page.faults.push(RowFault {
                place: format!("timeSeries {nth}"),
                found: "nothing".to_owned(),
                wanted,
            });
            return;
        }
    };
    for values in children(series, "values") {
        let method = children(values, "method")
            .next()
            .and_then(|node| node.attribute("methodID"));
        for (n, value) in children(values, "value").enumerate() {
            match row(&head, method.unwrap_or_default(), value) {
                Ok(row) => page.rows.push(row),
                Err((found, wanted)) => page.faults.push(RowFault {
                    place: format!("timeSeries {nth}, value {}", n + 1),
                    found,
                    wanted,
                }),
            }
        }
    }
}

fn head(series: Node<'_, '_>) -> Result<Head, &'static str> {
    let source = children(series, "sourceInfo").next().ok_or("a sourceInfo")?;
    let site = children(source, "siteCode").next().ok_or("a siteCode")?;
    let code = site
        .text()
        .map(str::trim)
        .filter(|code| !code.is_empty())
        .ok_or("a siteCode")?;
    let network = site.attribute("agencyCode").or_else(|| site.attribute("network"));
    let network = network.ok_or("the network of the site")?;
    let variable = children(series, "variable").next().ok_or("a variable")?;
    let unit = children(variable, "unit").next().and_then(|unit| {
        let names = ["unitCode", "unitAbbreviation", "unitName"];
        // The codes of CUAHSI are numbers of a list; the abbreviation beside them is the unit.
        names
            .into_iter()
            .filter_map(|name| text_of(unit, name))
            .find(|text| text.parse::<f64>().is_err())
    });
    Ok(Head {
        station: format!("{network}-{code}"),
        parameter: text_of(variable, "variableCode")
            .ok_or("a variableCode")?
            .to_owned(),
        unit: unit.unwrap_or_default().to_owned(),
        no_data: text_of(variable, "noDataValue").and_then(|text| text.parse().ok()),
    })
}

fn row(head: &Head, series_id: &str, value: Node<'_, '_>) -> Result<Row, (String, &'static str)> {
    let stamp = stamp(value).ok_or_else(|| {
        let found = value.attribute("dateTime").unwrap_or("no dateTime");
        (
            format!("\"{found}\""),
            "a time with its offset, or the midnight of a day",
        )
    })?;
    let mut words: Vec<String> = value
        .attribute("qualifiers")
        .into_iter()
        .flat_map(|codes| codes.split([' ', ',']))
        .filter(|code| !code.is_empty())
        .map(str::to_owned)
        .collect();
    let has = |code: &str| words.iter().any(|word| word == code);
    let approval = match (has("P"), has("A")) {
        (true, _) => Approval::Provisional,
        (false, true) => Approval::Approved,
        (false, false) => Approval::Unstated,
    };
    if let Some(code) = value.attribute("censorCode").filter(|code| *code != "nc") {
        words.push(format!("censored {code}"));
    }
    let figure = match Figure::from_text(value.text().unwrap_or_default()) {
        Figure::Number(number) if Some(number) == head.no_data => {
            words.push(number.to_string());
            None
        }
        Figure::Number(number) => Some(number),
        Figure::Nothing => None,
        Figure::Word(word) if is_gap_word(&word) => {
            words.push(word);
            None
        }
        Figure::Word(word) => return Err((format!("\"{word}\""), "a number")),
    };
    Ok(Row {
        station: head.station.clone(),
        parameter: head.parameter.clone(),
        statistic: None,
        series_id: series_id.to_owned(),
        stamp,
        value: figure,
        unit: head.unit.clone(),
        approval,
        qualifier: (!words.is_empty()).then(|| words.join(", ")),
        last_modified: None,
    })
}

fn stamp(value: Node<'_, '_>) -> Option<Stamp> {
    let text = value.attribute("dateTime")?;
    if let Some(instant) = read_rfc3339(text) {
        return Some(Stamp::Instant(instant));
    }
    let forms = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%dT%H:%M"];
    let civil = read_civil(text, &forms)?;
    let utc = value.attribute("dateTimeUTC");
    if let Some(utc) = utc.and_then(|text| read_civil(text.trim_end_matches('Z'), &forms)) {
        return Some(Stamp::Instant(Utc.from_utc_datetime(&utc)));
    }
    if let Some(offset) = value.attribute("timeOffset") {
        let offset: FixedOffset = offset.parse().ok()?;
        return Some(Stamp::Instant(
            offset.from_local_datetime(&civil).single()?.with_timezone(&Utc),
        ));
    }
    (civil.time() == NaiveTime::MIN).then(|| Stamp::Day(civil.date()))
}

/// The records of a file.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let page = read_values(bytes)?;
    Ok(Saved {
        service: super::NAME,
        kind: "observations".to_owned(),
        records: page.rows.into_iter().map(row_record).collect(),
        faults: page.faults,
    })
}
