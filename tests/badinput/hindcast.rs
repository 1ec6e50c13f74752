//! Faulty lake files and tables of a hindcast.

use std::path::Path;

use plungeline::faces::faults::{render_fault, render_faults};
use plungeline::hindcast::InputError;
use plungeline::hindcast::input::assemble;
use plungeline::lake::{Fault, Lake, read_lake};
use plungeline::sources::{SourceError, read_file, service_rules};
use rstest::rstest;

use crate::house::source::{document, root};

const FILE: &str = "fixtures/hindcast/quill-tarn.toml";

fn read(text: &str) -> Result<Lake, Vec<Fault>> {
    read_lake(text, Path::new("quill-tarn.toml"), &service_rules())
}

fn changed(from: &str, to: &str) -> String {
    let text = document(FILE);
    assert!(text.contains(from), "{from} is not in {FILE}");
    text.replacen(from, to, 1)
}

/// Every fault says the place of the line that holds `at`, or of the block that does.
#[rstest]
#[case("unit = \"degF\" },", "unit = \"hPa\" },", "unit = \"hPa\"", "degC, degF, K")]
#[case("what = \"air_temp\"", "what = \"air_tmp\"", "what = \"air_tmp\"", "air_temp")]
#[case(
    "what = \"air_temp\", column = \"air_f\", unit = \"degF\"",
    "what = \"wind_speed\", column = \"air_f\", unit = \"mph\"",
    "second column of wind_speed",
    "each quantity"
)]
#[case(
    "what = \"relative_humidity\"",
    "what = \"cloud_cover\"",
    "without dew_point",
    "vapour_pressure"
)]
#[case("step_h = 24.0 ", "step_h = 48.0 ", "step_h = 48", "0.1667 to 24")]
#[case(
    "stamp = \"start\"  ",
    "stamp = \"begin\"  ",
    "stamp = \"begin\"",
    "start, middle, end"
)]
#[case(
    "stamp_zone = \"+12:00\"",
    "stamp_zone = \"NZ time\"",
    "stamp_zone = \"NZ time\"",
    "IANA"
)]
#[case("end = 2021-04-06", "end = 2021-03-06", "end = 2021-03-06", "2021-04-03")]
#[case("hold_level = false", "hold_level = true", "hold_level here", "no such key")]
#[case(
    "inflow = \"quill\"",
    "inflow = \"quil\"",
    "inflow = \"quil\"",
    "an id of inflows"
)]
#[case(
    "what = \"temp\", column = \"temp_c\", unit = \"degC\"",
    "what = \"oxygen\", column = \"temp_c\", unit = \"mg_l\"",
    "second column of oxygen",
    "in one column"
)]
#[case("outlet = \"works\"", "outlet = \"work\"", "outlet = \"work\"", "outlets")]
#[case("outlet = \"works\"   ", "# ", "without outlet", "several")]
#[case(
    "unit = \"acre_ft_day\"",
    "unit = \"acre_ft\"",
    "unit = \"acre_ft\"",
    "acre_ft_day"
)]
#[case("depth_unit = \"ft\"", "# ", "without depth_unit", "depths")]
#[case("high = 90.0", "high = 30.0", "high = 30", "more than low")]
#[case("depths = [ ", "depth = \"x\"\ndepths = [ ", "depth here", "no such key")]
#[case(
    "file = \"hypsography.csv\"",
    "rows = []\nfile = \"h.csv\"",
    "rows here",
    "beside file"
)]
#[case(
    "area_unit = \"acres\"",
    "area_unit = \"acre\"",
    "area_unit = \"acre\"",
    "acres"
)]
#[case(
    "depth_column =",
    "elevation_column = \"e\"\ndepth_column =",
    "depth_column here",
    "one of the two"
)]
#[case(
    "start_elevation_ft = 1495.0",
    "start_elevation_ft = 1595.0",
    "start_elevation at 1595",
    "full pool"
)]
#[case(
    "spin_up_days = 2 ",
    "spinup_days = 2 ",
    "unknown key \"spinup_days\"",
    "a key of hindcast"
)]
fn a_slip_in_the_block_is_named_at_its_place(
    #[case] from: &str,
    #[case] to: &str,
    #[case] found: &str,
    #[case] wanted: &str,
) {
    let text = changed(from, to);
    let faults = read(&text).expect_err("there is a fault");
    let named = faults
        .iter()
        .any(|f| f.found.contains(found) && format!("{} {}", f.wanted, f.mend).contains(wanted));
    assert!(named, "{}", render_faults(&faults));
    for fault in &faults {
        assert!(!render_fault(fault).contains('\n'));
        assert!(fault.line > 1, "{}", render_fault(fault));
    }
}

