//! What the documents promise about the code.

use plungeline::quantity::Quantity;

use super::source::{document, root, sources, walk};

#[test]
fn the_glossary_defines_every_quantity() {
    let glossary = document("docs/glossary.md");
    let absent: Vec<&str> = Quantity::ALL
        .into_iter()
        .map(Quantity::column)
        .filter(|c| !glossary.contains(&format!("`{c}`")))
        .collect();
    assert!(absent.is_empty(), "not in docs/glossary.md: {absent:?}");
}

#[test]
fn every_formula_stands_in_the_index_of_methods() {
    let index = document("docs/methods.md");
    let mut absent = Vec::new();
    for source in sources("src").into_iter().filter(|s| s.room() == "physics") {
        for line in source.program().lines() {
            if let Some(rest) = line.strip_prefix("pub fn ") {
                let name: String = rest
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                if !index.contains(&format!("`{name}`")) {
                    absent.push(format!("{}: {name}", source.path));
                }
            }
        }
    }
    assert!(
        absent.is_empty(),
        "not in docs/methods.md:\n{}",
        absent.join("\n")
    );
}

#[test]
fn every_source_file_begins_with_what_it_holds() {
    let absent: Vec<String> = ["src", "tests"]
        .into_iter()
        .flat_map(sources)
        .filter(|s| !s.text.starts_with("//!"))
        .map(|s| s.path)
        .collect();
    assert!(absent.is_empty(), "no opening line:\n{}", absent.join("\n"));
}

/// Variants that no test provokes yet. The list may only shrink: a variant that a test names must leave it.
const OWED: [&str; 22] = [
    "src/error.rs: NoLake",
    "src/error.rs: Clock",
    "src/error.rs: Quality",
    "src/error.rs: Source",
    "src/error.rs: Archive",
    "src/error.rs: Demo",
    "src/error.rs: Runtime",
    "src/quality/error.rs: Syntax",
    "src/quality/error.rs: Unsound",
    "src/series/error.rs: NoHome",
    "src/series/error.rs: Encode",
    "src/series/error.rs: WrongCadence",
    "src/series/error.rs: TooShort",
    "src/series/error.rs: NoEndMark",
    "src/series/error.rs: NoSeal",
    "src/series/error.rs: BrokenSeal",
    "src/series/error.rs: Lacks",
    "src/series/error.rs: Row",
    "src/series/error.rs: Notes",
    "src/sources/error.rs: Setup",
    "src/sources/error.rs: NotOffered",
    "src/sources/error.rs: Header",
];

#[test]
fn every_error_variant_is_provoked_in_some_test() {
    let mut tests = String::new();
    for source in sources("tests") {
        tests.push_str(&source.text);
    }
    for source in sources("src") {
        let inner = source.text.split_once("#[cfg(test)]").map_or("", |(_, t)| t);
        tests.push_str(inner);
        if source.is_test() {
            tests.push_str(&source.text);
        }
    }
    let mut absent = Vec::new();
    for source in sources("src")
        .into_iter()
        .filter(|s| s.path.ends_with("error.rs"))
    {
        for variant in variants(source.program()) {
            if !tests.contains(&format!("::{variant}")) {
                absent.push(format!("{}: {variant}", source.path));
            }
        }
    }
    let fresh: Vec<&String> = absent.iter().filter(|v| !OWED.contains(&v.as_str())).collect();
    assert!(fresh.is_empty(), "no test names these:\n{fresh:?}");
    let paid: Vec<&&str> = OWED.iter().filter(|v| !absent.iter().any(|a| a == **v)).collect();
    assert!(
        paid.is_empty(),
        "these are named by a test now, take them off the list:\n{paid:?}"
    );
}

/// Names of the variants of the enums in a file: identifiers after an `#[error(...)]` line.
fn variants(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut after_message = false;
    for line in text.lines().map(str::trim) {
        if line.starts_with("#[error(") {
            after_message = true;
            continue;
        }
        if after_message && line.starts_with(char::is_uppercase) {
            found.push(line.chars().take_while(|c| c.is_alphanumeric()).collect());
            after_message = false;
        }
    }
    found
}

#[test]
fn every_folder_of_fixtures_says_where_it_comes_from() {
    let mut absent = Vec::new();
    for entry in std::fs::read_dir(root().join("fixtures")).expect("fixtures") {
        let folder = entry.expect("readable folder").path();
        if folder.is_dir() {
            let mut files = 0;
            walk(&folder, &mut |_| files += 1);
            if files > 0 && !folder.join("README.md").exists() {
                absent.push(folder.display().to_string());
            }
        }
    }
    assert!(absent.is_empty(), "no README.md in {absent:?}");
}
