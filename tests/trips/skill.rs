//! Calls against trips: which call a trip is scored by, and what is counted apart.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use plungeline::lake::{SpeciesId, ZoneId};
use plungeline::reports::forecasts::ForecastSkill;
use plungeline::reports::{SkillPage, call_for, header, skill_page};
use plungeline::skill::share_record::RecordVerdict;
use plungeline::trips::StoredTrip;
use plungeline::whereabouts::learn::{Morning, SpeciesFeatures};
use plungeline::whereabouts::{CALL_FORM, CallBasis, CalledShare, CalledSpecies, DepthRange, IssuedCall};

use super::scene::{known, lake, trip};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

/// A call for 8 October: half of the rainbow trout in the main body, 0.3 up the Sorrel, 0.2 up the Wicket; the band of the Sorrel
/// 10 to 20 m.
fn call(as_of: &str, made_at: &str) -> IssuedCall {
    let share = |share| CalledShare {
        share,
        low: 0.0,
        high: 1.0,
        fishable: true,
        closed: false,
    };
    let zones = [("main", 0.5), ("sorrel", 0.3), ("wicket", 0.2)];
    let rainbow = CalledSpecies {
        zones: zones
            .iter()
            .map(|(id, s)| (ZoneId::new(*id), share(*s)))
            .collect(),
        offered: SpeciesFeatures {
            rules: Vec::new(),
            terms: Vec::new(),
            morning: Morning {
                main: ZoneId::new("main"),
                zones: Vec::new(),
            },
            catch_response: BTreeMap::new(),
            band: BTreeMap::from([(
                ZoneId::new("sorrel"),
                DepthRange {
                    top_m: 10.0,
                    bottom_m: 20.0,
                },
            )]),
        },
    };
    IssuedCall {
        form: CALL_FORM.to_owned(),
        version: "0".to_owned(),
        lake: "harrow-gap".to_owned(),
        as_of: at(as_of),
        made_at: at(made_at),
        replayed: false,
        enough: true,
        code: String::new(),
        day: at("2025-10-08T12:00:00Z").date_naive(),
        inputs_sha256: String::new(),
        lake_file_sha256: String::new(),
        basis: CallBasis::Rules { why: None },
        species: BTreeMap::from([(SpeciesId::new("rainbow-trout"), rainbow)]),
    }
}

fn page(calls: &[IssuedCall], lines: &[&str]) -> SkillPage {
    let trips: Vec<StoredTrip> = (1..).zip(lines.iter().map(|line| trip(line))).collect();
    skill_page(
        header(lake()),
        &known(),
        (calls, 0, false),
        &trips,
        ForecastSkill::default(),
    )
    .expect("sound numbers")
}

#[test]
fn a_trip_is_scored_by_the_newest_call_of_the_day_before_it_began() {
    let morning = "2025-10-08T11:30:00Z";
    let calls = [
        call("2025-10-08T04:00:00Z", "2025-10-08T04:00:00Z"),
        call(morning, morning),
        call("2025-10-08T20:00:00Z", "2025-10-08T20:00:00Z"),
    ];
    let of = |line: &str| {
        let (call, late) = call_for(&calls, &trip(line), &known(), false);
        (call.map(|call| call.as_of), late)
    };
    // 6:30 at the lake is 13:30 UTC; a trip without hours begins at 6:00, 13:00 UTC; 15:00 is 22:00 UTC.
    assert_eq!(
        of("2025-10-08 main 6:30-8:00 1 rod blank"),
        (Some(at(morning)), false)
    );
    assert_eq!(of("2025-10-08 main 2h 1 rod blank"), (Some(at(morning)), false));
    assert_eq!(
        of("2025-10-08 main 15:00-18:00 1 rod blank"),
        (Some(at("2025-10-08T20:00:00Z")), false),
        "an afternoon by the call of noon"
    );
    // The evening of the 7th, 21:00 at the lake, calls the 8th; nothing calls the 7th or the 10th.
    assert_eq!(
        of("2025-10-07 main 2h 1 rod blank"),
        (None, true),
        "called that evening, too late"
    );
    assert_eq!(of("2025-10-06 main 2h 1 rod blank"), (None, false));
}