#[test]
fn rivers_without_release_or_level_ask_what_the_level_does() {
    let text = document(FILE);
    let without = |text: &str, header: &str| {
        let (before, rest) = text.split_once(header).expect("the block is there");
        let (_, after) = rest.split_once("\n\n").expect("blocks after it");
        format!("{before}\n\n{after}")
    };
    let text = without(&without(&text, "[[hindcast.release]]"), "[hindcast.level]");
    let text = text.replacen("hold_level = false", "# ", 1);
    let faults = read(&text).expect_err("there is a fault");
    assert_eq!(faults.len(), 1, "{}", render_faults(&faults));
    assert!(faults[0].found.contains("without hold_level"), "{:?}", faults[0]);
}

/// The error of the tables, one of them replaced.
fn error_with(file: &str, content: &[u8]) -> InputError {
    let lake = read(&document(FILE)).expect("it is sound");
    let folder = root().join("fixtures/hindcast");
    let open = |asked: &Path| -> Result<Vec<u8>, SourceError> {
        if asked == Path::new(file) {
            Ok(content.to_vec())
        } else {
            read_file(&folder.join(asked), 1_000_000)
        }
    };
    assemble(lake, &open).expect_err("a faulty table")
}

#[test]
fn a_lake_without_a_hindcast_has_no_input() {
    let mut lake = read(&document(FILE)).expect("it is sound");
    lake.hindcast = None;
    let open = |_: &Path| -> Result<Vec<u8>, SourceError> { Ok(Vec::new()) };
    let error = assemble(lake, &open).expect_err("no block");
    assert!(matches!(&error, InputError::NotDescribed { lake } if lake == "quill-tarn"));
}

#[test]
fn a_table_that_is_not_there_is_named() {
    let lake = read(&document(FILE)).expect("it is sound");
    let error =
        plungeline::hindcast::load_hindcast(lake, Path::new("no/such/folder")).expect_err("no tables");
    assert!(matches!(&error, InputError::File(_)), "{error}");
    assert!(error.to_string().contains("no/such/folder"), "{error}");
}

#[test]
fn a_column_that_is_not_there_is_named_with_the_file() {
    let error = error_with("weather.csv", b"day,air\n2021-04-01,3\n");
    assert!(matches!(&error, InputError::Read { .. }), "{error}");
    for word in ["weather.csv", "\"air\"", "air_f"] {
        assert!(error.to_string().contains(word), "{error}");
    }
}

#[rstest]
#[case("depth_ft,area_acres\n0,200\n", "one row")]
#[case("depth_ft,area_acres\n", "no rows")]
#[case("depth_ft,area_acres\n0,200\n50,250\n100,0\n", "m2 at")]
#[case("depth_ft,area_acres\n0,200\n50,100\n50,90\n", "two rows at")]
#[case("depth_ft,area_acres\n5,200\n100,0\n", "a highest row at")]
#[case("depth_ft,area_acres\n0,200\n10,100\n", "a lowest row at")]
fn a_hypsography_that_is_none_is_refused(#[case] table: &str, #[case] word: &str) {
    let error = error_with("hypsography.csv", table.as_bytes());
    assert!(matches!(&error, InputError::Hypsography { .. }), "{error}");
    assert!(error.to_string().contains(word), "{error}");
}

#[rstest]
#[case(
    "weather.csv",
    "day,air_f,humidity_pct,wind_mph,sun_mj,rain_in\n2021-04-01,59,70,10,17,0\n",
    "no value from"
)]
#[case(
    "flow.csv",
    "time,cfs\n2021-04-01T00:00,100\n2021-04-07T12:00,100\n",
    "discharge of quill"
)]
#[case(
    "release.csv",
    "day,acre_ft\n2021-04-02,2e12\n2021-04-07,1\n",
    "release of works: found"
)]
#[case("level.csv", "time,gauge_ft\n2021-04-01T00:00,\n", "level: found no value")]
fn a_table_with_a_hole_or_a_wild_value_is_refused_with_time_and_place(
    #[case] file: &str,
    #[case] table: &str,
    #[case] word: &str,
) {
    let error = error_with(file, table.as_bytes());
    assert!(matches!(&error, InputError::Forcing(_)), "{error}");
    assert!(
        error.to_string().contains(word) && error.to_string().contains("2021-0"),
        "{error}"
    );
}
