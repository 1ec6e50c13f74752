//! From the trip log to rows, to a fit that is kept, and to what a brief goes by.

use std::collections::{BTreeMap, BTreeSet};

use plungeline::lake::{SpeciesId, ZoneId};
use plungeline::species::{Species, builtin};
use plungeline::trips::{MarkKind, StoredTrip};
use plungeline::whereabouts::learn::{
    Beliefs, FIT_FORM, Features, FitOptions, KeptFit, KeptOptions, KeptSpecies, Morning, SpeciesFeatures,
    SpeciesRows, ZoneFeatures, fit_species, log_rows, trip_sha256,
};
use plungeline::whereabouts::{Belief, CallBasis, DepthRange, RulesWhy};

use crate::trips::scene::{as_of, known, trip};

fn species() -> Vec<Species> {
    ["rainbow-trout", "landlocked-chinook"]
        .map(|id| builtin(id).unwrap())
        .into()
}

fn stored(lines: &[&str]) -> Vec<StoredTrip> {
    (1..).zip(lines.iter().map(|line| trip(line))).collect()
}

/// A morning with the band of the Sorrel Arm from 10 to 20 m, and nothing else said.
fn features(species: &[Species]) -> Features {
    let of = |one: &Species| SpeciesFeatures {
        rules: one.rules.iter().map(|r| r.id.clone()).collect(),
        terms: one.catchability.iter().map(|c| c.id.clone()).collect(),
        morning: Morning {
            main: ZoneId::new("main"),
            zones: vec![ZoneFeatures {
                zone: ZoneId::new("sorrel"),
                closed: false,
                response: one
                    .rules
                    .iter()
                    .map(|r| if r.id == "R0" { 1.0 } else { 0.0 })
                    .collect(),
            }],
        },
        catch_response: BTreeMap::from([(ZoneId::new("sorrel"), vec![-0.2, 0.5, 0.1])]),
        band: BTreeMap::from([(
            ZoneId::new("sorrel"),
            DepthRange {
                top_m: 10.0,
                bottom_m: 20.0,
            },
        )]),
    };
    species
        .iter()
        .map(|s| (SpeciesId::new(s.id.clone()), of(s)))
        .collect()
}

fn days(trips: &[StoredTrip], species: &[Species]) -> BTreeMap<u32, Features> {
    trips
        .iter()
        .map(|(number, _)| (*number, features(species)))
        .collect()
}

#[test]
fn hours_more_than_five_metres_off_the_band_are_left_out_and_named() {
    let species = species();
    // The band is 10 to 20 m: 5 m and 25 m still count, 4.9 m and 25.1 m do not; a depth that nobody wrote counts.
    let trips = stored(&[
        "2025-10-01 sorrel 1h 1 rod 5m blank",
        "2025-10-02 sorrel 1h 1 rod 25m blank",
        "2025-10-03 sorrel 1h 1 rod 4.9m rainbow-trout 2",
        "2025-10-04 sorrel 1h 1 rod 25.1m blank",
        "2025-10-05 sorrel 1h 1 rod blank",
        "2025-10-06 main 1h 1 rod 60m blank",
    ]);
    let rows = log_rows(&trips, &known(), &species, &days(&trips, &species));
    let fitted: Vec<&str> = rows.trips[0].iter().map(|t| t.trip.as_str()).collect();
    assert_eq!(fitted, ["1", "2", "5", "6"], "no band is known of the main body");
    let left: Vec<(u32, Option<usize>)> = rows.left_out.iter().map(|l| (l.trip, l.leg)).collect();
    assert_eq!(left, [(3, Some(1)), (3, Some(1)), (4, Some(1)), (4, Some(1))]);
    assert!(
        rows.left_out[0]
            .why
            .contains("5 m above or below the predicted band")
    );
}

