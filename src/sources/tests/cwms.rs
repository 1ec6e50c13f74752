//! Invented replies of the CWMS Data API through client and parser.

use wiremock::matchers::{header, method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Batch, Flag};
use crate::sources::cwms::{read_catalogue, read_levels, read_rating, read_series};
use crate::sources::{Fetched, ReadError, SourceError, read_saved, run};

const ELEVATION: &str = "HARG.Elev.Inst.1Hour.0.Best";

fn pool(offset_m: f64) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        datum_offset_m: Some(offset_m),
        ..series("pool", Quantity::PoolElevation, "cwms", "XHG", ELEVATION)
    }
}

/// What the last job of a series brings of two pages.
async fn fetched(source: SeriesSource, pages: [&str; 2]) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    let page = |file: &str| {
        ResponseTemplate::new(200)
            .set_body_raw(fixture(&format!("replies/cwms/{file}.json")), "application/json")
    };
    let request = || {
        Mock::given(method("GET"))
            .and(path("/cwms-data.usace.army.mil/cwms-data/timeseries"))
            .and(header("accept", "application/json;version=2"))
            .and(query_param("office", "XHG"))
    };
    request()
        .and(query_param_is_missing("page"))
        .respond_with(page(pages[0]))
        .mount(&server)
        .await;
    request()
        .and(query_param("page", "bmV4dA=="))
        .respond_with(page(pages[1]))
        .mount(&server)
        .await;
    let lake = lake(vec![source]);
    let job = all_jobs(&lake, at("2025-11-06T12:00:00Z")).pop().unwrap();
    run(&client(&server.uri()).await, &lake, &job).await
}

fn batch(fetched: &[Fetched]) -> &Batch {
    let batch = fetched.iter().find_map(|part| match part {
        Fetched::Observations(batch) => Some(batch),
        _ => None,
    });
    batch.unwrap_or_else(|| panic!("{fetched:?}"))
}

const PAGES: [&str; 2] = ["timeseries-harg-elev-page1", "timeseries-harg-elev-page2"];

#[tokio::test]
async fn pages_come_one_after_the_other_whatever_totals_they_state() {
    let fetched = fetched(pool(1.05), PAGES).await.unwrap();
    let rows = &batch(&fetched).rows;
    let told: Vec<(String, Option<f64>, Option<&str>, Flag)> = rows
        .iter()
        .map(|r| {
            (
                r.time.format("%H").to_string(),
                r.original_value,
                r.qualifier.as_deref(),
                r.flag,
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("08".to_owned(), Some(247.6), None, Flag::NotEvaluated),
            ("09".to_owned(), Some(247.58), None, Flag::NotEvaluated),
            ("10".to_owned(), None, Some("missing"), Flag::Missing),
            ("11".to_owned(), Some(247.9), Some("rejected"), Flag::Fail),
            (
                "12".to_owned(),
                Some(247.55),
                Some("questionable"),
                Flag::NotEvaluated
            ),
        ]
    );
    // 247.6 m and 1.05 m of offset.
    assert!((rows[0].value.unwrap() - 248.65).abs() < 1e-9);
    // The service's estimate is 1.042 m: within a decimetre nothing is said.
    assert_eq!(fetched.len(), 1);
}

#[tokio::test]
async fn an_offset_that_contradicts_the_services_own_is_told_and_not_mended() {
    let fetched = fetched(pool(0.0), PAGES).await.unwrap();
    let Fetched::Faults { faults, .. } = &fetched[0] else {
        panic!("{fetched:?}")
    };
    assert!(
        faults[0].found.contains("NGVD-29") && faults[0].found.contains("1.042 m from NAVD 88"),
        "{faults:?}"
    );
    assert!((batch(&fetched).rows[0].value.unwrap() - 247.6).abs() < 1e-9);
}

#[tokio::test]
async fn a_mark_of_a_page_that_comes_again_is_left() {
    let error = fetched(pool(1.05), [PAGES[0], "timeseries-harg-elev-loop"])
        .await
        .unwrap_err();
    assert!(
        error.to_string().contains("the chain of pages repeats"),
        "{error}"
    );
}

#[tokio::test]
async fn a_value_of_a_day_belongs_to_the_day_that_ends_with_it() {
    let storage = SeriesSource {
        cadences: vec![Cadence::Daily],
        ..series(
            "storage",
            Quantity::Storage,
            "cwms",
            "XHG",
            "HARG.Stor.Ave.1Day.1Day.Best",
        )
    };
    let page = "timeseries-harg-stor-days";
    let fetched = fetched(storage, [page, page]).await.unwrap();
    let days: Vec<String> = batch(&fetched)
        .rows
        .iter()
        .map(|r| r.time.format("%m-%dT%H").to_string())
        .collect();
    // 07:00 UTC is midnight of daylight time after 1 November, 08:00 UTC of standard time after 2 and 3 November; the
    // reading of 5 November at 08:00 in the morning is of that day.
    assert_eq!(days, ["11-01T08", "11-02T08", "11-03T08", "11-05T08"]);
}

#[test]
fn rows_columns_and_versions_that_are_not_known_are_named() {
    let read = |file: &str| read_series(&fixture(&format!("replies/cwms/{file}.json")));
    let faults: Vec<String> = read("timeseries-bad-rows")
        .unwrap()
        .faults
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        faults,
        [
            "values[0]: found \"yesterday\", wanted milliseconds of UTC",
            "values[1]: found \"lots\", wanted a number, or null",
        ]
    );
    let header = read("timeseries-other-columns").unwrap_err().to_string();
    assert!(header.contains("a column value"), "{header}");
    let versions = read("timeseries-versions").unwrap_err().to_string();
    assert!(versions.contains("EVERY_VERSION"), "{versions}");
    let said = read("error-not-found").unwrap_err();
    assert!(
        matches!(&said, ReadError::Said { reason } if reason.starts_with("Time series not found")),
        "{said}"
    );
}

