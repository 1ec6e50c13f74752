//! Recorded replies of the CWMS Data API; figures read off the files.

use plungeline::lake::hypsography_of;
use plungeline::sources::cwms::{read_catalogue, read_levels, read_location, read_rating, read_series};
use plungeline::sources::reply::unpacked;
use plungeline::sources::{ReadError, read_saved};

use crate::validation::data;

fn bytes(file: &str) -> Option<Vec<u8>> {
    Some(std::fs::read(data(&format!("recordings/cwms/{file}"))?).unwrap())
}

#[test]
fn a_recorded_series_of_two_pages_is_read_whole() {
    let (Some(first), Some(second)) = (bytes("timeseries_page1.json"), bytes("timeseries_page2.json")) else {
        return;
    };
    let (first, second) = (read_series(&first).unwrap(), read_series(&second).unwrap());
    // 745 rows in pages of 500 and 245 (README of the data).
    assert_eq!((first.readings.len(), second.readings.len()), (500, 245));
    assert_eq!(
        (first.next.as_deref(), second.next.as_deref()),
        (Some("MTUxNjkxMDQwMDAwMHx8NzQ1fHw1MDA="), None)
    );
    // 1515110400000 ms is 2018-01-05T00:00Z.
    assert_eq!(first.readings[0].time.to_rfc3339(), "2018-01-05T00:00:00+00:00");
    assert_eq!(
        (first.readings[0].value, first.unit.as_str()),
        (Some(265.547_855_999_999_97), "m")
    );
}

#[test]
fn a_recorded_series_has_its_datum_and_where_another_lies() {
    let Some(bytes) = bytes("timeseries.json") else {
        return;
    };
    let datum = read_series(&bytes).unwrap().datum.unwrap();
    assert_eq!(datum.native, "NGVD-29");
    assert_eq!(datum.offsets, [("NAVD-88".to_owned(), 0.0632, true)]);
}

#[test]
fn recorded_versions_and_samples_are_read() {
    for (file, rows) in [
        ("timeseries_max_agg.json", 3),
        ("unversioned_num_ts.json", 4),
        ("versioned_num_ts.json", 4),
        ("level_timeseries.json", 241),
    ] {
        let Some(bytes) = bytes(file) else { return };
        let series = read_series(&bytes).unwrap_or_else(|fault| panic!("{file}: {fault}"));
        assert_eq!((series.readings.len(), series.faults.len()), (rows, 0), "{file}");
    }
}

#[test]
fn a_recorded_error_body_speaks() {
    let Some(bytes) = bytes("timeseries_notfound.json") else {
        return;
    };
    let fault = read_series(&bytes).unwrap_err();
    assert!(
        matches!(&fault, ReadError::Said { reason } if reason.starts_with("Time series not found")),
        "{fault}"
    );
}

#[test]
fn recorded_locations_and_catalogues_say_what_there_is() {
    let Some(location) = bytes("location.json") else {
        return;
    };
    let location = read_location(&location).unwrap();
    assert_eq!(
        (location.station.id.as_str(), location.station.latitude_deg),
        ("AARK", Some(37.056_418))
    );
    let Some(catalogue) = bytes("catalog_loc_locationid.json") else {
        return;
    };
    let catalogue = read_catalogue(&catalogue).unwrap();
    assert_eq!((catalogue.locations.len(), catalogue.next.is_some()), (1, true));
    let Some(series) = bytes("catalog_ts_idfilter.json") else {
        return;
    };
    let series = read_catalogue(&series).unwrap().series;
    assert_eq!(series[0].unit, "W/m2");
    assert_eq!(
        series[0].extent.unwrap().0.to_rfc3339(),
        "2016-06-01T01:00:00+00:00"
    );
}

#[test]
fn a_recorded_page_of_levels_is_read_whole() {
    let Some(bytes) = bytes("location_levels.json") else {
        return;
    };
    let levels = read_levels(&bytes).unwrap();
    // The README of the data speaks of a first page of 100; the file itself has 103 levels.
    let ids = String::from_utf8_lossy(&bytes)
        .matches("\"location-level-id\"")
        .count();
    assert_eq!(levels.len(), ids);
    assert!(ids >= 100);
    assert_eq!(
        (levels[0].name.as_str(), levels[0].constant),
        ("Barren.Elev.Inst.0.Bottom of Inlet", Some(145.6944))
    );
}

