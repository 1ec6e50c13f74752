//! A trip in one line, and changes of it.

use plungeline::trips::{Instrument, Light, MarkKind, Reason, change_trip, check_trip, read_trip_line};

use super::scene::{as_of, known, trip};

/// Every fault of a line, as text.
fn faults(line: &str) -> String {
    match read_trip_line(line, &known()) {
        Ok(trip) => check_trip(&trip, &known(), "the trip")
            .iter()
            .map(|f| format!("{f}\n"))
            .collect(),
        Err(faults) => faults.iter().map(|f| format!("{f}\n")).collect(),
    }
}

#[test]
fn a_line_says_a_whole_trip() {
    let trip = trip(
        "2025-10-08 sorrel 6:30-11:00 2 rods 18 ft 2.2mph on spoon by forecast light dawn surface 64F secchi 12ft bait@40ftx3 \
         cast 30ft:54F:7.1,60ft:50F rainbow 18in,20in@45ft,16in! then narrows 11:15-13:00 3rods 45ft blank note cold = wind",
    );
    let [first, second] = &trip.legs[..] else {
        panic!("{trip:?}")
    };
    // 6:30 Pacific daylight time (UTC-7) is 13:30 UTC; 18 ft are 5.4864 m, 2.2 mph 0.983488 m/s, by definition.
    assert_eq!(first.start, Some("2025-10-08T13:30:00Z".parse().unwrap()));
    assert_eq!(
        (first.duration_h, first.rods, first.rod_h()),
        (4.5, Some(2), Some(9.0))
    );
    assert_eq!((first.depth_m, first.speed_m_s), (Some(5.4864), Some(0.983488)));
    assert_eq!(
        (first.reason, first.light),
        (Some(Reason::Forecast), Some(Light::Dawn))
    );
    assert_eq!(
        (first.presentation.as_deref(), first.catches.len()),
        (Some("spoon"), 3)
    );
    // 20 in are 0.508 m, 45 ft are 13.716 m, by definition.
    assert_eq!(
        (first.catches[1].length_m, first.catches[1].depth_m),
        (Some(0.508), Some(13.716))
    );
    assert_eq!(
        (first.catches[2].released, first.catches[0].released),
        (Some(1), None)
    );
    assert_eq!(
        (second.zone.as_str(), second.stretch.as_deref()),
        ("main", Some("narrows"))
    );
    assert!(second.catch_known && second.catches.is_empty());
    assert_eq!(
        (trip.marks[0].kind, trip.marks[0].count),
        (MarkKind::Bait, Some(3))
    );
    assert_eq!(trip.readings.len(), 4);
    let casts: Vec<_> = trip
        .readings
        .iter()
        .filter(|r| r.instrument == Instrument::Cast)
        .collect();
    // 50 degF are 10 degC, by definition.
    assert_eq!(
        (casts.len(), casts[1].temp_degc, casts[0].oxygen_mg_l),
        (2, Some(10.0), Some(7.1))
    );
    // The middle of the leg, 8:45 at the lake.
    assert_eq!(casts[0].time, Some("2025-10-08T15:45:00Z".parse().unwrap()));
    assert_eq!(trip.note.as_deref(), Some("cold = wind"));
}

#[test]
fn a_leg_without_fish_and_without_blank_does_not_tell_its_catch() {
    let trip = trip("yesterday main 4h 2 rods");
    // The clock stands at 20:00 on 9 October at the lake.
    assert_eq!(trip.date.to_string(), "2025-10-08");
    assert!(!trip.legs[0].catch_known);
}

