//! Recorded data outside the repository, found through `PLUNGELINE_VALIDATION_DATA`.

mod input;
mod telemetry;

use std::path::PathBuf;

/// The path of a recorded file, or `None` after printing that the test skips. With
/// `PLUNGELINE_VALIDATION_REQUIRED` set, a skip is a failure.
pub fn data(relative: &str) -> Option<PathBuf> {
    match std::env::var_os("PLUNGELINE_VALIDATION_DATA") {
        Some(root) => {
            let path = PathBuf::from(root).join(relative);
            assert!(
                path.exists(),
                "PLUNGELINE_VALIDATION_DATA is set, but {} is not there",
                path.display()
            );
            Some(path)
        }
        None => {
            assert!(
                std::env::var_os("PLUNGELINE_VALIDATION_REQUIRED").is_none(),
                "PLUNGELINE_VALIDATION_DATA is not set, and a skip was declared a failure"
            );
            println!("skipped: PLUNGELINE_VALIDATION_DATA is not set ({relative})");
            None
        }
    }
}
