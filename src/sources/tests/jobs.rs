//! Which requests a lake's needs become.

use super::scene::{all_jobs, clock, lake, pool, series, table, weather};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::sources::{Need, SourceError, check_series, jobs, station_jobs};

fn query(job: &crate::sources::Job) -> String {
    job.query
        .iter()
        .map(|(k, v)| format!("{k}={v}"))
        .collect::<Vec<_>>()
        .join("&")
}

#[test]
fn gauges_are_asked_for_a_year_of_days_at_a_time_and_sixty_days_of_instants() {
    let lake = lake(vec![SeriesSource {
        daily_from: Some("2024-06-01".parse().unwrap()),
        ..pool()
    }]);
    let jobs = all_jobs(&lake, clock());
    let queries: Vec<String> = jobs.iter().map(query).collect();
    let station = "f=json&skipGeometry=TRUE&monitoring_location_id=USGS-990000010&parameter_code=62614";
    assert_eq!(
        queries,
        [
            format!("{station}&statistic_id=00003&time=2024-06-01/2024-12-31&limit=50000"),
            format!("{station}&statistic_id=00003&time=2025-01-01/2025-10-09&limit=50000"),
            format!("{station}&time=2025-08-10T11:30:00Z/2025-10-09T11:30:00Z&limit=10000"),
        ]
    );
    assert_eq!(jobs[0].path, "/ogcapi/v0/collections/daily/items");
    assert_eq!(
        jobs[0].label(),
        "usgs-ogc daily USGS-990000010 62614 2024-06-01..2024-12-31"
    );
}

#[test]
fn what_the_store_has_is_not_asked_for_again() {
    let lake = lake(vec![SeriesSource {
        daily_from: Some("2012-01-01".parse().unwrap()),
        ..pool()
    }]);
    let from = Some(clock() - chrono::Duration::days(60));
    let need = Need {
        series: &lake.series[0],
        cadence: Cadence::Daily,
        from,
        to: clock(),
    };
    let jobs = jobs(&lake, &[need]);
    assert_eq!(jobs.len(), 1);
    assert_eq!(
        jobs[0].window,
        Some(("2025-08-10".to_owned(), "2025-10-09".to_owned()))
    );
}

#[test]
fn two_series_of_one_request_share_it() {
    let release = series(
        "release",
        Quantity::Release,
        "usgs-ogc",
        "USGS-990000020",
        "00060",
    );
    let downstream = series(
        "downstream",
        Quantity::Inflow,
        "usgs-ogc",
        "USGS-990000020",
        "00060",
    );
    let jobs = all_jobs(&lake(vec![release, downstream]), clock());
    assert!(jobs.iter().all(|job| job.wants.len() == 2), "{jobs:?}");
}

#[test]
fn weather_is_asked_for_in_blocks_with_all_variables_in_the_order_of_the_file() {
    let with_history = |series: SeriesSource| SeriesSource {
        cadences: vec![Cadence::Daily, Cadence::Continuous, Cadence::Forecast],
        daily_from: Some("1985-01-01".parse().unwrap()),
        daily_until: Some("2021-12-31".parse().unwrap()),
        continuous_from: Some("2024-01-01".parse().unwrap()),
        ..series
    };
    let direction = SeriesSource {
        continuous_from: Some("2024-01-01".parse().unwrap()),
        ..weather("direction", Quantity::WindDirection, "wind_direction_10m")
    };
    let visibility = SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..weather("sight", Quantity::Visibility, "visibility")
    };
    let lake = lake(vec![
        with_history(weather("air", Quantity::AirTemp, "temperature_2m")),
        direction,
        with_history(weather("gust", Quantity::WindGust, "wind_gusts_10m")),
        visibility,
    ]);
    let queries: Vec<String> = all_jobs(&lake, clock())
        .iter()
        .map(|job| format!("{} {}{} {}", job.kind, job.host, job.path, query(job)))
        .collect();
    let archive = "archive-api.open-meteo.com/v1/archive latitude=42.2&longitude=-119.6&timezone=GMT&wind_speed_unit=ms";
    let daily = format!("archive-daily {archive}&daily=temperature_2m_mean,wind_gusts_10m_max");
    let hourly = format!("archive-hourly {archive}&hourly=temperature_2m,wind_direction_10m,wind_gusts_10m");
    let position = "latitude=42.2&longitude=-119.6&timezone=GMT&wind_speed_unit=ms";
    assert_eq!(
        queries,
        [
            format!("{daily}&start_date=1985-01-01&end_date=1994-12-31"),
            format!("{daily}&start_date=1995-01-01&end_date=2004-12-31"),
            format!("{daily}&start_date=2005-01-01&end_date=2014-12-31"),
            format!("{daily}&start_date=2015-01-01&end_date=2021-12-31"),
            format!("{hourly}&start_date=2024-01-01&end_date=2024-12-31"),
            format!("{hourly}&start_date=2025-01-01&end_date=2025-10-09"),
            format!(
                "ensemble ensemble-api.open-meteo.com/v1/ensemble {position}&models=gfs_seamless\
                 &hourly=temperature_2m,wind_direction_10m,wind_gusts_10m&forecast_days=16"
            ),
            format!(
                "forecast api.open-meteo.com/v1/forecast {position}\
                 &hourly=temperature_2m,wind_direction_10m,wind_gusts_10m,visibility&past_days=7&forecast_days=16"
            ),
        ]
    );
}

