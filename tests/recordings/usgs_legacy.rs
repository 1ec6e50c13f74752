//! Recorded replies of the older USGS service, as they came.

use plungeline::series::Approval;
use plungeline::sources::usgs_legacy::{read_observations, read_rdb_observations, read_sites};
use plungeline::sources::usgs_ogc::Page;
use plungeline::sources::{ReadError, SourceError, read_saved};

use crate::validation::data;

fn recorded(name: &str) -> Option<Vec<u8>> {
    data(&format!("recordings/usgs-legacy/{name}")).map(|path| std::fs::read(path).unwrap())
}

fn stamps(page: &Page) -> [String; 2] {
    let mut stamps: Vec<String> = page.rows.iter().map(|row| row.stamp.to_string()).collect();
    stamps.sort();
    [stamps[0].clone(), stamps[stamps.len() - 1].clone()]
}

#[test]
fn recorded_instantaneous_values_of_two_zones_are_read_whole() {
    let Some(bytes) = recorded("nwis_test_data.json") else {
        return;
    };
    let page = read_observations(&bytes).unwrap();
    // 92 values at -04:00 and 94 at -05:00, all provisional (README of the data; the reply itself).
    assert_eq!((page.rows.len(), page.faults.len()), (186, 0));
    let of = |station: &str| page.rows.iter().filter(|row| row.station == station).count();
    assert_eq!((of("USGS-01646500"), of("USGS-02458502")), (92, 94));
    assert!(
        page.rows
            .iter()
            .all(|row| row.approval == Approval::Provisional && row.unit == "ft3/s")
    );
    let first = page
        .rows
        .iter()
        .find(|row| row.station == "USGS-02458502")
        .unwrap();
    // 2020-08-17T16:00-05:00, 34.4 ft3/s: read off the reply.
    assert_eq!(
        (first.stamp.to_string().as_str(), first.value),
        ("2020-08-17T21:00:00Z", Some(34.4))
    );
}

#[test]
fn recorded_daily_values_with_empty_series_are_read_whole() {
    let Some(bytes) = recorded("waterservices_dv.json") else {
        return;
    };
    let page = read_observations(&bytes).unwrap();
    // 8 of 10 series are empty; the two others have two days each (README of the data).
    assert_eq!((page.rows.len(), page.faults.len()), (4, 0));
    assert_eq!(stamps(&page), ["2020-02-14", "2020-02-15"]);
    // 466 and 179 ft3/s on the first day: read off the reply.
    assert_eq!(
        (page.rows[0].value, page.rows[2].value),
        (Some(466.0), Some(179.0))
    );
    assert_eq!(page.rows[0].statistic.as_deref(), Some("00003"));
}

#[test]
fn a_recorded_table_of_days_is_read_whole() {
    let Some(bytes) = recorded("RDB1Example.rdb") else {
        return;
    };
    let page = read_rdb_observations(&bytes).unwrap();
    let rows = String::from_utf8_lossy(&bytes)
        .lines()
        .filter(|line| line.starts_with("USGS\t"))
        .count();
    assert_eq!((page.rows.len(), page.faults.len()), (rows, 0));
    assert!(rows > 20);
    // 2012-09-01, 191 ft3/s, approved: the first row of the file.
    let first = &page.rows[0];
    assert_eq!(
        (first.stamp.to_string().as_str(), first.value, first.approval),
        ("2012-09-01", Some(191.0), Approval::Approved)
    );
    assert_eq!(
        (first.parameter.as_str(), first.statistic.as_deref()),
        ("00060", Some("00003"))
    );
}

#[test]
fn a_recorded_list_of_sites_is_read_whole() {
    let Some(bytes) = recorded("nwis_sites.rdb") else {
        return;
    };
    let (stations, faults) = read_sites(&bytes).unwrap();
    let rows = String::from_utf8_lossy(&bytes)
        .lines()
        .filter(|line| line.starts_with("USGS\t"))
        .count();
    assert_eq!((stations.len(), faults.len()), (rows, 0));
    assert_eq!(
        (stations[0].id.as_str(), stations[0].vertical_datum.as_deref()),
        ("USGS-03161500", Some("NGVD29"))
    );
}

#[test]
fn a_recorded_rating_is_refused_by_name() {
    let Some(bytes) = recorded("waterservices_ratings.rdb") else {
        return;
    };
    let error = read_saved(None, &bytes, "rating").unwrap_err();
    assert!(
        matches!(&error, SourceError::Read { service: "usgs-legacy", fault: ReadError::Kind { found, .. }, .. } if found.contains("rating")),
        "{error}"
    );
}
