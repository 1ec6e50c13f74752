//! The National Weather Service: recorded replies of points, raw grid, stations, observations, alerts and
//! problems; figures read off the files by eye.

use chrono::{DateTime, Utc};
use plungeline::sources::ReadError;
use plungeline::sources::nws::{
    GridLayer, LAYERS, Spread, read_alerts, read_grid, read_observations, read_point, read_stations,
};

use plungeline::sources::read_saved;

use super::at;
use crate::validation::data;

fn bytes(file: &str) -> Option<Vec<u8>> {
    let path = data(&format!("recordings/nws/{file}"))?;
    Some(std::fs::read(path).unwrap())
}

fn hourly(layer: &GridLayer) -> Vec<(DateTime<Utc>, Option<f64>)> {
    layer.hourly(Spread::Holds)
}

#[test]
fn a_recorded_position_names_its_cell_and_its_stations() {
    let Some(bytes) = bytes("points.json") else { return };
    let point = read_point(&bytes).unwrap();
    assert_eq!(point.grid_path(), "/gridpoints/TAE/58,65");
    assert_eq!(point.stations_path(), "/gridpoints/TAE/58,65/stations");
    assert_eq!(point.time_zone.as_deref(), Some("America/New_York"));
    assert_eq!(point.forecast_zone.as_deref(), Some("FLZ015"));
}

#[test]
fn recorded_stations_come_nearest_first_with_their_places() {
    let Some(bytes) = bytes("gridpoints_stations.json") else {
        return;
    };
    let (stations, faults) = read_stations(&bytes).unwrap();
    assert_eq!((stations.len(), faults.len()), (41, 0));
    assert_eq!(
        (stations[0].id.as_str(), stations[1].id.as_str()),
        ("KCMH", "KOSU")
    );
    assert_eq!(
        stations[0].name.as_deref(),
        Some("John Glenn Columbus International Airport")
    );
    assert_eq!(
        (stations[0].latitude_deg, stations[0].longitude_deg),
        (Some(39.9906999), Some(-82.87691))
    );
}

#[test]
fn the_layers_of_a_recorded_grid_are_expanded_hour_by_hour() {
    let Some(bytes) = bytes("detailed_forecast.json") else {
        return;
    };
    let grid = read_grid(&bytes).unwrap();
    assert!(grid.faults.is_empty(), "{:?}", grid.faults);
    assert_eq!(
        (grid.cell.as_str(), grid.updated_at),
        ("TAE/58,65", at("2022-02-04T03:15:41Z"))
    );
    // The layers of the table that the file fills; probabilityOfThunder is there and empty.
    let names: Vec<&str> = grid.layers.keys().copied().collect();
    assert_eq!(names.len(), 9, "{names:?}");
    assert!(
        LAYERS.iter().any(|l| l.name == "probabilityOfThunder") && !names.contains(&"probabilityOfThunder")
    );
    // windSpeed: 21:00 for two hours 20.372 km/h, 23:00 for one hour 16.668 km/h.
    let wind = hourly(&grid.layers["windSpeed"]);
    assert_eq!(wind[0], (at("2022-02-03T21:00:00Z"), Some(20.372)));
    assert_eq!(wind[1], (at("2022-02-03T22:00:00Z"), Some(20.372)));
    assert_eq!(wind[2], (at("2022-02-03T23:00:00Z"), Some(16.668)));
    // dewpoint: 02:00 for ten hours.
    let dew = hourly(&grid.layers["dewpoint"]);
    assert_eq!(dew[5].0, at("2022-02-04T02:00:00Z"));
    assert!(dew[5..15].iter().all(|(_, v)| *v == Some(18.333333333333332)));
}

#[test]
fn every_layer_of_a_recorded_grid_is_whole_hours_without_holes_or_loss() {
    let Some(bytes) = bytes("detailed_forecast.json") else {
        return;
    };
    let grid = read_grid(&bytes).unwrap();
    for (name, layer) in &grid.layers {
        let steps = hourly(layer);
        let hour_apart = |pair: &[(DateTime<Utc>, Option<f64>)]| (pair[1].0 - pair[0].0).num_minutes() == 60;
        // Seen in the file: each layer is without a hole from its first hour to its last.
        assert!(steps.windows(2).all(hour_apart), "{name}");
        let hours: i64 = layer
            .figures
            .iter()
            .map(|(i, _)| (i.to - i.from).num_hours())
            .sum();
        assert_eq!(steps.len() as i64, hours, "{name}");
    }
    let rain = &grid.layers["quantitativePrecipitation"];
    let shared: f64 = rain.hourly(Spread::Shared).iter().filter_map(|(_, v)| *v).sum();
    let stated: f64 = rain.figures.iter().filter_map(|(_, v)| *v).sum();
    assert!(
        stated > 0.0 && (shared - stated).abs() < 1e-9 * stated,
        "{shared} of {stated} mm"
    );
}

