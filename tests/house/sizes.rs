//! Files of about 400 lines at most.

use super::source::sources;

/// "About 400": one tenth more is let pass.
const MOST_LINES: usize = 440;

#[test]
fn no_source_file_is_longer_than_about_400_lines() {
    let long: Vec<String> = ["src", "tests"]
        .into_iter()
        .flat_map(sources)
        .filter(|s| s.text.lines().count() > MOST_LINES)
        // The model of the lake file is one long list of documented fields.
        .filter(|s| s.path != "src/lake/model.rs")
        .map(|s| format!("{}: {} lines", s.path, s.text.lines().count()))
        .collect();
    assert!(
        long.is_empty(),
        "split these into a folder of the same name:\n{}",
        long.join("\n")
    );
}
