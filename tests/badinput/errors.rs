//! Every way for the program to end without an answer: its message and its exit status.
//!
//! The program is run as its user runs it, so a test sees the message and not the variant; the variant that
//! it provokes is named above it.

use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};

use assert_cmd::Command;

use crate::house::source::root;

/// A run in folders of its own.
struct Run {
    folder: tempfile::TempDir,
    program: Command,
}

impl Run {
    fn new(arguments: &[&str]) -> Run {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let mut program = Command::cargo_bin("plungeline").expect("the program is built");
        program
            .current_dir(root())
            .args(arguments)
            .env("XDG_CACHE_HOME", folder.path().join("cache"))
            .env("XDG_DATA_HOME", folder.path().join("data"))
            .env("XDG_CONFIG_HOME", folder.path().join("config"))
            .env_remove("NO_COLOR");
        Run { folder, program }
    }

    /// A path in the run's folder, with this in it.
    fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("writable");
        std::fs::write(&path, text).expect("writable");
        path
    }

    fn argument(mut self, name: &str, path: &Path) -> Run {
        self.program.arg(name).arg(path);
        self
    }

    fn environment(mut self, name: &str, path: &Path) -> Run {
        self.program.env(name, path);
        self
    }

    /// Runs, and checks that it ends with `status` and says all of `words` on standard error.
    fn says(mut self, status: i32, words: &[&str]) -> Output {
        let output = self.program.output().expect("the program starts");
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(status), "{stderr}");
        for word in words {
            assert!(stderr.contains(word), "{word:?} is not in {stderr:?}");
        }
        output
    }
}

const LAKE: &str = "config/lakes/harrow-gap.toml";

/// Provokes `Error::NoLake`.
#[test]
fn a_lake_that_is_not_there_is_named_with_those_that_are() {
    let run = Run::new(&["brief", "--lake", "sorrel"]);
    run.file("config/plungeline/lakes/harrow-gap.toml", "");
    run.says(2, &["no lake file \"sorrel\"", "lakes: harrow-gap", "--demo"]);
    Run::new(&["brief"]).says(2, &["no lake is named", "lakes: none"]);
}

/// Provokes `Error::Lake`.
#[test]
fn a_lake_file_that_is_not_there_or_faulty_is_named() {
    Run::new(&["brief", "--lake", "no/such.toml"]).says(2, &["no/such.toml", "docs/lake-file.md"]);
    Run::new(&["brief", "--lake", "fixtures/damaged/lake-cut-short.toml"]).says(2, &["lake-cut-short.toml:"]);
}

/// Provokes `LakeError::NoBrief`.
#[test]
fn a_brief_of_a_lake_that_serves_hindcasts_only_is_refused_with_what_it_lacks() {
    let sound = std::fs::read_to_string(root().join(LAKE)).expect("the demonstration lake");
    let (before, rest) = sound.split_once("\n[boat]").expect("the block is there");
    let (_, after) = rest.split_once("\n\n").expect("blocks after it");
    let without_boat = format!("{before}\n\n{after}");
    let southern = sound
        .replace("latitude = 42.", "latitude = -42.")
        .replace("[42.", "[-42.");
    let cases = [
        (southern, ["southern latitude", "hindcasts only"]),
        (without_boat, ["no [boat]", "add the block [boat]"]),
    ];
    for (text, words) in cases {
        let run = Run::new(&["brief", "--as-of", "2025-10-09T06:00"]);
        let file = run.file("lake.toml", &text);
        run.argument("--lake", &file).says(2, &words);
    }
}

/// Provokes `Error::Clock`.
#[test]
fn a_clock_that_cannot_be_read_is_answered_with_the_forms_that_can() {
    Run::new(&["brief", "--demo", "--as-of", "yesterday"]).says(2, &["\"yesterday\"", "2025-10-09T06:00"]);
    // The clocks of the lake change at 2:00 on 8 March and 1 November 2026 (Energy Policy Act of 2005).
    Run::new(&["brief", "--demo", "--as-of", "2026-03-08T02:30"])
        .says(2, &["skip that day", "\"2026-03-08T02:30\""]);
    Run::new(&["brief", "--demo", "--as-of", "2026-11-01T01:30"]).says(
        2,
        &["twice", "2026-11-01T01:30:00-07:00 or 2026-11-01T01:30:00-08:00"],
    );
}