#[test]
fn recorded_observations_are_sorted_and_null_is_no_zero() {
    let Some(unsorted) = bytes("stations_observations_multiple_unsorted.json") else {
        return;
    };
    let found = read_observations(&unsorted).unwrap();
    assert_eq!(
        (found.rows.len(), found.faults.len()),
        (2, 0),
        "{:?}",
        found.faults
    );
    assert!(found.rows[0].time < found.rows[1].time);
    assert_eq!(
        found.rows[0].figures["temperature"].value,
        Some(-100.0),
        "judged later, not here"
    );
    let flagstaff = read_observations(&bytes("KFLG_observations_limit1.json").unwrap()).unwrap();
    let row = &flagstaff.rows[0];
    assert_eq!(
        (row.station.as_str(), row.time),
        ("KFLG", at("2024-02-20T17:57:00Z"))
    );
    let figure = |name: &str| row.figures.get(name).unwrap();
    assert_eq!(
        (figure("temperature").value, figure("windSpeed").value),
        (None, None)
    );
    assert_eq!(figure("temperature").quality.as_deref(), Some("V"));
    assert_eq!(
        (figure("dewpoint").value, figure("dewpoint").unit.as_str()),
        (Some(-6.1), "degC")
    );
}

#[test]
fn a_second_recorded_observation_of_the_same_time_fills_what_the_first_lacks() {
    let Some(bytes) = bytes("stations_observations_multiple.json") else {
        return;
    };
    let found = read_observations(&bytes).unwrap();
    assert_eq!(
        (found.rows.len(), found.faults.len()),
        (1, 1),
        "{:?}",
        found.faults
    );
    assert_eq!(found.faults[0].found, "a second observation");
    let figures = &found.rows[0].figures;
    assert_eq!(
        (figures["temperature"].value, figures["windSpeed"].value),
        (Some(10.0), Some(10.0))
    );
}

#[test]
fn the_latest_observation_alone_reads_as_one_of_many() {
    let Some(bytes) = bytes("stations_observations_latest.json") else {
        return;
    };
    let found = read_observations(&bytes).unwrap();
    let row = &found.rows[0];
    assert_eq!((found.rows.len(), row.time), (1, at("2022-03-02T23:53:00Z")));
    let wind = &row.figures["windSpeed"];
    assert_eq!(
        (wind.value, wind.unit.as_str(), wind.quality.as_deref()),
        (Some(7.56), "km_h-1", Some("V"))
    );
    assert_eq!(row.figures["barometricPressure"].value, Some(101_860.0));
}

#[test]
fn an_old_recorded_observation_reads_with_its_older_prefixes() {
    let Some(bytes) = bytes("stations_observations.json") else {
        return;
    };
    let found = read_observations(&bytes).unwrap();
    let wind = &found.rows[0].figures["windSpeed"];
    assert_eq!(
        (wind.value, wind.unit.as_str(), wind.quality.as_deref()),
        (Some(10.0), "m_s-1", Some("V"))
    );
}

#[test]
fn a_recorded_observation_without_a_time_is_named_and_left_out() {
    let Some(bytes) = bytes("stations_observations_missing_value.json") else {
        return;
    };
    let found = read_observations(&bytes).unwrap();
    assert_eq!((found.rows.len(), found.faults.len()), (0, 1));
    assert_eq!(found.faults[0].place, "features[0].timestamp");
}

#[test]
fn a_recorded_alert_is_kept_word_for_word() {
    let Some(bytes) = bytes("alerts_active_zone.json") else {
        return;
    };
    let found = read_alerts(&bytes).unwrap();
    assert_eq!((found.alerts.len(), found.faults.len()), (1, 0));
    let alert = &found.alerts[0];
    assert_eq!(
        (alert.event.as_str(), alert.severity.as_deref()),
        ("Flood Watch", Some("Severe"))
    );
    let headline =
        "Flood Watch issued December 20 at 1:34PM PST until December 22 at 10:00AM PST by NWS Portland OR";
    assert_eq!(alert.headline.as_deref(), Some(headline));
    assert_eq!(alert.sent_at, at("2019-12-20T21:34:00Z"));
    assert_eq!(
        (alert.ends, alert.expires),
        (Some(at("2019-12-22T18:00:00Z")), Some(at("2019-12-21T13:30:00Z")))
    );
    assert!(
        alert
            .description
            .as_deref()
            .unwrap()
            .starts_with("The Flood Watch continues for\n\n* Portions of")
    );
    // The message expires on the 21st, the event goes on until the 22nd.
    assert!(alert.touches(at("2019-12-22T12:00:00Z"), at("2019-12-22T20:00:00Z")));
    assert!(!alert.touches(at("2019-12-22T18:01:00Z"), at("2019-12-22T20:00:00Z")));
}

