//! The sources of the program, as text.

use std::path::{Path, PathBuf};

/// A source file: its path from the repository's root, and its text.
#[derive(Clone)]
pub struct Source {
    pub path: String,
    pub text: String,
}

impl Source {
    /// The text before the first test module: what the program itself is.
    pub fn program(&self) -> &str {
        self.text.split("#[cfg(test)]").next().unwrap_or("")
    }

    /// Whether the whole file holds tests: under a folder `tests`, or named `tests.rs`, `..._tests.rs`.
    pub fn is_test(&self) -> bool {
        let compiled_for_tests = self.text.contains("#![cfg(test)]");
        compiled_for_tests
            || self.path.contains("/tests/")
            || self.path.ends_with("tests.rs")
            || self.path.starts_with("tests/")
    }

    /// First folder under `src`, or the file itself (`lake`, `units.rs`).
    pub fn room(&self) -> &str {
        self.path
            .trim_start_matches("src/")
            .split('/')
            .next()
            .unwrap_or("")
    }
}

/// The repository's root.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All Rust files under `folder`, test files beside the code left out.
pub fn sources(folder: &str) -> Vec<Source> {
    let mut found = Vec::new();
    walk(&root().join(folder), &mut |path| {
        if path.extension().is_some_and(|e| e == "rs") {
            let relative = path
                .strip_prefix(root())
                .expect("under the root")
                .to_string_lossy()
                .into_owned();
            let text = std::fs::read_to_string(path).expect("readable source");
            found.push(Source { path: relative, text });
        }
    });
    assert!(!found.is_empty(), "no Rust file under {folder}");
    found
}

/// Calls `visit` for every file under `folder`, in order of name.
pub fn walk(folder: &Path, visit: &mut impl FnMut(&Path)) {
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|entry| entry.expect("readable folder").path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            walk(&path, visit);
        } else {
            visit(&path);
        }
    }
}

/// A document of the repository.
pub fn document(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}