#[test]
fn a_call_that_may_have_learned_from_the_trip_is_none_and_neither_is_a_rehearsal() {
    let morning = "2025-10-08T11:30:00Z";
    let mut learned = call(morning, morning);
    let learn = |newest: &str| CallBasis::Learned {
        trips: 3,
        fitted_at: at(morning),
        newest_trip: newest.parse().ok(),
        trips_since: 0,
        rules_for: Vec::new(),
        fit_sha256: String::new(),
    };
    let line = "2025-10-08 main 6:30-8:00 1 rod rainbow-trout 2";
    let found = |call: &IssuedCall, replayed| {
        let calls = [call.clone()];
        let (found, late) = call_for(&calls, &trip(line), &known(), replayed);
        (found.is_some(), late)
    };
    learned.basis = learn("2025-10-07");
    assert_eq!(found(&learned, false), (true, false));
    learned.basis = learn("2025-10-08");
    assert_eq!(found(&learned, false), (false, true));
    let mut rehearsed = call(morning, "2025-11-01T00:00:00Z");
    rehearsed.replayed = true;
    assert_eq!(found(&rehearsed, false), (false, true));
    assert_eq!(found(&rehearsed, true), (true, false));
}

#[test]
fn of_two_calls_of_one_clock_the_first_made_counts() {
    let morning = "2025-10-08T11:30:00Z";
    let calls = [
        call(morning, "2025-10-08T12:30:00Z"),
        call(morning, "2025-10-08T11:31:00Z"),
    ];
    let line = "2025-10-08 main 6:30-8:00 1 rod blank";
    let made = call_for(&calls, &trip(line), &known(), false)
        .0
        .map(|call| call.made_at);
    assert_eq!(made, Some(at("2025-10-08T11:31:00Z")));
}

#[test]
fn a_call_made_with_hindsight_is_counted_and_not_scored() {
    let late = call("2025-10-08T11:30:00Z", "2025-10-09T11:30:00Z");
    let page = page(&[late], &["2025-10-08 main 6:30-8:00 1 rod rainbow-trout 2"]);
    let of = &page.whereabouts;
    assert_eq!((of.trips_without_call, of.trips_called_late), (1, 1));
    let rainbow = &of.species[&SpeciesId::new("rainbow-trout")];
    assert_eq!((rainbow.shares.trips, rainbow.band.fish), (0, 0));
}

#[test]
fn shares_and_band_of_one_trip_have_the_published_score() {
    let calls = [call("2025-10-08T11:30:00Z", "2025-10-08T11:30:00Z")];
    // S-WHERE (scipy 1.17.1): effort 6, 4, 2 h, shares .5 .3 .2, catch 5, 1, 0; none of the river zones is called here.
    let lines = [
        "2025-10-08 main 6:30-9:30 2 rods rainbow-trout 5 then sorrel 10:00-12:00 2 rods 12m rainbow-trout 1 then wicket 12:30-13:30 \
         2 rods blank",
    ];
    let page = page(&calls, &lines);
    assert_eq!(
        (page.whereabouts.calls, page.whereabouts.trips_without_call),
        (1, 0)
    );
    let rainbow = &page.whereabouts.species[&SpeciesId::new("rainbow-trout")];
    assert!((rainbow.shares.log_score.unwrap() - 1.689195).abs() < 1e-6);
    let effort = rainbow.shares.against_effort.unwrap();
    assert!((effort.reference_score - 2.772589).abs() < 1e-6);
    assert_eq!(effort.verdict, RecordVerdict::TooFew);
    // One call: the mean of all calls is that call.
    let long_run = rainbow.shares.against_long_run.unwrap();
    assert!(long_run.gained.abs() < 1e-12);
    assert_eq!((rainbow.band.fish, rainbow.band.fish_in_band), (1, 1));
    assert_eq!((rainbow.band.rod_h, rainbow.band.in_band_rod_h), (4.0, 4.0));
    // The other species of the lake was not called.
    let kings = &page.whereabouts.species[&SpeciesId::new("landlocked-chinook")];
    assert_eq!(kings.shares.trips, 0);
}

#[test]
fn fish_outside_the_band_and_hours_of_unknown_depth_are_told_apart() {
    let calls = [call("2025-10-08T11:30:00Z", "2025-10-08T11:30:00Z")];
    let lines = [
        "2025-10-08 sorrel 6:30-8:30 1 rod 25m rainbow-trout 3 then sorrel 9:00-10:00 1 rod rainbow-trout 2",
    ];
    let page = page(&calls, &lines);
    let band = page.whereabouts.species[&SpeciesId::new("rainbow-trout")].band;
    assert_eq!(
        (band.fish, band.fish_in_band, band.rod_h, band.in_band_rod_h),
        (3, 0, 2.0, 0.0)
    );
}
