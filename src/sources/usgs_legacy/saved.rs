//! The records of any saved reply of the service.

use super::json::read_observations;
use super::rdb::{read_rdb, read_rdb_observations, read_sites};
use crate::sources::error::ReadError;
use crate::sources::reply::begins_with_word;
use crate::sources::saved::Saved;
use crate::sources::usgs_ogc::{Page, row_record, station_record};

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "\"timeSeries\"") && begins_with_word(bytes, "\"queryInfo\"") || is_rdb(bytes)
}

/// Whether bytes look like a tab-separated table of the service.
fn is_rdb(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(64 * 1024)]);
    let mut lines = text
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    let has_names = lines
        .next()
        .is_some_and(|line| line.starts_with("agency_cd\t") || line.starts_with("INDEP\t"));
    let has_types = lines
        .next()
        .is_some_and(|line| line.starts_with("5s\t") || line.starts_with("16N\t"));
    has_names && has_types
}

/// The records of a saved reply: values in JSON or RDB, sites. A rating is told by name: its depths and flows are no
/// series.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let first = bytes.iter().find(|b| !b.is_ascii_whitespace());
    if matches!(first, Some(b'{' | b'[' | b'<') | None) {
        return Ok(saved("observations", read_observations(bytes)?));
    }
    if begins_with_word(bytes, "INDEP\t") {
        return Err(ReadError::Kind {
            found: "a rating of stage and discharge".to_owned(),
            wanted: "values (iv, dv) or a list of sites".to_owned(),
        });
    }
    if read_rdb(bytes)?.column("station_nm").is_some() {
        let (stations, faults) = read_sites(bytes)?;
        return Ok(Saved {
            service: super::NAME,
            kind: "stations".to_owned(),
            records: stations.into_iter().map(station_record).collect(),
            faults,
        });
    }
    Ok(saved("observations", read_rdb_observations(bytes)?))
}

fn saved(kind: &str, page: Page) -> Saved {
    Saved {
        service: super::NAME,
        kind: kind.to_owned(),
        records: page.rows.into_iter().map(row_record).collect(),
        faults: page.faults,
    }
}
