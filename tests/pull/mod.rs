//! `plungeline pull` as its user runs it: many lakes, one pull at a time, a kill at any instant, an archive by years, a
//! service that is gone.

mod history;
mod kill;
mod lakes;
mod removed;
mod timing;

use std::path::Path;

use crate::house::source::root;

/// A small lake of three series of the demonstration's replies; `id` names its store.
pub fn small_lake(id: &str) -> String {
    let csv = root().join("fixtures/demo/csv/evaporation.csv.gz");
    let csv = csv.display();
    format!(
        r#"
id = "{id}"
name = "Small Water ({id}), invented"
latitude = 42.2
longitude = -119.6
time_zone = "America/Los_Angeles"
vertical_datum = "NAVD 88"
full_pool_elevation_ft = 845.0
minimum_pool_elevation_ft = 731.0
boat = {{ launch_depth_m = 1.0, running_depth_m = 1.0, run_speed_m_s = 8.0, trip_h = 6.0 }}

[[zones]]
id = "main"
name = "Main Body"
kind = "main-body"

[[species]]
id = "rainbow-trout"

[[series]]
id = "pool"
quantity = "pool_elevation"
service = "usgs-ogc"
station = "USGS-990000010"
parameter = "62614"
statistic = "00003"
cadences = ["daily", "continuous"]
daily_from = 2024-01-01
datum_offset_ft = 3.42
datum_source = "invented"

[[series]]
id = "storage"
quantity = "storage"
service = "usgs-ogc"
station = "USGS-990000010"
parameter = "00054"
statistic = "00003"
cadences = ["daily"]
daily_from = 2024-01-01

[[series]]
id = "evaporation"
quantity = "evaporation"
service = "csv"
unit = "acre-ft/day"
cadences = ["daily"]
daily_from = 2024-01-01
csv = {{ path = "{csv}", time = "date", value = "evaporation_acre_ft", stamp_zone = "-08:00", missing = ["", "---"] }}
"#
    )
}

/// The program, with folders of its own below `home`.
pub fn program(home: &Path) -> std::process::Command {
    let mut program = std::process::Command::new(assert_cmd::cargo::cargo_bin("plungeline"));
    program
        .current_dir(root())
        .env("XDG_CACHE_HOME", home.join("cache"))
        .env("XDG_DATA_HOME", home.join("data"))
        .env("XDG_CONFIG_HOME", home.join("config"))
        .env_remove("NO_COLOR");
    program
}

/// Status, standard output, standard error.
pub fn run(home: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = program(home)
        .args(arguments)
        .output()
        .expect("the program starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (
        output.status.code().expect("a status"),
        text(output.stdout),
        text(output.stderr),
    )
}

/// A lake file in the configuration folder of `home`.
pub fn configure(home: &Path, name: &str, text: &str) {
    let folder = home.join("config/plungeline/lakes");
    std::fs::create_dir_all(&folder).expect("writable");
    std::fs::write(folder.join(format!("{name}.toml")), text).expect("writable");
}