#[test]
fn recorded_reservoir_tables_are_read_whole() {
    for (file, gives, units) in [
        ("ARBU.Elev_Stor.Linear.Production.xml.gz", "Stor", ("ft", "ac-ft")),
        (
            "Pine_Flat_Lake-Pool_Elev_Area_Standard_Production.xml.gz",
            "Area",
            ("ft", "acre"),
        ),
        ("YETL_Elev_Stor_Linear_Step.xml.gz", "Stor", ("ft", "ac-ft")),
    ] {
        let Some(packed) = bytes(file) else { return };
        let plain = unpacked(&packed, 512 * 1024 * 1024).unwrap();
        let rating = read_rating(&plain).unwrap_or_else(|fault| panic!("{file}: {fault}"));
        assert_eq!(
            (rating.parameters.0.as_str(), rating.parameters.1.as_str()),
            ("Elev", gives),
            "{file}"
        );
        assert_eq!(
            (rating.units.0.as_str(), rating.units.1.as_str()),
            units,
            "{file}"
        );
        assert_eq!(rating.datum.as_deref(), Some("NGVD-29"), "{file}");
        // Every point between the last pair of <rating-points> tags, counted in the text.
        let text = String::from_utf8_lossy(&plain);
        let last = text.rsplit("<rating-points>").next().unwrap();
        assert_eq!(rating.points.len(), last.matches("<point>").count(), "{file}");
        assert!(
            rating
                .points
                .windows(2)
                .all(|w| w[0].0 < w[1].0 && w[0].1 <= w[1].1),
            "{file}"
        );
    }
    let Some(packed) = bytes("YETL_Elev_Stor_Linear_Step.xml.gz") else {
        return;
    };
    let rating = read_rating(&unpacked(&packed, 512 * 1024 * 1024).unwrap()).unwrap();
    assert_eq!(rating.points[0], (3547.01001, 469_950.0));
}

#[test]
fn every_recorded_reply_is_recognised() {
    let Some(folder) = data("recordings/cwms") else {
        return;
    };
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let found = read_saved(None, &std::fs::read(&path).unwrap(), &name);
        match found {
            Ok(saved) => assert_eq!(saved.service, "cwms", "{name}"),
            Err(error) => assert!(
                name.contains("notfound") && error.to_string().contains("cwms"),
                "{name}: {error}"
            ),
        }
    }
}

#[test]
fn recorded_reservoir_tables_become_the_shape_of_a_lake() {
    for file in [
        "ARBU.Elev_Stor.Linear.Production.xml.gz",
        "Pine_Flat_Lake-Pool_Elev_Area_Standard_Production.xml.gz",
        "YETL_Elev_Stor_Linear_Step.xml.gz",
    ] {
        let Some(packed) = bytes(file) else { return };
        let rating = read_rating(&unpacked(&packed, 512 * 1024 * 1024).unwrap()).unwrap();
        let (kind, rows) = rating.capacity_rows().unwrap();
        let capacity = hypsography_of(kind, &rows).unwrap_or_else(|fault| panic!("{file}: {fault}"));
        let table = &capacity.table;
        assert!(
            (3..=40).contains(&table.elevation_m.len()),
            "{file}: {} rows",
            table.elevation_m.len()
        );
        // The ends are kept, in metres: 0.3048 of a foot.
        let (first, last) = (rating.points[0].0, rating.points[rating.points.len() - 1].0);
        assert!((table.elevation_m[0] - 0.3048 * first).abs() < 1e-6, "{file}");
        assert!(
            (table.elevation_m[table.elevation_m.len() - 1] - 0.3048 * last).abs() < 1e-6,
            "{file}"
        );
        println!("{file}: {} of {} rows", table.elevation_m.len(), rows.len());
    }
}
