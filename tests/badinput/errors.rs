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

/// Provokes `Error::Clock`.
#[test]
fn a_clock_that_cannot_be_read_is_answered_with_the_forms_that_can() {
    Run::new(&["brief", "--demo", "--as-of", "yesterday"]).says(2, &["\"yesterday\"", "2025-10-09T06:00"]);
}

/// Provokes `Error::Species`.
#[test]
fn a_species_that_the_program_does_not_know_is_answered_with_those_it_does() {
    let run = Run::new(&["brief", "--offline", "--as-of", "2025-10-09"]);
    let text = std::fs::read_to_string(root().join(LAKE)).expect("the lake file");
    let file = run.file("shark.toml", &text.replace("rainbow-trout", "bull-shark"));
    run.argument("--lake", &file)
        .says(1, &["\"bull-shark\"", "landlocked-chinook, rainbow-trout"]);
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
        .says(3, &["cannot read the earlier briefs", "cannot keep the brief"]);
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
