//! What the fuzzer starts from, and what it has found, through every reader: each is read or refused.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use crate::fuzz_targets::targets;
use crate::house::source::{root, walk};

fn files(path: &Path) -> Vec<PathBuf> {
    if path.is_file() {
        return vec![path.to_owned()];
    }
    let mut found = Vec::new();
    walk(path, &mut |file| found.push(file.to_owned()));
    found
}

#[test]
fn every_seed_and_every_damaged_file_is_read_or_refused() {
    let mut crashes = Vec::new();
    for target in targets() {
        let mut inputs = files(&root().join(&target.seeds));
        assert!(!inputs.is_empty(), "{}: nothing to start from", target.name);
        inputs.extend(files(&root().join("fixtures/damaged")));
        for input in inputs {
            let bytes = std::fs::read(&input).expect("readable");
            if catch_unwind(AssertUnwindSafe(|| (target.run)(&bytes))).is_err() {
                crashes.push(format!("{} on {}", target.name, input.display()));
            }
        }
    }
    assert!(crashes.is_empty(), "readers gave up:\n{}", crashes.join("\n"));
}
