//! What holds for any fit of trips, and how good fits of simulated trips are.

#[allow(dead_code)] // shared with the example
mod angler;
mod calibration;
mod choice;
mod exact;
mod from_log;
mod made_up;
#[allow(dead_code)] // shared with the example that writes it
mod season;
mod small;

#[test]
fn the_invented_season_is_what_its_generator_makes() {
    let made = plungeline::trips::forms::trips_csv(&season::season());
    let committed = crate::house::source::document("fixtures/trips/season.csv");
    assert!(
        made == committed,
        "fixtures/trips/season.csv is not what `cargo run --example generate_season` writes"
    );
}
