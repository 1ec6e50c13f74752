//! Marks by zone and hours, and the bait of the last weeks.

use chrono::NaiveDate;
use plungeline::analysis::forage_at;
use plungeline::trips::{BaitMarks, MarkKind, StoredTrip, bait_marks, mark_rows};

use super::scene::{known, lake, trip};

fn stored(lines: &[&str]) -> Vec<StoredTrip> {
    (1..).zip(lines.iter().map(|line| trip(line))).collect()
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

#[test]
fn none_seen_is_a_row_of_zero_where_any_mark_was_told_and_no_row_where_none_was() {
    let trips = stored(&[
        "2025-10-01 sorrel 3h 2 rods blank bait@12mx4 then main 2h 2 rods blank",
        "2025-10-02 sorrel 3h 2 rods blank",
    ]);
    let rows: Vec<_> = mark_rows(&trips)
        .into_iter()
        .map(|r| (r.trip, r.zone.as_str().to_owned(), r.kind, r.watched_h, r.count))
        .collect();
    let row = |zone: &str, kind, hours, count| (1, zone.to_owned(), kind, hours, count);
    assert_eq!(
        rows,
        [
            row("main", MarkKind::Bait, 2.0, 0),
            row("main", MarkKind::Single, 2.0, 0),
            row("sorrel", MarkKind::Bait, 3.0, 4),
            row("sorrel", MarkKind::Single, 3.0, 0),
        ]
    );
}

#[test]
fn bait_fades_within_weeks_and_what_is_seen_on_a_trip_was_not_known_on_its_morning() {
    let trips = stored(&[
        "2025-09-30 sorrel 4h 2 rods blank bait@12mx8 then main 4h 2 rods blank",
        "2025-10-07 sorrel 6:30-8:30 2 rods blank bait@12mx1",
    ]);
    // 04:30 at the lake, 11:30 UTC in summer time; 12:30 after 2 November.
    let at = |text: &str| {
        let mut clock = known();
        clock.as_of = text.parse().expect("an instant");
        bait_marks(&trips, &clock)
    };
    let sorrel = |found: &[BaitMarks]| {
        found
            .iter()
            .find(|m| m.zone.as_str() == "sorrel")
            .cloned()
            .unwrap()
    };
    assert!(
        at("2025-09-30T23:00:00Z").is_empty(),
        "a trip without hours has ended with its day"
    );
    let first = sorrel(&at("2025-10-07T11:30:00Z"));
    // Seven days old: marks and hours fade by exp(-1), the hours as they were are four.
    assert!((first.marks - 8.0 * (-1.0_f64).exp()).abs() < 1e-12);
    assert!((first.weighted_h - 4.0 * (-1.0_f64).exp()).abs() < 1e-12);
    assert!((first.watched_h - 4.0).abs() < 1e-12);
    // That evening the trip of the morning counts in full.
    let evening = sorrel(&at("2025-10-08T03:00:00Z"));
    assert!((evening.marks - (8.0 * (-1.0_f64).exp() + 1.0)).abs() < 1e-12);
    assert_eq!(evening.newest, day("2025-10-07"));
    assert!(at("2025-11-05T12:30:00Z").is_empty(), "29 days later");
}

#[test]
fn the_index_is_that_of_both_zones_or_of_none() {
    let trips = stored(&["2025-10-08 sorrel 4h 2 rods blank bait@12mx16 then main 2h 2 rods blank"]);
    // The morning after, 04:30 at the lake.
    let found = forage_at(
        lake(),
        &trips,
        "2025-10-09T11:30:00Z".parse().expect("an instant"),
    );
    let of = |zone: &str| {
        found
            .iter()
            .find(|f| f.zone.as_str() == zone)
            .map(|f| f.index_frac)
    };
    // 16 marks in 4 h are 4 an hour: a half by definition of the index.
    assert!((of("sorrel").unwrap() - 0.5).abs() < 1e-12);
    assert_eq!((of("main"), of("wicket")), (Some(0.0), None));
}
