//! Every reader of outside bytes has its target under the fuzzer.

use super::source::{root, sources};
use crate::fuzz_targets::targets;

/// Readers without a target of their own, and why.
const EXCUSED: [(&str, &str); 8] = [
    ("delivery::read_settings_file", "fetches bytes for read_settings"),
    ("sources::read_file", "fetches bytes and looks at none"),
    ("sources::read_standard_input", "fetches bytes and looks at none"),
    ("sources::read_json", "every reader of JSON goes through it"),
    ("lake/file::read_lake_file", "fetches bytes for read_lake_bytes"),
    (
        "lake/file::read_known_lake_file",
        "fetches bytes for read_lake_bytes",
    ),
    (
        "series/store::read_forecast",
        "its files are our own, and a seal (SHA-256) refuses a changed one before it is read",
    ),
    ("species::read_rules", "part of read_species"),
];

/// `folder::name` of every `pub fn` of the program; a file right under `src` counts as its folder.
fn functions() -> Vec<String> {
    let mut found = Vec::new();
    for source in sources("src").into_iter().filter(|s| !s.is_test()) {
        let path = source.path.trim_start_matches("src/").trim_end_matches(".rs");
        let folder = path.rsplit_once('/').map_or(path, |(folder, _)| folder);
        for line in source.program().lines() {
            if let Some(rest) = line.trim_start().strip_prefix("pub fn ") {
                let name: String = rest
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                found.push(format!("{folder}::{name}"));
            }
        }
    }
    found
}

#[test]
fn every_reader_has_a_fuzz_target() {
    let targets = targets();
    let listed = |reader: &str| targets.iter().any(|target| target.readers.contains(&reader));
    let absent: Vec<String> = functions()
        .into_iter()
        .filter(|f| f.split("::").last().is_some_and(|name| name.starts_with("read_")))
        .filter(|f| !listed(f) && !EXCUSED.iter().any(|(name, _)| name == f))
        .collect();
    assert!(
        absent.is_empty(),
        "add a line for each to tests/fuzz/targets.rs:\n{absent:#?}"
    );
}

#[test]
fn every_target_names_readers_and_seeds_that_there_are() {
    let functions = functions();
    let targets = targets();
    let gone: Vec<&str> = targets
        .iter()
        .flat_map(|target| target.readers)
        .copied()
        .filter(|reader| !functions.iter().any(|f| f == reader))
        .collect();
    assert!(gone.is_empty(), "no such readers: {gone:?}");
    let unseeded: Vec<&str> = targets
        .iter()
        .filter(|target| !root().join(&target.seeds).exists())
        .map(|target| target.name.as_str())
        .collect();
    assert!(unseeded.is_empty(), "nothing to start from: {unseeded:?}");
}
