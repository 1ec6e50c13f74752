//! Every key of the files under `config` is explained in the file that has it.
//!
//! The keys of lake files and of the thresholds have tests beside their readers; here are those of species files and of common
//! practice.

use std::collections::BTreeSet;

use super::source::{document, root, walk};

/// Keys of a table and of the tables in it.
fn keys_of(table: &toml::Table, found: &mut BTreeSet<String>) {
    for (key, value) in table {
        found.insert(key.clone());
        match value {
            toml::Value::Table(inner) => keys_of(inner, found),
            toml::Value::Array(list) => {
                for inner in list.iter().filter_map(toml::Value::as_table) {
                    keys_of(inner, found);
                }
            }
            _ => {}
        }
    }
}

#[test]
fn every_key_of_a_species_file_and_of_common_practice_is_explained_in_it() {
    let mut files = Vec::new();
    walk(&root().join("config/species"), &mut |path| {
        let relative = path.strip_prefix(root()).expect("under the root");
        files.push(relative.to_string_lossy().into_owned());
    });
    assert!(files.len() >= 2, "{files:?}");
    files.push("config/ladder.toml".to_owned());
    for file in files {
        let text = document(&file);
        let comments: Vec<&str> = text.lines().filter(|l| l.trim_start().starts_with('#')).collect();
        let mut keys = BTreeSet::new();
        keys_of(&text.parse().expect("TOML"), &mut keys);
        let explained = |key: &&String| comments.iter().any(|c| c.contains(&format!("`{key}`")));
        let missing: Vec<&String> = keys.iter().filter(|k| !explained(k)).collect();
        assert!(
            missing.is_empty(),
            "{file}: no comment names {missing:?} in backquotes"
        );
    }
}