#[test]
fn a_species_that_the_program_does_not_know_is_a_fault_of_the_lake_file_at_its_place() {
    let text = std::fs::read_to_string(root().join(LAKE)).expect("the lake file");
    let text = text.replace("rainbow-trout", "bull-shark");
    let line = text
        .lines()
        .position(|l| l.starts_with("id = \"bull-shark\""))
        .expect("its block")
        + 1;
    for command in [
        &["brief", "--offline", "--as-of", "2025-10-09", "--lake"][..],
        &["lake", "check"],
    ] {
        let mut run = Run::new(command);
        let file = run.file("shark.toml", &text);
        let output = run.program.arg(&file).output().expect("the program starts");
        assert_eq!(output.status.code(), Some(2), "{command:?}");
        let said = [output.stdout, output.stderr].concat();
        let said = String::from_utf8_lossy(&said);
        let place = format!("shark.toml:{line}:6: found id = \"bull-shark\"");
        assert!(said.contains(&place), "{place}: {said}");
        for known in ["kokanee", "landlocked-chinook", "rainbow-trout"] {
            assert!(said.contains(known), "{known}: {said}");
        }
    }
}

/// Provokes `Error::Quality`.
#[test]
fn thresholds_of_ones_own_judge_the_values_and_a_fault_in_them_has_its_place() {
    const HEAD: &str =
        "[history]\nsettled_days = 60\nrecord_years = 2\n[neighbours]\ncontinuous_h = 3\ndaily_h = 36\n";
    let run = Run::new(&["brief", "--demo"]);
    let file = run.file(
        "own.toml",
        &format!("{HEAD}[water_temp_degc.daily]\nfail_min = \"x\"\n"),
    );
    run.argument("--quality", &file)
        .says(2, &["own.toml:8:", "config/quality.toml"]);
    Run::new(&["pull", "--demo", "--quality", "no/such.toml"]).says(2, &["no/such.toml"]);

    // Every surface temperature of the demonstration lake is above 0 degC, so each of two months is suspect.
    let run = Run::new(&["brief", "--demo", "--format", "json"]);
    let own = format!("{HEAD}[water_temp_degc.continuous]\nsuspect_max = 0.0\n");
    let file = run.file("own.toml", &own);
    let output = run.argument("--quality", &file).says(0, &[]);
    let brief: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let inputs = brief["inputs"].as_array().expect("inputs");
    let surface = inputs
        .iter()
        .find(|i| i["series"] == "surface" && i["cadence"] == "continuous")
        .expect("the surface series");
    assert!(surface["suspect_60d"].as_u64() > Some(1000), "{surface}");
}

/// A device without end is given up at the longest reply or lake file there may be.
#[test]
#[cfg(target_os = "linux")]
fn a_file_without_end_is_refused() {
    // Patience and caps: Settings::reply_cap_bytes, 64 MiB.
    Run::new(&["read", "/dev/zero"]).says(1, &["/dev/zero", "more than 67108864 bytes", "regular file"]);
    Run::new(&["lake", "check", "/dev/zero"]).says(2, &["/dev/zero", "more than 16777216 bytes"]);
}

/// Provokes `Error::Source`.
#[test]
fn a_file_that_is_no_reply_of_any_service_is_refused() {
    Run::new(&["read", "fixtures/damaged/reply-page.html"]).says(1, &["an HTML page", "wanted JSON"]);
}

/// Provokes `SourceError::Setup`: a machine without any certificate. Nothing is asked of any service.
#[test]
#[cfg(target_os = "linux")]
fn a_machine_without_certificates_is_told_what_it_lacks() {
    let run = Run::new(&["pull", "--lake", LAKE]);
    let none = run.file("none.pem", "");
    let empty = run.folder.path().join("empty");
    std::fs::create_dir(&empty).expect("writable");
    run.environment("SSL_CERT_FILE", &none)
        .environment("SSL_CERT_DIR", &empty)
        .says(1, &["setting up the network client", "ca-certificates"]);
}

/// Provokes `Error::Store`.
#[test]
fn a_store_whose_folder_is_a_file_is_named() {
    let run = Run::new(&["pull", "--lake", LAKE, "--offline"]);
    let file = run.file("taken", "");
    run.argument("--store", &file).says(1, &["the store", "taken"]);
}

/// Provokes `Error::Archive`: it is said, and costs the brief nothing.
#[test]
fn briefs_that_can_be_neither_read_nor_kept_are_named_and_the_brief_stands() {
    let run = Run::new(&["brief", "--lake", LAKE, "--offline", "--as-of", "2025-10-09"]);
    let file = run.file("store/harrow-gap/issued-briefs", "");
    let store = file.ancestors().nth(2).expect("two folders up").to_owned();
    // Without any data, 3: too thin.
    let output = run
        .argument("--store", &store)
        .says(3, &["which was issued earlier", "cannot keep"]);
    assert!(String::from_utf8_lossy(&output.stdout).starts_with("Harrow Gap Reservoir"));
}

