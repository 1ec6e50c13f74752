//! Ten faulty imports: each says what was done, what was found, what was wanted and how to mend it, and changes nothing.

use std::path::Path;

use plungeline::trips::{
    FILE_CAP_BYTES, FileForm, ImportOptions, TripError, TripLog, Twins, forms::trips_csv, trips_in_file,
};

use super::scene::{as_of, file, known, lake, trip};
use super::tracks::{gpx, straight};

/// The message of a file that is refused.
fn refusal(path: &Path, options: &ImportOptions) -> (TripError, String) {
    let error = trips_in_file(path, options, &known()).expect_err("a faulty file");
    let message = error.to_string();
    assert!(
        message.contains("nothing was changed in the log") || matches!(error, TripError::UnknownForm { .. }),
        "{message}"
    );
    (error, message)
}

/// That a message of a faulty file has all these words.
fn says(name: &str, bytes: &[u8], words: &[&str]) {
    let (_folder, path) = file(name, bytes);
    let (error, message) = refusal(&path, &ImportOptions::default());
    assert!(matches!(error, TripError::Faulty { .. }), "{message}");
    for word in words.iter().chain(&["found", "wanted"]) {
        assert!(message.contains(word), "{word:?} is not in\n{message}");
    }
}

/// A foreign table with its map.
fn foreign(table: &str, map: &str) -> Result<usize, String> {
    let (folder, path) = file("log.csv", table.as_bytes());
    let map_path = folder.path().join("columns.toml");
    std::fs::write(&map_path, map).unwrap();
    let options = ImportOptions {
        map: Some(map_path),
        ..ImportOptions::default()
    };
    let read = trips_in_file(&path, &options, &known());
    read.map(|imported| imported.trips.len())
        .map_err(|error| error.to_string())
}

const MAP: &str = "date = \"Date\"\ndate_format = \"%m/%d/%Y\"\nzone = \"Area\"\nstart = \"In\"\nend = \"Out\"\nrods = \"Lines\"\n\
                   depth = \"Depth\"\ndepth_unit = \"ft\"\nnote = \"Remarks\"\nblank_is_zero = true\n\n[zones]\n\"Sorrel\" = \"sorrel\"\n\n\
                   [catch]\n\"Trout\" = \"rainbow-trout\"\n";
const HEADER: &str = "Date,Area,In,Out,Lines,Depth,Trout,Remarks\n";

#[test]
fn a_wrong_zone() {
    let csv = trips_csv(&[trip("2025-10-08 sorrel 4h 2 rods blank")]).replace(",sorrel,", ",bay,");
    says(
        "log.csv",
        csv.as_bytes(),
        &[
            "leg 1",
            "zone \"bay\"",
            "main, sorrel, wicket",
            "correct the word",
        ],
    );
    let said = foreign(&format!("{HEADER}10/08/2025,Lagoon,6:30,11:00,2,18,3,\n"), MAP).unwrap_err();
    assert!(said.contains("line 2, leg 1: found zone \"Lagoon\""), "{said}");
}

#[test]
fn negative_hours() {
    let csv = trips_csv(&[trip("2025-10-08 sorrel 4h 2 rods blank")]).replace(",4,2,", ",-4,2,");
    says(
        "log.csv",
        csv.as_bytes(),
        &["-4 hours", "more than 0 and at most 24", "begin before you end"],
    );
    let said = foreign(&format!("{HEADER}10/08/2025,Sorrel,11:00,6:30,2,18,3,\n"), MAP).unwrap_err();
    assert!(
        said.contains("line 2, column In") && said.contains("ends before it begins"),
        "{said}"
    );
}

#[test]
fn times_that_the_lakes_clocks_do_not_have_or_that_lie_ahead() {
    // Energy Policy Act of 2005, section 110: on 9 March 2025 the clocks went from 2:00 to 3:00.
    let said = foreign(&format!("{HEADER}03/09/2025,Sorrel,2:30,6:30,2,18,3,\n"), MAP).unwrap_err();
    assert!(
        said.contains("America/Los_Angeles skip") && said.contains("give the hours fished instead"),
        "{said}"
    );
    let said = foreign(&format!("{HEADER}10/10/2025,Sorrel,6:30,11:00,2,18,3,\n"), MAP).unwrap_err();
    assert!(
        said.contains("2025-10-10, which lies ahead") && said.contains("a day up to 2025-10-09"),
        "{said}"
    );
    // Written in another zone: the day at the lake is another than that of the trip.
    let csv = trips_csv(&[trip("2025-10-08 sorrel 6:30-11:00 2 rods blank")])
        .replace("2025-10-08T13:30:00Z", "2025-10-06T13:30:00Z");
    says(
        "log.csv",
        csv.as_bytes(),
        &[
            "2025-10-06 at the lake (America/Los_Angeles)",
            "one on 2025-10-08",
            "with their offset",
        ],
    );
}