#[test]
fn recorded_problems_speak_for_themselves_whatever_was_asked() {
    for (file, words) in [
        (
            "problem_404_InvalidPoint.json",
            "Unable to provide data for requested point 90,120.5517605",
        ),
        ("problem_503_ForecastGridExpired.json", "has expired"),
    ] {
        let Some(bytes) = bytes(file) else { return };
        let faults = [
            read_point(&bytes).unwrap_err(),
            read_grid(&bytes).unwrap_err(),
            read_observations(&bytes).unwrap_err(),
            read_alerts(&bytes).unwrap_err(),
            read_stations(&bytes).unwrap_err(),
        ];
        for fault in faults {
            assert!(
                matches!(&fault, ReadError::Said { reason } if reason.contains(words)),
                "{fault}"
            );
        }
    }
}

#[test]
fn a_forecast_in_words_is_no_raw_grid() {
    for file in [
        "gridpoints_forecast_hourly_si.json",
        "gridpoints_forecast_hourly_us.json",
        "gridpoints_forecast_us.json",
    ] {
        let Some(bytes) = bytes(file) else { return };
        // It has an updateTime and no layers: nothing may be taken from it, and nothing invented.
        let grid = read_grid(&bytes).unwrap();
        assert!(grid.layers.is_empty(), "{file}");
    }
}

#[test]
fn a_forecast_in_words_is_told_with_its_figures_and_its_words() {
    // Counted in the files: two periods of four figures. 41 degF are (41 - 32) x 5 / 9 = 5 degC.
    for (file, temperature, unit, temperature_si, words) in [
        (
            "gridpoints_forecast_hourly_si.json",
            25.5,
            "degC",
            25.5,
            "wind 0 km/h S, Partly Cloudy",
        ),
        (
            "gridpoints_forecast_us.json",
            41.0,
            "degF",
            5.0,
            "wind 10 mph S, Chance Showers And Thunderstorms",
        ),
    ] {
        let Some(bytes) = bytes(file) else { return };
        let saved = read_saved(None, &bytes, file).unwrap();
        assert_eq!(
            (saved.service, saved.kind.as_str()),
            ("nws", "forecast in words"),
            "{file}"
        );
        assert_eq!((saved.records.len(), saved.faults.len()), (8, 0), "{file}");
        let record = saved
            .records
            .iter()
            .find(|r| r.parameter == "temperature")
            .unwrap();
        assert_eq!(
            (record.value, record.unit.as_str()),
            (Some(temperature), unit),
            "{file}"
        );
        assert!((record.value_si.unwrap() - temperature_si).abs() < 1e-9, "{file}");
        assert!(record.note.ends_with(words), "{file}: {}", record.note);
    }
}

#[test]
fn every_recorded_reply_is_known_as_one_of_the_service_by_what_it_holds() {
    // Records: stations of the list, alerts, and figures that the table knows, counted in the files.
    for (file, kind, records) in [
        ("points.json", "grid cell of a position", 1),
        ("gridpoints_stations.json", "stations", 41),
        ("alerts_active_zone.json", "alerts", 1),
        ("KFLG_observations_limit1.json", "observations", 8),
        ("stations_observations_latest.json", "observations", 8),
    ] {
        let Some(bytes) = bytes(file) else { return };
        let saved = read_saved(None, &bytes, file).unwrap();
        assert_eq!((saved.service, saved.kind.as_str()), ("nws", kind), "{file}");
        assert_eq!(saved.records.len(), records, "{file}");
    }
    let Some(grid) = bytes("detailed_forecast.json") else {
        return;
    };
    let saved = read_saved(None, &grid, "grid").unwrap();
    assert_eq!(saved.kind, "raw grid");
    // windSpeed at 21:00, 20.372 km/h, is 20.372 / 3.6 m/s.
    let wind = saved.records.iter().find(|r| r.parameter == "windSpeed").unwrap();
    assert!((wind.value_si.unwrap() - 5.658_888_889).abs() < 1e-9);
}