#[test]
fn a_morning_of_which_nothing_is_known_or_of_other_rules_gives_no_rows() {
    let species = species();
    let trips = stored(&[
        "2025-10-01 sorrel 1h 1 rod blank",
        "2025-10-02 sorrel 1h 1 rod blank",
    ]);
    let mut known_days = days(&trips, &species);
    known_days.remove(&1);
    for of in known_days.values_mut().flat_map(|day| day.values_mut()) {
        of.rules.swap(0, 1);
    }
    let rows = log_rows(&trips, &known(), &species, &known_days);
    assert!(rows.trips.iter().all(Vec::is_empty));
    assert_eq!(rows.left_out.len(), 4, "{:?}", rows.left_out);
}

#[test]
fn marks_come_with_the_hours_of_the_boat_and_bait_not_twice() {
    let species = species();
    let trips =
        stored(&["2025-10-01 sorrel 3h 2 rods blank bait@12mx4 single@15mx3 then main 2h 2 rods blank"]);
    let rows = log_rows(&trips, &known(), &species, &days(&trips, &species));
    let marks: Vec<_> = rows.trips[0][0]
        .marks
        .iter()
        .map(|m| (m.zone.as_str(), m.kind, m.watched_h, m.count))
        .collect();
    // The rule of forage of both species looks at bait already.
    assert_eq!(
        marks,
        [
            ("main", MarkKind::Single, 2.0, 0),
            ("sorrel", MarkKind::Single, 3.0, 3)
        ]
    );
}

#[test]
fn half_light_is_that_of_the_trips_own_hours_or_as_the_angler_saw_it() {
    let species = species();
    let trips = stored(&[
        "2025-10-08 sorrel 6:00-8:00 2 rods blank",
        "2025-10-02 sorrel 2h 2 rods light dusk blank",
        "2025-10-03 sorrel 2h 2 rods blank",
    ]);
    let rows = log_rows(&trips, &known(), &species, &days(&trips, &species));
    let place = species[0].catchability.iter().position(|c| c.id == "C3").unwrap();
    let of: Vec<f64> = rows.trips[0]
        .iter()
        .map(|t| t.efforts[0].catch_response[place])
        .collect();
    // First light 6:35, sunrise 7:03 (as in the test of effort): 28 of 120 minutes; dusk is half-light; without hours the morning's 0.1.
    assert!((of[0] - 28.0 / 120.0).abs() < 1.5 / 120.0, "{of:?}");
    assert_eq!(of[1..], [1.0, 0.1]);
    // The other terms stay those of the morning.
    assert_eq!(rows.trips[0][0].efforts[0].catch_response[..2], [-0.2, 0.5]);
}

fn kept(trips: &[StoredTrip], species: &[Species]) -> KeptFit {
    let rows = log_rows(trips, &known(), species, &days(trips, species));
    let of = |(one, trips): (&Species, &Vec<plungeline::whereabouts::learn::TripRows>)| {
        let rows = SpeciesRows {
            species: one,
            mature_frac: None,
            trips,
        };
        let fit = fit_species(&rows, &FitOptions::on(as_of().date_naive())).unwrap();
        (SpeciesId::new(one.id.clone()), KeptSpecies::of(&fit, &rows))
    };
    KeptFit {
        form: FIT_FORM.to_owned(),
        lake: "harrow-gap".to_owned(),
        as_of: as_of(),
        options: KeptOptions::from(&FitOptions::on(as_of().date_naive())),
        passed_over: BTreeSet::from([7]),
        trips: trips.iter().map(|(n, t)| (*n, trip_sha256(t))).collect(),
        newest_trip: trips.iter().map(|(_, t)| t.date).max(),
        scout: Some(ZoneId::new("wicket")),
        species: species.iter().zip(&rows.trips).map(of).collect(),
    }
}

