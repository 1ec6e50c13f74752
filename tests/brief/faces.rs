//! What is committed about the brief's faces is what the program prints.

use plungeline::faces::json::render_brief_schema;

use super::demo::{brief, run};
use crate::house::source::document;

#[test]
fn the_committed_schema_is_that_of_the_code() {
    let schema = render_brief_schema().expect("a schema");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(
            crate::house::source::root().join("docs/brief.schema.json"),
            &schema,
        )
        .expect("writable");
    }
    assert!(
        document("docs/brief.schema.json") == schema,
        "docs/brief.schema.json is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}

#[test]
fn the_sample_brief_of_the_readme_is_what_the_program_prints() {
    let printed = String::from_utf8(run(&["brief", "--demo"]).stdout).expect("UTF-8");
    let readme = document("README.md");
    assert!(readme.starts_with("# plungeline\n"), "the job comes first");
    let sample = readme
        .split("```text\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("a sample");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        // By place: an empty sample stands everywhere in a text.
        let (before, rest) = readme.split_once("```text\n").expect("a sample");
        let (_, after) = rest.split_once("```").expect("its end");
        let blessed = format!("{before}```text\n{printed}```{after}");
        std::fs::write(crate::house::source::root().join("README.md"), blessed).expect("writable");
        return;
    }
    assert_eq!(sample, printed, "PLUNGELINE_BLESS=1 cargo test writes it anew");
}

#[test]
fn metric_units_show_the_same_figures() {
    let output = run(&["brief", "--demo", "--units", "metric"]);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let level_m = brief("2025-10-09")["pool"]["elevation_m"]
        .as_f64()
        .expect("a level");
    assert!(text.contains(&format!("{level_m:.2} m at")), "{level_m}\n{text}");
    assert!(!text.contains("°F") && !text.contains(" cfs"), "{text}");
}