#[test]
fn every_fault_of_a_line_comes_at_once_with_its_mend() {
    let said = faults("2025-10-08 sorel 11:00-6:30 2 18 rainbow-trout many by luck");
    for words in [
        "found \"sorel\"",
        "main, sorrel, wicket",
        "which ends before it begins",
        "a figure with its unit",
        "found \"many\" after rainbow-trout",
        "one of forecast, report, habit, scouting",
        "no zone",
    ] {
        assert!(said.contains(words), "{words:?} is not in\n{said}");
    }
    for (line, words) in [
        ("", "begin with the day"),
        ("9.10.2025 main 4h", "begin with the day"),
        ("2025-10-08 main", "no hours"),
        ("2025-10-08 main sorrel 4h", "one place a leg"),
        ("2025-10-08 main 4h 5h", "hours again"),
        ("2025-10-08 main -4h blank", "more than 0 and at most 24 hours"),
        ("2025-10-08 main 40h blank", "more than 0 and at most 24 hours"),
        ("2025-10-08 main 4h blank rainbow-trout 2", "blank and fish"),
        ("2025-10-08 main 4h 99 rods", "1 to 20"),
        ("2025-10-08 main 4h rainbow-trout 2 released 3", "3 of 2 released"),
        ("2025-10-08 main 4h surface 640F", "-1 to 45 degC"),
        ("2025-10-12 main 4h", "which lies ahead"),
        ("2025-10-09 main 6:30-23:00", "which lies ahead"),
        (
            "2025-10-08 main 6:00-8:00 then sorrel 7:30-9:00",
            "legs one after the other",
        ),
    ] {
        let said = faults(line);
        assert!(said.contains(words), "{line:?}: {words:?} is not in {said:?}");
    }
}

#[test]
fn hours_that_the_lakes_clocks_skip_or_repeat_are_refused() {
    // Energy Policy Act of 2005, section 110: clocks went forward on 9 March 2025 at 2:00, back on 2 November 2025.
    let said = faults("2025-03-09 main 2:30-5:00");
    assert!(
        said.contains("skip") && said.contains("give the hours fished instead"),
        "{said}"
    );
    // Over the change the hours are counted as they pass: 1:00 to 4:00 are two hours.
    assert_eq!(trip("2025-03-09 main 1:00-4:00").legs[0].duration_h, 2.0);
    let mut later = known();
    later.as_of = "2025-12-01T00:00:00Z".parse().unwrap();
    let said = read_trip_line("2025-11-02 main 1:30-5:00", &later).unwrap_err();
    assert!(said[0].to_string().contains("twice"), "{said:?}");
    assert!(as_of() < later.as_of);
}

#[test]
fn a_night_goes_over_midnight() {
    let leg = &trip("2025-10-07 main 22:00-1:30 1 rod blank").legs[0];
    assert_eq!(leg.duration_h, 3.5);
}

#[test]
fn changes_touch_what_they_name_and_nothing_else() {
    let before = trip("2025-10-08 sorrel 4h 2 rods rainbow-trout 3 then main 2h 2 rods blank");
    let change = |words: &[&str]| {
        let words: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
        change_trip(&before, &words, &known())
    };
    let after = change(&[
        "rods=3",
        "1.depth=20ft",
        "2.rainbow-trout=1,18in",
        "note=late",
        "2.reason=scouting",
    ])
    .unwrap();
    assert_eq!(after.legs[0].rods, Some(3));
    assert_eq!((after.legs[1].rods, after.legs[1].catches.len()), (Some(3), 2));
    assert_eq!(
        (after.legs[0].depth_m, after.legs[1].depth_m),
        (Some(6.096), None)
    );
    assert_eq!(after.legs[0].catches, before.legs[0].catches);
    assert_eq!(
        (after.note.as_deref(), after.legs[1].reason),
        (Some("late"), Some(Reason::Scouting))
    );
    let cleared = change(&["1.catch=unknown", "rods=", "2.hours=6:30-9:00"]).unwrap();
    assert!(
        !cleared.legs[0].catch_known && cleared.legs[0].catches.is_empty() && cleared.legs[1].rods.is_none()
    );
    assert_eq!(cleared.legs[1].duration_h, 2.5);
    let said: String = change(&["3.rods=2", "depht=3ft", "rods", "1.depth=deep"])
        .unwrap_err()
        .iter()
        .map(|f| format!("{f}\n"))
        .collect();
    for words in ["leg 3 of 2", "\"depht\"", "key=value", "a depth such as 18ft"] {
        assert!(said.contains(words), "{words:?} is not in\n{said}");
    }
}
