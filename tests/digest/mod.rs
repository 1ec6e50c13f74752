//! The weekly digest: the real program on the demonstration lake, its value, and its message read by others' libraries.

mod message;
mod outside;
mod value;

use std::sync::OnceLock;

use plungeline::reports::Digest;

use crate::brief::demo::run;

/// The digest of a demonstration morning, as the program gives it.
fn made(morning: &str) -> Digest {
    let output = run(&[
        "digest", "preview", "--demo", "--as-of", morning, "--format", "json",
    ]);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    serde_json::from_slice(&output.stdout).expect("a digest")
}

/// That of the default morning.
fn digest() -> &'static Digest {
    static DIGEST: OnceLock<Digest> = OnceLock::new();
    DIGEST.get_or_init(|| made("2025-10-09"))
}
