//! The main job on input that no one here wrote: recorded lakes, outside the repository.

use std::path::Path;

use plungeline::units::M3S_PER_CFS;
use serde_json::Value;

use super::demo::{cache, run};
use crate::validation::data;

/// A natural lake: weather, inflow, inflow temperature, temperatures by depth. Elevations are counted
/// from the deepest point; nothing is known of ramps, forecasts or arms.
fn erken(folder: &Path) -> String {
    let folder = folder.display();
    let mut text = format!(
        r#"
id = "erken"
name = "Erken"
latitude = 59.84
longitude = 18.6
time_zone = "Europe/Stockholm"
vertical_datum = "the lake's deepest point"
full_pool_elevation_m = 21.0
minimum_pool_elevation_m = 20.0
boat = {{ launch_depth_m = 1.0, running_depth_m = 1.0, run_speed_m_s = 8.0, trip_h = 6.0 }}

[hypsography]
rows = [
  {{ elevation_m = 0.0, area_m2 = 0.0 }},
  {{ elevation_m = 1.0, area_m2 = 10000.0 }},
  {{ elevation_m = 3.0, area_m2 = 160000.0 }},
  {{ elevation_m = 5.0, area_m2 = 1420000.0 }},
  {{ elevation_m = 7.0, area_m2 = 3220000.0 }},
  {{ elevation_m = 9.0, area_m2 = 7410000.0 }},
  {{ elevation_m = 11.0, area_m2 = 11610000.0 }},
  {{ elevation_m = 13.0, area_m2 = 14180000.0 }},
  {{ elevation_m = 15.0, area_m2 = 16590000.0 }},
  {{ elevation_m = 17.0, area_m2 = 19000000.0 }},
  {{ elevation_m = 19.0, area_m2 = 21380000.0 }},
  {{ elevation_m = 21.0, area_m2 = 23670000.0 }},
]

[[zones]]
id = "main"
name = "Main Body"
kind = "main-body"
area_share = [{{ elevation_m = 0.0, share_frac = 1.0 }}, {{ elevation_m = 21.0, share_frac = 1.0 }}]

[[zones]]
id = "stream"
name = "Inflow"
kind = "river"
above = "main"

[[inflows]]
id = "stream"
name = "Inflow"
enters = "main"
flow = "series"
regulated = false
thermal_regime = "lowland"

[[species]]
id = "rainbow-trout"

[[species]]
id = "landlocked-chinook"

[[series]]
id = "flow"
quantity = "inflow"
inflow = "stream"
service = "csv"
unit = "m3/s"
cadences = ["daily"]
daily_from = 1999-01-01
csv = {{ path = "{folder}/inflow.csv", time = "time", value = "inflow_m3s", stamp_zone = "+01:00", missing = [""] }}

[[series]]
id = "flow-temp"
quantity = "river_temp"
inflow = "stream"
service = "csv"
unit = "degC"
cadences = ["daily"]
daily_from = 1999-01-01
csv = {{ path = "{folder}/inflow.csv", time = "time", value = "inflow_temp_degc", stamp_zone = "+01:00", missing = [""] }}

[[series]]
id = "profile"
quantity = "water_temp"
zone = "main"
service = "csv"
unit = "degC"
cadences = ["daily"]
daily_from = 1961-01-01
csv = {{ path = "{folder}/temperature.csv.gz", time = "time", value = "water_temp_degc", depth = "depth_m", stamp_zone = "+01:00", missing = [""] }}
"#
    );
    for (id, quantity, column, unit) in [
        ("air-temp", "air_temp", "air_temp_degc", "degC"),
        ("wind-speed", "wind_speed", "wind_speed_m_s", "m/s"),
        ("shortwave", "shortwave", "shortwave_w_m2", "W/m2"),
        ("longwave", "longwave", "longwave_w_m2", "W/m2"),
        ("vapour-pressure", "vapour_pressure", "vapour_pressure_hpa", "hPa"),
    ] {
        text.push_str(&format!(
            r#"
[[series]]
id = "{id}"
quantity = "{quantity}"
service = "csv"
unit = "{unit}"
cadences = ["continuous"]
continuous_from = 1995-01-01
csv = {{ path = "{folder}/weather.csv.gz", time = "time", value = "{column}", stamp_zone = "UTC", missing = [""] }}
"#
        ));
    }
    text
}

fn brief_of(lake: &str, text: &str, as_of: &str) -> (Option<i32>, Value, String) {
    let file = cache().join(format!("{lake}.toml"));
    std::fs::write(&file, text).expect("writable");
    let file = file.to_string_lossy();
    let output = run(&["brief", "--lake", &file, "--as-of", as_of, "--format", "json"]);
    let stderr = String::from_utf8_lossy(&output.stderr).into_owned();
    let json = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {stderr}"));
    (output.status.code(), json, stderr)
}

