//! The words of the listing and of the draft.

use super::{CATALOGUES, Scene};
use crate::house::source::root;

#[test]
fn the_listing_says_what_each_station_measures_and_since_when() {
    let scene = Scene::new();
    let said = scene.replay(&root().join(CATALOGUES), &["--at", "42.20,-119.60"]);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(scene.path("lake-42-20-119-60.toml").exists());
    insta::assert_snapshot!("listing", said.out);
    insta::assert_snapshot!("remarks", said.err);
}

#[test]
fn the_draft_explains_its_keys_and_questions() {
    let arguments = [
        "--at",
        "42.20,-119.60",
        "--within",
        "20mi",
        "--name",
        "Harrow Gap Reservoir",
    ];
    let scene = Scene::new();
    // Another box, which the catalogues do not hold: weather alone answers.
    let told = scene.replay(
        &root().join(CATALOGUES),
        &[&arguments[..], &["--out", "-"]].concat(),
    );
    assert!(told.err.contains("not answered: USGS Water Data"), "{}", told.err);
    let draft = scene.draft(&["--at", "42.20,-119.60", "--name", "Harrow Gap Reservoir"]);
    insta::assert_snapshot!("draft", draft);
}