#[test]
fn a_kept_fit_comes_back_from_json_as_the_same_belief() {
    let species = species();
    let trips = stored(&[
        "2025-10-01 sorrel 4h 2 rods rainbow-trout 9 then main 4h 2 rods blank",
        "2025-09-24 sorrel 4h 2 rods rainbow-trout 7 then main 4h 2 rods blank",
    ]);
    let kept = kept(&trips, &species);
    let again: KeptFit = serde_json::from_str(&serde_json::to_string(&kept).unwrap()).unwrap();
    let beliefs = Beliefs::of(Some((&again, "")), &trips, &species);
    let unwritten = Beliefs::of(Some((&kept, "")), &trips, &species);
    assert_eq!(beliefs.basis, unwritten.basis);
    for one in &species {
        let (a, b) = (beliefs.belief(one), unwritten.belief(one));
        for k in 0..one.rules.len() + one.catchability.len() {
            // A number read back from JSON may differ by one in its last place of 16.
            assert!((a.mean(k) - b.mean(k)).abs() < 1e-14 && (a.sd(k) - b.sd(k)).abs() < 1e-14);
        }
    }
    let CallBasis::Learned {
        trips: count,
        trips_since,
        ..
    } = &beliefs.basis
    else {
        panic!("{:?}", beliefs.basis)
    };
    assert_eq!((*count, *trips_since), (2, 0));
    assert_eq!(beliefs.scout, Some(ZoneId::new("wicket")));
    // Sixteen fish up the arm and none in the main body: an arm as such is worth more than the rules had it.
    let place = species[0].rules.iter().position(|r| r.id == "R0").unwrap();
    let (rules, learned) = (Belief::rules(&species[0]), beliefs.belief(&species[0]));
    assert!(learned.mean(place) > rules.mean(place) && learned.sd(place) < rules.sd(place));
}

#[test]
fn a_fit_stands_as_long_as_its_trips_and_its_rules_do() {
    let mut species = species();
    let trips = stored(&[
        "2025-10-01 sorrel 4h 2 rods rainbow-trout 9",
        "2025-09-24 main 4h 2 rods blank",
    ]);
    let kept = kept(&trips, &species);
    let basis = |kept: Option<&KeptFit>, trips: &[StoredTrip], species: &[Species]| {
        Beliefs::of(kept.map(|kept| (kept, "")), trips, species).basis
    };
    let rules = |why| CallBasis::Rules { why };
    assert_eq!(
        basis(Some(&kept), &[], &species),
        rules(None),
        "an empty log is exactly the rules"
    );
    assert_eq!(basis(None, &trips, &species), rules(Some(RulesWhy::NeverFitted)));
    assert_eq!(
        basis(Some(&kept), &trips[..1], &species),
        rules(Some(RulesWhy::LogChanged)),
        "a trip was removed"
    );
    let mut changed = trips.clone();
    changed[0].1.legs[0].catches[0].count = 8;
    assert_eq!(
        basis(Some(&kept), &changed, &species),
        rules(Some(RulesWhy::LogChanged))
    );
    let mut noted = trips.clone();
    noted[0].1.note = Some("cold".to_owned());
    assert!(
        matches!(basis(Some(&kept), &noted, &species), CallBasis::Learned { .. }),
        "of a note no fit knows"
    );
    let mut more = trips.clone();
    more.push((3, trip("2025-10-07 main 1h 1 rod blank")));
    // Of this one the fit knew, and could not use it.
    more.push((7, trip("2025-10-06 main 1h 1 rod blank")));
    assert!(
        matches!(
            basis(Some(&kept), &more, &species),
            CallBasis::Learned { trips_since: 1, .. }
        ),
        "a trip since"
    );
    species[0].rules[0].mean += 0.1;
    let CallBasis::Learned { rules_for, .. } = basis(Some(&kept), &trips, &species) else {
        panic!("the other species' rules stand")
    };
    assert_eq!(rules_for, [SpeciesId::new("rainbow-trout")]);
    assert_eq!(
        Beliefs::of(Some((&kept, "")), &trips, &species).belief(&species[0]),
        Belief::rules(&species[0])
    );
    species[1].rules[0].sd += 0.1;
    assert_eq!(
        basis(Some(&kept), &trips, &species),
        rules(Some(RulesWhy::RulesChanged))
    );
    // Numbers that no fit gives, and another form of the file.
    let unreadable = rules(Some(RulesWhy::Unreadable));
    let mut broken = kept.clone();
    for of in broken.species.values_mut() {
        of.covariance[0][0] = -1.0;
    }
    assert_eq!(basis(Some(&broken), &trips, &self::species()), unreadable);
    let mut other = kept;
    other.form = "plungeline-fit-0".to_owned();
    assert_eq!(basis(Some(&other), &trips, &self::species()), unreadable);
}