#[test]
fn a_recorded_lake_gives_a_brief_in_each_season() {
    let Some(weather) = data("lakes/erken/weather.csv.gz") else {
        return;
    };
    let text = erken(weather.parent().expect("a folder"));
    let mut near_surface = Vec::new();
    for as_of in ["2010-01-20", "2010-04-21", "2010-07-21", "2010-10-20"] {
        let (status, brief, stderr) = brief_of("erken", &text, as_of);
        // No level and no forecast are recorded: a brief, with what is missing named.
        assert_eq!(status, Some(3), "{as_of}: {stderr}");
        let lacking: Vec<&str> = brief["trust"]["lacking"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(|l| l["topic"].as_str())
            .collect();
        assert_eq!(lacking, ["level", "wind"], "{as_of}");
        let rainbow = &brief["whereabouts"]["rainbow-trout"];
        assert_eq!(rainbow["likeliest_fishable"], "main", "{as_of}");
        near_surface.push(rainbow["near_surface_suitability"].as_f64().expect("a number"));
        let surface = brief["surface"]["temp_degc"].as_f64();
        if let Some(surface_degc) = surface {
            // The record's own range of surface values; ice gives slightly negative readings.
            assert!((-1.0..28.0).contains(&surface_degc), "{as_of}: {surface_degc}");
        }
    }
    // A cold lake: trout find the surface better in summer than under the ice.
    assert!(near_surface[2] > near_surface[0], "{near_surface:?}");
}

/// A foothill reservoir's operations: storage, inflow, releases, evaporation, faults and all. No
/// hypsography, no level, no weather.
fn millerton(folder: &Path) -> String {
    let folder = folder.display();
    let mut text = r#"
id = "millerton"
name = "Millerton"
latitude = 37.0
longitude = -119.7
time_zone = "America/Los_Angeles"
vertical_datum = "not known"
full_pool_elevation_m = 176.0
minimum_pool_elevation_m = 140.0
boat = { launch_depth_m = 1.0, running_depth_m = 1.0, run_speed_m_s = 8.0, trip_h = 6.0 }

[[zones]]
id = "main"
name = "Main Body"
kind = "main-body"
area_share = [{ elevation_m = 140.0, share_frac = 1.0 }, { elevation_m = 176.0, share_frac = 1.0 }]

[[zones]]
id = "river"
name = "River"
kind = "river"
above = "main"

[[inflows]]
id = "river"
name = "River"
enters = "main"
flow = "series"
regulated = true
thermal_regime = "regulated"

[[species]]
id = "rainbow-trout"
"#
    .to_owned();
    for (id, quantity, place, column, unit) in [
        ("inflow", "inflow", "inflow = \"river\"", "inflow_cfs", "ft3/s"),
        ("storage", "storage", "", "storage_acre_ft", "acre-ft"),
        ("release", "release", "", "river_release_cfs", "ft3/s"),
        ("evaporation", "evaporation", "", "evaporation_cfs", "ft3/s"),
    ] {
        text.push_str(&format!(
            r#"
[[series]]
id = "{id}"
quantity = "{quantity}"
{place}
service = "csv"
unit = "{unit}"
cadences = ["daily"]
daily_from = 2003-01-01
csv = {{ path = "{folder}/operations.csv", time = "time", value = "{column}", stamp_zone = "-08:00", missing = [""] }}
"#
        ));
    }
    text
}

#[test]
fn a_foothill_reservoirs_record_gives_inflow_features_and_names_what_is_missing() {
    let Some(operations) = data("lakes/millerton-reservoir/operations.csv") else {
        return;
    };
    let text = millerton(operations.parent().expect("a folder"));
    let (status, brief, stderr) = brief_of("millerton", &text, "2017-02-15");
    assert_eq!(status, Some(3), "{stderr}");
    let lacking: Vec<&str> = brief["trust"]["lacking"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|l| l["topic"].as_str())
        .collect();
    for topic in ["level", "hypsography", "water_temperature", "wind"] {
        assert!(lacking.contains(&topic), "{topic} is not named in {lacking:?}");
    }
    let inflow = &brief["inflows"][0];
    let flow_m3s = inflow["discharge_m3s"].as_f64().expect("a flow");
    // operations.csv, 2017-02-14: the wet winter; inflow of the week between 3,000 and 40,000 cfs.
    assert!((85.0..1133.0).contains(&flow_m3s), "{flow_m3s}");
    assert!(
        brief["storage_m3"].as_f64().is_some_and(|s| s > 1e8),
        "{}",
        brief["storage_m3"]
    );
}

#[test]
fn a_brief_disbelieves_the_recorded_spikes_and_negative_inflows() {
    let Some(operations) = data("lakes/millerton-reservoir/operations.csv") else {
        return;
    };
    let text = millerton(operations.parent().expect("a folder"));
    // The record, inflow in cfs by day; the discharge that a brief of the morning after may show; and the
    // series with one value refused or suspect in the last 60 days.
    for (as_of, discharge_cfs, (series, key)) in [
        // 2009-11-21 -717, 22nd 116. So far the only negative day: a gauge's fault, left out.
        ("2009-11-23", 116.0, ("inflow", "refused_60d")),
        // 2021-08-29 377 with an evaporation of 16 049 cfs, 30th 17 373, 31st 1717, 1 September 1360: the
        // newest 3-day mean is that of the 31st, without the 30th.
        (
            "2021-09-02",
            (1717.0 + 1360.0) / 2.0,
            ("evaporation", "refused_60d"),
        ),
        // 2022-11-19 168, 20th 131, 21st -231, 22nd 15: by now known for a computed record. The mean of the
        // 21st is negative and no discharge; the newest is that of the 20th.
        (
            "2022-11-23",
            (168.0 + 131.0 - 231.0) / 3.0,
            ("inflow", "suspect_60d"),
        ),
    ] {
        let (_, brief, stderr) = brief_of("millerton", &text, as_of);
        let found_m3s = brief["inflows"][0]["discharge_m3s"].as_f64().expect(&stderr);
        assert!(
            (found_m3s / M3S_PER_CFS - discharge_cfs).abs() < 1e-6,
            "{as_of}: {found_m3s} m3/s, wanted {discharge_cfs} cfs"
        );
        let inputs = brief["inputs"].as_array().expect("a list");
        let input = inputs.iter().find(|i| i["series"] == series).expect("an input");
        assert_eq!(input[key], 1, "{as_of}: {input}");
    }
}