#[test]
fn a_duplicate_trip_is_passed_over_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = TripLog::open(folder.path()).unwrap();
    let timed = trip("2025-10-08 sorrel 6:30-11:00 2 rods blank");
    let untimed = trip("2025-10-07 main 4h 2 rods rainbow-trout 1");
    log.add(&[timed.clone(), untimed.clone()], Twins::Refuse, as_of())
        .unwrap();
    let before = log.trips().unwrap();
    // The same hours elsewhere, and the same trip counted otherwise, are the same trip.
    let moved = trip("2025-10-08 main 8:00-9:00 1 rod blank");
    let recounted = trip("2025-10-07 main 4h 2 rods rainbow-trout 2");
    let new = trip("2025-10-06 main 4h 2 rods blank");
    let error = log
        .add(&[new.clone(), moved.clone()], Twins::Refuse, as_of())
        .unwrap_err();
    assert!(matches!(error, TripError::Twin { number: 1, .. }), "{error}");
    assert!(
        error.to_string().contains("plungeline log show 1") && error.to_string().contains("--again"),
        "{error}"
    );
    assert_eq!(log.trips().unwrap(), before, "not even the new one before it");
    let added = log.add(&[new, moved, recounted], Twins::Skip, as_of()).unwrap();
    assert_eq!(
        (
            added.numbers.len(),
            added.twins.iter().map(|t| t.1).collect::<Vec<_>>()
        ),
        (1, vec![1, 2])
    );
}

#[test]
fn a_half_written_file() {
    let trips = [
        trip("2025-10-08 sorrel 4h 2 rods blank note a wind"),
        trip("2025-10-07 main 2h 2 rods blank"),
    ];
    let csv = trips_csv(&trips);
    // Cut within a line, and at the end of one.
    says(
        "log.csv",
        &csv.as_bytes()[..csv.len() - 60],
        &["cut short", "export it again"],
    );
    let lines: Vec<&str> = csv.lines().collect();
    let whole_lines = lines[..lines.len() - 2].join("\n");
    says(
        "log.csv",
        whole_lines.as_bytes(),
        &["the end of the file", "the row \"end\"", "cut short"],
    );
    let json = plungeline::trips::forms::trips_json(&trips);
    says(
        "log.json",
        &json.as_bytes()[..json.len() / 2],
        &["EOF", "cut short"],
    );
    let parquet = plungeline::trips::forms::trips_parquet(&trips).unwrap();
    says("log.parquet", &parquet[..parquet.len() / 2], &["export it again"]);
    let mut altered = parquet.clone();
    altered[20] ^= 1;
    says("log.parquet", &altered, &["do not match their seal"]);
    let track = gpx(&straight(100, 5.0));
    says(
        "track.gpx",
        &track.as_bytes()[..track.len() / 2],
        &["export the track again"],
    );
    says("log.csv", b"", &["an empty file", "--map"]);
    says("log.csv", b"Date,Area\n", &["no column record", "--map"]);
}

#[test]
fn a_gpx_without_times() {
    let mut track = gpx(&straight(50, 5.0));
    while let Some(at) = track.find("<time>") {
        let end = track.find("</time>").unwrap() + "</time>".len();
        track.replace_range(at..end, "");
    }
    says(
        "track.gpx",
        track.as_bytes(),
        &[
            "50 points, none of them with a time",
            "not a route or a drawn line",
        ],
    );
    let drawn = "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Placemark><LineString><coordinates>-119.59,42.22,0 \
                 -119.58,42.23,0</coordinates></LineString></Placemark></kml>";
    says(
        "track.kml",
        drawn.as_bytes(),
        &["2 points, none of them with a time"],
    );
}

#[test]
fn a_file_of_200_megabytes_is_refused_at_once() {
    for name in ["track.gpx", "track.kml", "log.csv", "log.json", "log.parquet"] {
        let (_folder, path) = file(name, b"<gpx>");
        // A file with a hole: no disk is filled.
        std::fs::OpenOptions::new()
            .write(true)
            .open(&path)
            .unwrap()
            .set_len(200 * 1024 * 1024)
            .unwrap();
        let begun = std::time::Instant::now();
        let (error, message) = refusal(&path, &ImportOptions::default());
        assert!(
            matches!(
                error,
                TripError::TooLarge {
                    cap_bytes: FILE_CAP_BYTES,
                    ..
                }
            ),
            "{message}"
        );
        assert!(message.contains("cut the file into parts"), "{message}");
        // It is not read; a second is a hundred times what it takes.
        assert!(begun.elapsed().as_secs_f64() < 1.0, "{name}");
    }
}

#[cfg(unix)]
#[test]
fn a_stream_without_end_is_read_to_the_bound_and_no_further() {
    for form in [FileForm::Csv, FileForm::Gpx] {
        let options = ImportOptions {
            form: Some(form),
            ..ImportOptions::default()
        };
        let (error, message) = refusal(Path::new("/dev/zero"), &options);
        assert!(matches!(error, TripError::TooLarge { .. }), "{message}");
    }
}

