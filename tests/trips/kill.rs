//! A program killed while it writes leaves the log as it was, or with all that it was to write.

use std::process::{Command, Stdio};
use std::time::Duration;

use plungeline::trips::forms::trips_csv;
use plungeline::trips::{TripLog, Twins};

use super::scene::{as_of, trip};
use crate::house::source::root;

#[test]
fn an_import_that_is_killed_is_whole_or_has_not_been() {
    const KILLS: u64 = 8;
    let folder = tempfile::tempdir().unwrap();
    let trips: Vec<_> = (0..2000)
        .map(|i| {
            let day = chrono::NaiveDate::from_ymd_opt(2015, 1, 1).unwrap() + chrono::Duration::days(i);
            trip(&format!(
                "{day} sorrel 4h 2 rods rainbow-trout 18in,20in,16in then main 2h 2 rods blank"
            ))
        })
        .collect();
    let file = folder.path().join("many.csv");
    std::fs::write(&file, trips_csv(&trips)).unwrap();
    let mut seen = [0usize; 2];
    for kill in 0..KILLS {
        let store = folder.path().join(kill.to_string());
        let log = store.join("harrow-gap");
        let before = trip("2014-10-08 main 4h 2 rods blank");
        TripLog::open(&log)
            .unwrap()
            .add(&[before], Twins::Refuse, as_of())
            .unwrap();
        let mut program = Command::new(assert_cmd::cargo::cargo_bin("plungeline"))
            .args(["log", "import", "--as-of", "2025-10-09T20:00", "--lake"])
            .arg(root().join("config/lakes/harrow-gap.toml"))
            .arg("--store")
            .arg(&store)
            .arg(&file)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(Duration::from_millis(40 + 60 * kill));
        // It may have ended by itself.
        let _ = program.kill();
        program.wait().expect("the program ends");
        let count = TripLog::open(&log).unwrap().trips().unwrap().len();
        assert!(count == 1 || count == 2001, "{count} trips after a kill");
        seen[usize::from(count > 1)] += 1;
    }
    println!(
        "{} kills before the end of the write, {} after it",
        seen[0], seen[1]
    );
}
