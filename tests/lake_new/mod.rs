//! `plungeline lake new` as its user runs it, on invented catalogues.

mod bad;
mod draft;
mod outage;
mod wording;

use std::path::{Path, PathBuf};

use assert_cmd::Command;

use crate::house::source::root;

/// The invented catalogues around the demonstration lake.
pub const CATALOGUES: &str = "fixtures/catalogues";

/// What a run said and how it ended.
pub struct Said {
    pub status: i32,
    pub out: String,
    pub err: String,
}

/// A folder of its own, and the program in it.
pub struct Scene {
    pub folder: tempfile::TempDir,
}

impl Scene {
    pub fn new() -> Scene {
        Scene {
            folder: tempfile::tempdir().expect("a temporary folder"),
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Runs the program in the folder.
    pub fn run(&self, arguments: &[&str]) -> Said {
        let output = Command::cargo_bin("plungeline")
            .expect("the program is built")
            .current_dir(self.folder.path())
            .args(arguments)
            .env("XDG_CONFIG_HOME", self.path("config"))
            .output()
            .expect("the program starts");
        Said {
            status: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }

    /// Runs `lake new` against a replay folder.
    pub fn replay(&self, catalogues: &Path, arguments: &[&str]) -> Said {
        let folder = catalogues.to_string_lossy().into_owned();
        let mut all = vec!["lake", "new", "--replay", folder.as_str()];
        all.extend(arguments);
        self.run(&all)
    }

    /// The draft of these arguments, as text.
    pub fn draft(&self, arguments: &[&str]) -> String {
        let mut all = arguments.to_vec();
        all.extend(["--out", "-"]);
        let said = self.replay(&root().join(CATALOGUES), &all);
        assert_eq!(said.status, 0, "{}", said.err);
        said.out
    }

    /// Lines of the faults that the check of a draft finds.
    pub fn faults(&self, draft: &str) -> Vec<String> {
        std::fs::write(self.path("draft.toml"), draft).expect("writable");
        let said = self.run(&["lake", "check", "draft.toml"]);
        assert_eq!(
            said.status,
            if said.out.is_empty() { 0 } else { 2 },
            "{}",
            said.err
        );
        said.out.lines().map(str::to_owned).collect()
    }
}

/// A copy of the invented catalogues whose index keeps the entries that `keep` takes.
pub fn catalogues_with(scene: &Scene, keep: impl Fn(&serde_json::Value) -> bool) -> PathBuf {
    let (from, to) = (root().join(CATALOGUES), scene.path("catalogues"));
    for folder in ["usgs-ogc", "cwms", "rise", "nws"] {
        std::fs::create_dir_all(to.join(folder)).expect("writable");
        for entry in std::fs::read_dir(from.join(folder)).expect("fixtures") {
            let path = entry.expect("readable").path();
            std::fs::copy(&path, to.join(folder).join(path.file_name().expect("a file"))).expect("writable");
        }
    }
    let text = std::fs::read_to_string(from.join("index.json")).expect("fixtures");
    let mut index: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    index["entries"].as_array_mut().expect("entries").retain(keep);
    std::fs::write(to.join("index.json"), index.to_string()).expect("writable");
    to
}