#[test]
fn formulas_in_cells_are_text_and_run_nowhere() {
    let table =
        format!("{HEADER}10/08/2025,Sorrel,6:30,11:00,2,18,3,\"=HYPERLINK(\"\"http://x\"\",\"\"y\"\")\"\n");
    assert_eq!(foreign(&table, MAP), Ok(1));
    let (folder, path) = file("log.csv", table.as_bytes());
    std::fs::write(folder.path().join("m.toml"), MAP).unwrap();
    let options = ImportOptions {
        map: Some(folder.path().join("m.toml")),
        ..ImportOptions::default()
    };
    let trips = trips_in_file(&path, &options, &known()).unwrap().trips;
    assert_eq!(trips[0].note.as_deref(), Some("=HYPERLINK(\"http://x\",\"y\")"));
    let csv = trips_csv(&trips);
    assert!(
        csv.contains("\"'=HYPERLINK(") && !csv.contains(",=") && !csv.contains(",\"="),
        "{csv}"
    );
    // A formula where a figure or a zone belongs is a fault, not a figure.
    let said = foreign(&format!("{HEADER}10/08/2025,=A1,6:30,11:00,=1+1,18,3,\n"), MAP).unwrap_err();
    assert!(
        said.contains("column Lines: found \"=1+1\", wanted a number"),
        "{said}"
    );
}

#[test]
fn an_unknown_species() {
    let csv = trips_csv(&[trip("2025-10-08 sorrel 4h 2 rods rainbow-trout 2")])
        .replace("rainbow-trout", "golden-perch");
    says(
        "log.csv",
        csv.as_bytes(),
        &[
            "species \"golden-perch\"",
            "rainbow-trout, landlocked-chinook",
            "belong into the note",
        ],
    );
}

#[test]
fn a_full_disk_on_export_leaves_the_file_that_was_there() {
    // The full disk of an import is in `versions`; here the one of an export, on the device that is always full.
    #[cfg(target_os = "linux")]
    {
        let output = super::program::run(
            tempfile::tempdir().unwrap().path(),
            &["export", "--format", "csv", "--out", "/dev/full"],
        );
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(
            said.contains("cannot write /dev/full") && said.contains("--out"),
            "{said}"
        );
    }
}

#[test]
fn what_cannot_be_opened_or_has_no_form_is_said() {
    let error = trips_in_file(
        Path::new("/no/such/track.gpx"),
        &ImportOptions::default(),
        &known(),
    )
    .unwrap_err();
    assert!(matches!(error, TripError::Unreadable { .. }), "{error}");
    let (error, message) = refusal(Path::new("track.fit"), &ImportOptions::default());
    assert!(
        matches!(error, TripError::UnknownForm { .. }) && message.contains("--format"),
        "{message}"
    );
    let mut bare = lake().clone();
    bare.zones.iter_mut().for_each(|zone| zone.outline.clear());
    let (_folder, path) = file("track.gpx", gpx(&straight(400, 1.0)).as_bytes());
    let without = plungeline::trips::Known {
        lake: &bare,
        ..known()
    };
    let error = trips_in_file(&path, &ImportOptions::default(), &without).unwrap_err();
    assert!(matches!(error, TripError::NoOutlines), "{error}");
    let mut options = ImportOptions::default();
    options.cut.zone = Some(plungeline::lake::ZoneId::new("sorrel"));
    assert_eq!(
        trips_in_file(&path, &options, &without).unwrap().trips[0].legs[0]
            .zone
            .as_str(),
        "sorrel"
    );
}

#[test]
fn a_map_that_says_too_little_or_too_much_is_refused_whole() {
    for (map, words) in [
        (
            "date = \"Date\"\nzone = \"Area\"\nhours = \"Hours\"\ndepht = \"x\"\n",
            "unknown field",
        ),
        ("zone = \"Area\"\nzone_is = \"main\"\ndepth = \"D\"\n", "no date"),
        (
            "date = \"Date\"\nzone_is = \"main\"\nhours = \"H\"\ndepth = \"D\"\n",
            "no unit is guessed",
        ),
        (
            "date = \"Date\"\nzone_is = \"main\"\nhours = \"Gone\"\n",
            "a column \"Gone\"",
        ),
        ("date = ", "line 1"),
    ] {
        let said = foreign(HEADER, map).unwrap_err();
        assert!(said.contains(words), "{words:?} is not in {said}");
    }
    let map = MAP
        .replace("blank_is_zero = true\n", "")
        .replace("[catch]\n", "[catch]\n\"Lines\" = \"landlocked-chinook\"\n");
    let said = foreign(&format!("{HEADER}10/08/2025,Sorrel,6:30,11:00,2,18,,\n"), &map).unwrap_err();
    assert!(said.contains("blank_is_zero"), "{said}");
}