/// Provokes `Error::Demo`.
#[test]
fn a_cache_folder_that_takes_nothing_is_named() {
    let run = Run::new(&["brief", "--demo"]);
    let file = run.file("taken", "");
    run.environment("XDG_CACHE_HOME", &file).says(
        1,
        &[
            "cannot unpack the demonstration data",
            "taken",
            "set XDG_CACHE_HOME",
        ],
    );
}

/// Provokes `Error::Output`: the disk behind standard output is full.
#[test]
#[cfg(target_os = "linux")]
fn a_brief_that_cannot_be_written_out_is_a_failure() {
    let full = std::fs::File::options()
        .write(true)
        .open("/dev/full")
        .expect("every Linux has it");
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin("plungeline"))
        .current_dir(root())
        .args(["read", "fixtures/replies/csv/evaporation-harrow-gap.csv"])
        .stdout(Stdio::from(full))
        .stderr(Stdio::piped())
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(1));
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(stderr.contains("cannot write to standard output"), "{stderr}");
}

/// Provokes `Error::SinceAhead`; a day that cannot be read is refused before that, by the command line.
#[test]
fn a_day_to_fetch_from_that_is_no_day_or_lies_ahead_is_refused() {
    Run::new(&["pull", "--demo", "--since", "yesterday"]).says(2, &["wanted a day such as 2025-10-01"]);
    // The demonstration's morning is 2025-10-09.
    Run::new(&["pull", "--demo", "--since", "2025-10-10"])
        .says(2, &["--since: found 2025-10-10, wanted a day up to 2025-10-09"]);
}

const TARN: &str = "fixtures/hindcast/quill-tarn.toml";

/// Provokes `Error::HindcastInput`: a lake file that says nothing of a hindcast.
#[test]
fn a_hindcast_of_a_lake_without_its_block_says_what_is_wanted() {
    Run::new(&["hindcast", LAKE]).says(2, &["found no [hindcast]", "docs/lake-file.md"]);
}

/// Provokes `Error::Outlook`: the invented tarn has profiles of one day.
#[test]
fn outlooks_of_past_years_need_autumns_and_say_what_would_mend_it() {
    Run::new(&["turnover", "--hindcast", "--lake", TARN]).says(
        2,
        &[
            "found 0 autumns",
            "wanted at least 4",
            "add profiles of more years",
        ],
    );
    Run::new(&["turnover", "--hindcast", "--lake", LAKE])
        .says(2, &["found no [hindcast]", "docs/lake-file.md"]);
}

/// Provokes `Error::HindcastPage`.
#[test]
fn outlooks_of_past_years_have_no_page() {
    Run::new(&["turnover", "--hindcast", "--lake", TARN, "--format", "html"])
        .says(2, &["found --format html", "wanted text or json"]);
}

/// Provokes `Error::HindcastModel`.
#[test]
fn a_factor_that_the_model_does_not_have_is_answered_with_those_that_it_has() {
    let lake = std::fs::read_to_string(root().join(TARN)).expect("the invented lake");
    let run = Run::new(&["hindcast", "tarn", "--tables", "fixtures/hindcast"]);
    run.file(
        "config/plungeline/lakes/tarn.toml",
        &lake.replace("\"wind_frac\"", "\"stirring\""),
    );
    run.says(2, &["stirring = 1.1", "extinction_frac"]);
}

/// Provokes `Error::NotWritten`.
#[test]
fn a_report_that_cannot_be_written_names_the_file() {
    let run = Run::new(&["hindcast", TARN]);
    let file = run.file("there", "a file where a folder is wanted");
    run.argument("--out", &file)
        .says(1, &["cannot write", "there", "--out"]);
}

/// Provokes `Error::Fit`.
#[test]
fn a_half_life_that_cannot_be_is_named_with_what_is_wanted() {
    Run::new(&["fit", "--demo", "--half-life-days", "0"])
        .says(2, &["half-life in days", "is 0", "wanted a number above 0"]);
}

/// Provokes `Error::Message`.
#[test]
fn an_address_that_would_begin_a_header_is_refused_and_not_mended() {
    let message = ["digest", "preview", "--demo", "--format", "eml", "--to"];
    let run = |to: &str| Run::new(&[&message[..], &[to]].concat());
    run("a@example.org\r\nBcc: b@example.org").says(2, &["found the address", "wanted one such as"]);
}