#[test]
fn each_station_is_asked_once_what_it_is() {
    let lake = lake(vec![
        pool(),
        series(
            "storage",
            Quantity::Storage,
            "usgs-ogc",
            "USGS-990000010",
            "00054",
        ),
    ]);
    let jobs = station_jobs(&lake, clock());
    assert_eq!(jobs.len(), 1);
    assert_eq!(query(&jobs[0]), "f=json&id=USGS-990000010");
}

#[test]
fn what_is_not_described_is_told_from_what_is_not_offered() {
    let undescribed = SeriesSource {
        datum_offset_m: None,
        ..pool()
    };
    assert!(matches!(
        check_series(&undescribed)[..],
        [SourceError::NotDescribed {
            wanted: "datum_offset",
            ..
        }]
    ));
    let unserved = SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..pool()
    };
    assert!(matches!(
        check_series(&unserved)[..],
        [SourceError::NotOffered { .. }]
    ));
}

#[test]
fn a_description_that_a_service_cannot_serve_is_refused_with_the_remedy() {
    let says = |series: SeriesSource, words: &str| {
        let faults: Vec<String> = check_series(&series).iter().map(SourceError::to_string).collect();
        assert!(
            faults.iter().any(|fault| fault.contains(words)),
            "{faults:?} lacks {words:?}"
        );
    };
    says(
        series("a", Quantity::Storage, "usgs", "1", "00054"),
        "found service \"usgs\", wanted one of: usgs-ogc, open-meteo, nws, cdec, nwps, usgs-legacy, cwms, ",
    );
    says(
        SeriesSource {
            datum_offset_m: None,
            ..pool()
        },
        "found no datum_offset",
    );
    says(
        SeriesSource {
            station: String::new(),
            ..pool()
        },
        "found no station",
    );
    says(
        SeriesSource {
            parameter: "00060".into(),
            ..pool()
        },
        "found parameter 00060 (discharge), wanted a parameter code of pool_elevation such as 62614, 62615",
    );
    says(
        SeriesSource {
            parameter: "level".into(),
            ..pool()
        },
        "found parameter \"level\"",
    );
    says(
        SeriesSource {
            cadences: vec![Cadence::Forecast],
            ..pool()
        },
        "found cadence forecast",
    );
    says(
        weather("a", Quantity::ThunderProbability, "lightning"),
        "found parameter \"lightning\"",
    );
    says(
        weather("a", Quantity::AirTemp, "dew_point_2m"),
        "wanted temperature_2m for air_temp",
    );
    says(
        SeriesSource {
            cadences: vec![Cadence::Daily],
            ..weather("a", Quantity::Visibility, "visibility")
        },
        "found cadence daily of visibility",
    );
    let evaporation = table(
        "a",
        Quantity::Evaporation,
        "x.csv",
        "date",
        "evaporation",
        "acre-ft",
    );
    assert!(check_series(&evaporation).is_empty());
    says(
        SeriesSource {
            csv: None,
            ..evaporation.clone()
        },
        "found no csv",
    );
    says(
        SeriesSource {
            unit: None,
            ..evaporation.clone()
        },
        "found no unit",
    );
    says(
        SeriesSource {
            unit: Some("ft".into()),
            ..evaporation
        },
        "found unit \"ft\", wanted one of m3/s",
    );
    assert!(check_series(&pool()).is_empty());
}

#[test]
fn each_service_tells_which_quantities_a_parameter_may_be() {
    let quantities = |name: &str, parameter: &str| {
        let service = crate::sources::service(name).unwrap();
        service.parameter_quantities.map(|of| of(parameter).to_vec())
    };
    assert_eq!(quantities("usgs-ogc", "00054"), Some(vec![Quantity::Storage]));
    assert_eq!(
        quantities("usgs-ogc", "00010/abc"),
        Some(vec![Quantity::WaterTemp, Quantity::RiverTemp])
    );
    assert_eq!(quantities("usgs-ogc", "stage"), Some(vec![]));
    assert_eq!(
        quantities("open-meteo", "visibility"),
        Some(vec![Quantity::Visibility])
    );
    assert_eq!(quantities("open-meteo", "temperature_2m_mean"), Some(vec![]));
    assert_eq!(quantities("csv", "anything"), None);
}
