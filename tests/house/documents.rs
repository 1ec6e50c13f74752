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

/// Variants that no test can provoke, and why.
const OUT_OF_REACH: [(&str, &str); 12] = [
    (
        "Error::Picture",
        "a picture is drawn with the program's own letters into memory, from numbers that are finite",
    ),
    (
        "Error::Parquet",
        "the tables are made with columns of one length, and written into memory",
    ),
    (
        "Error::Json",
        "a brief is made of texts, numbers and maps with text keys, which always become JSON",
    ),
    (
        "Error::Skill",
        "shares, hours and fish that are scored have been checked when they were called or logged",
    ),
    (
        "Error::Species",
        "the check of the lake file has refused a species without rules before",
    ),
    (
        "Error::Runtime",
        "without file descriptors or threads for it, other libraries have given up before",
    ),
    (
        "OutlookError::Model",
        "the hindcast of the same lake file refuses a model that cannot be built in the same words, and is provoked for it",
    ),
    (
        "OutlookError::Run",
        "weather without holes and levels within the table have been checked when the tables were read",
    ),
    (
        "OutlookError::Assimilation",
        "profiles with numbers that are finite, and members that differ, are always taken",
    ),
    (
        "OutlookError::Skill",
        "probabilities that are scaled to 1 just before are always scored",
    ),
    (
        "StoreError::NoHome",
        "wants a user whom the system's list of users gives no home, and no HOME",
    ),
    (
        "StoreError::Encode",
        "columns of one length and of types made there are always taken",
    ),
];

#[test]
fn every_error_variant_is_provoked_in_some_test() {
    let mut tests = String::new();
    for source in sources("tests")
        .iter()
        .filter(|s| !s.path.starts_with("tests/house/"))
    {
        tests.push_str(&source.text);
    }
    for source in sources("src") {
        let inner = source.text.split_once("#[cfg(test)]").map_or("", |(_, t)| t);
        tests.push_str(inner);
        if source.is_test() {
            tests.push_str(&source.text);
        }
    }
    let all: Vec<String> = sources("src")
        .into_iter()
        .filter(|s| s.path.ends_with("error.rs"))
        .flat_map(|s| variants(s.program()))
        .collect();
    let out_of_reach = |v: &str| OUT_OF_REACH.iter().any(|(name, _)| *name == v);
    let absent: Vec<&String> = all
        .iter()
        .filter(|v| !names(&tests, v) && !out_of_reach(v))
        .collect();
    assert!(absent.is_empty(), "no test names these:\n{absent:#?}");
    let stale: Vec<&str> = OUT_OF_REACH
        .iter()
        .map(|(name, _)| *name)
        .filter(|name| names(&tests, name) || !all.iter().any(|v| v == name))
        .collect();
    assert!(
        stale.is_empty(),
        "within reach, or gone; take them off the list: {stale:?}"
    );
}

/// Whether `text` holds `Enum::Variant` as a whole: `StoreError::Read` does not name `Error::Read`.
fn names(text: &str, variant: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(variant)
        .any(|(at, _)| !text[..at].ends_with(part) && !text[at + variant.len()..].starts_with(part))
}

/// `Enum::Variant` of the enums in a file: identifiers after an `#[error(...)]` line.
fn variants(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut of = String::new();
    let mut after_message = false;
    let word = |text: &str| {
        text.chars()
            .take_while(|c| c.is_alphanumeric())
            .collect::<String>()
    };
    for line in text.lines().map(str::trim) {
        if let Some((_, rest)) = line.split_once("enum ").filter(|_| !line.starts_with("//")) {
            of = word(rest);
        } else if line.starts_with("#[error(") {
            after_message = true;
        } else if after_message && line.starts_with(char::is_uppercase) {
            found.push(format!("{of}::{}", word(line)));
            after_message = false;
        }
    }
    found
}

#[test]
fn the_reader_of_variants_takes_whole_names() {
    let text = "pub enum E {\n    /// One.\n    #[error(\"one\")]\n    One,\n    #[error(transparent)]\n    Two(#[from] X),\n}";
    assert_eq!(variants(text), ["E::One", "E::Two"]);
    assert!(
        names("Err(E::One)", "E::One") && !names("StoreE::One", "E::One") && !names("E::OneMore", "E::One")
    );
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
