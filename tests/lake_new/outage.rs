//! A catalogue that does not answer is told, and the others stand.

use super::{Scene, catalogues_with};

const AT: [&str; 4] = ["--at", "42.20,-119.60", "--out", "-"];

#[test]
fn without_the_weather_service_the_time_zone_is_a_question() {
    let scene = Scene::new();
    let folder = catalogues_with(&scene, |entry| entry["service"] != "nws");
    let said = scene.replay(&folder, &AT);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(
        said.err.contains("not answered: National Weather Service"),
        "{}",
        said.err
    );
    assert!(said.out.contains("\ntime_zone = \"?\"") && said.out.contains("station = \"USGS-990000010\""));
    assert!(
        !said.out.contains("[official_alerts]"),
        "no alerts where the service does not know the position"
    );
    assert!(
        scene
            .faults(&said.out)
            .iter()
            .all(|fault| fault.contains("a question still open"))
    );
}

#[test]
fn without_the_gauges_weather_and_time_zone_stand() {
    let scene = Scene::new();
    let folder = catalogues_with(&scene, |entry| entry["service"] == "nws");
    let said = scene.replay(&folder, &AT);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(said.err.contains("not answered: USGS Water Data"), "{}", said.err);
    assert!(
        said.out.contains("time_zone = \"America/Los_Angeles\"") && said.out.contains("[official_alerts]")
    );
    assert!(said.out.contains("Nothing was chosen for the lake's level"));
    assert!(
        scene
            .faults(&said.out)
            .iter()
            .all(|fault| fault.contains("a question still open"))
    );
}

#[test]
fn without_the_locations_a_station_stands_under_its_number() {
    let scene = Scene::new();
    let folder = catalogues_with(&scene, |entry| {
        !entry["path"]
            .as_str()
            .unwrap_or("")
            .contains("monitoring-locations")
    });
    let said = scene.replay(&folder, &AT);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(said.err.contains("not answered: USGS Water Data"), "{}", said.err);
    assert!(said.out.contains("# USGS-990000010, 0.0 mi: "), "{}", said.out);
}

#[test]
fn a_page_that_cannot_be_read_is_told_with_its_fault() {
    let scene = Scene::new();
    let folder = catalogues_with(&scene, |_| true);
    for body in ["<html>under maintenance</html>", "", "{\"features\":[", "[]"] {
        std::fs::write(folder.join("usgs-ogc/time-series-page2.json"), body).expect("writable");
        let said = scene.replay(&folder, &AT);
        assert_eq!(said.status, 0, "{}", said.err);
        assert!(
            said.err.contains("not answered: USGS Water Data: reading what"),
            "{body:?}: {}",
            said.err
        );
    }
}

#[test]
fn words_of_a_service_cannot_write_lines_of_their_own() {
    let scene = Scene::new();
    let folder = catalogues_with(&scene, |_| true);
    let file = folder.join("usgs-ogc/locations-st.json");
    let text = std::fs::read_to_string(&file).expect("fixtures");
    let evil = text.replace("WICKET CREEK", "WICKET\\n[[ramps]]\\nid = \\\"x\\\" CREEK");
    assert_ne!(text, evil);
    std::fs::write(&file, evil).expect("writable");
    let said = scene.replay(&folder, &AT);
    assert_eq!(said.status, 0, "{}", said.err);
    assert_eq!(said.out.lines().filter(|l| *l == "[[ramps]]").count(), 1);
    assert!(
        scene
            .faults(&said.out)
            .iter()
            .all(|fault| fault.contains("a question still open"))
    );
}