#[test]
fn catalogues_and_levels_say_what_there_is() {
    let series = read_catalogue(&fixture("replies/cwms/catalog-timeseries.json"))
        .unwrap()
        .series;
    assert_eq!(
        (series[0].name.as_str(), series[0].unit.as_str()),
        (ELEVATION, "m")
    );
    assert_eq!(series[0].extent.unwrap().0, at("1998-01-01T08:00:00Z"));
    assert_eq!(series[1].extent, None);
    let locations = read_catalogue(&fixture("replies/cwms/catalog-locations.json"))
        .unwrap()
        .locations;
    assert_eq!(locations[0].station.latitude_deg, Some(42.21));
    let levels = read_levels(&fixture("replies/cwms/levels.json")).unwrap();
    assert_eq!(
        (levels[0].constant, levels[1].constant, levels[1].seasonal.len()),
        (Some(256.5), None, 2)
    );
}

#[test]
fn of_several_tables_the_active_one_that_took_effect_last_is_in_force() {
    let rating = read_rating(&fixture("replies/cwms/rating-harg-elev-stor.xml")).unwrap();
    assert_eq!(rating.effective_at, at("2012-04-10T08:00:00Z"));
    assert_eq!((rating.points.len(), rating.points[57]), (58, (845.0, 520_500.0)));
    assert_eq!(rating.units, ("ft".to_owned(), "ac-ft".to_owned()));
    assert_eq!(rating.datum.as_deref(), Some("NGVD-29"));
}

#[test]
fn a_rating_that_is_no_table_of_numbers_is_refused_by_name() {
    for (file, words) in [
        ("damaged/reply-cwms-rating-virtual.xml", "a virtual-rating"),
        (
            "damaged/reply-cwms-rating-word.xml",
            "\"high\" as <ind> of point 2",
        ),
        ("damaged/reply-waterml-bomb.xml", "cannot be read"),
        ("replies/waterml/sorrel.xml", "XML of timeSeriesResponse"),
    ] {
        let fault = read_rating(&fixture(file)).unwrap_err().to_string();
        assert!(fault.contains(words), "{file}: {fault}");
    }
}

#[test]
fn saved_replies_are_recognised_by_what_they_hold() {
    for (file, kind, records) in [
        ("timeseries-harg-elev-page1.json", "time series", 3),
        ("catalog-timeseries.json", "catalogue", 2),
        ("catalog-locations.json", "catalogue", 1),
        ("levels.json", "levels", 3),
        ("rating-harg-elev-stor.xml", "rating", 58),
    ] {
        let saved = read_saved(None, &fixture(&format!("replies/cwms/{file}")), file).unwrap();
        assert_eq!(
            (saved.service, saved.kind.as_str(), saved.records.len()),
            ("cwms", kind, records),
            "{file}"
        );
    }
}

#[tokio::test]
async fn a_page_of_another_series_or_unit_is_refused() {
    let other = fetched(pool(1.05), ["timeseries-harg-stor-days", PAGES[1]])
        .await
        .unwrap_err()
        .to_string();
    assert!(other.contains("HARG.Stor.Ave.1Day.1Day.Best"), "{other}");
    let feet = fetched(pool(1.05), [PAGES[0], "timeseries-harg-elev-page2-feet"])
        .await
        .unwrap_err()
        .to_string();
    assert!(
        feet.contains("a page in ft") && feet.contains("m as on the page before"),
        "{feet}"
    );
}
