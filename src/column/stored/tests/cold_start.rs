//! Where a run without a saved state begins.

use super::world::{World, air, at, morning};
use crate::column::stored::cold_start;

#[test]
fn a_cold_start_is_at_the_last_winter_that_is_nine_months_past_in_either_hemisphere() {
    let mut world = World::empty();
    world.days("air-temp", at("2022-01-01T08:00:00Z"), morning(), &air);
    // Coldest on 15 January by the formula; nine months before 25 September 2025 is 25 December 2024.
    let from = cold_start(&world.lake, &world.set, morning()).unwrap();
    assert!(
        (at("2024-11-20T00:00:00Z")..at("2024-12-25T00:00:00Z")).contains(&from),
        "{from}"
    );
    // The same in the south: coldest in mid-July of 2024.
    let mut south = World::empty();
    south.days("air-temp", at("2022-01-01T08:00:00Z"), morning(), &|t| {
        24.0 - air(t)
    });
    let from = cold_start(&south.lake, &south.set, morning()).unwrap();
    assert!(
        (at("2024-07-01T00:00:00Z")..at("2024-08-31T00:00:00Z")).contains(&from),
        "{from}"
    );
    assert_eq!(from.timestamp() % 3600, 0);
    let mut short = World::empty();
    short.days("air-temp", at("2025-01-01T08:00:00Z"), morning(), &air);
    assert_eq!(cold_start(&short.lake, &short.set, morning()), None);
}
