//! Rows for the regression, and readings for the water.

use plungeline::trips::{Reason, TripLog, Twins, effort_and_catch, water_readings};

use super::scene::{as_of, known, trip};

fn stored(lines: &[&str]) -> Vec<(u32, plungeline::trips::Trip)> {
    lines
        .iter()
        .enumerate()
        .map(|(i, line)| (i as u32 + 1, trip(line)))
        .collect()
}

#[test]
fn a_blank_is_a_row_of_zero_and_what_was_not_fished_is_none() {
    let trips = stored(&[
        "2025-10-08 sorrel 6:00-8:00 2 rods 10m by forecast rainbow-trout 3 then sorrel 9:00-10:00 4 rods 20m by forecast blank \
         then main 10:30-11:30 2 rods by scouting blank secchi 3m surface 18C bait@12mx4",
    ]);
    let effort = effort_and_catch(&trips, &known());
    let rows: Vec<_> = effort
        .rows
        .iter()
        .map(|r| {
            (
                r.zone.as_str(),
                r.species.as_str(),
                r.rod_h,
                r.catch_count,
                r.reason,
            )
        })
        .collect();
    // 2 rods for 2 h and 4 rods for 1 h are 8 rod-hours.
    assert_eq!(
        rows,
        [
            ("sorrel", "rainbow-trout", 8.0, 3, Some(Reason::Forecast)),
            ("sorrel", "landlocked-chinook", 8.0, 0, Some(Reason::Forecast)),
            ("main", "rainbow-trout", 2.0, 0, Some(Reason::Scouting)),
            ("main", "landlocked-chinook", 2.0, 0, Some(Reason::Scouting)),
        ]
    );
    // Depth by rod-hours: (4 x 10 + 4 x 20) / 8.
    assert_eq!(
        (effort.rows[0].depth_m, effort.rows[2].depth_m),
        (Some(15.0), None)
    );
    assert_eq!(
        (
            effort.rows[0].secchi_m,
            effort.rows[2].secchi_m,
            effort.rows[2].surface_temp_degc
        ),
        (None, Some(3.0), Some(18.0))
    );
    assert_eq!(
        (
            effort.rows[0].bait_marks,
            effort.rows[2].bait_marks,
            effort.rows[2].single_marks
        ),
        (Some(0), Some(4), Some(0))
    );
    assert_eq!(
        effort.rows[0].start,
        Some("2025-10-08T13:00:00Z".parse().unwrap())
    );
    assert_eq!(effort.rows[0].end, Some("2025-10-08T17:00:00Z".parse().unwrap()));
    // The README's brief of 9 October has first light 6:36 and sunrise 7:04 at this lake, a day before about a minute earlier:
    // 28 of the 180 minutes.
    let half_light_frac = effort.rows[0].half_light_frac.unwrap();
    assert!(
        (half_light_frac - 28.0 / 180.0).abs() < 1.5 / 180.0,
        "{half_light_frac}"
    );
    assert_eq!(effort.rows[2].half_light_frac, Some(0.0));
}

#[test]
fn what_is_not_told_is_left_out_and_named() {
    let trips =
        stored(&["2025-10-08 sorrel 4h rainbow-trout 3 then main 2h 2 rods then wicket 1h 1 rod blank"]);
    let effort = effort_and_catch(&trips, &known());
    let why: Vec<_> = effort.left_out.iter().map(|l| (l.trip, l.leg, l.why)).collect();
    assert_eq!(
        why,
        [
            (1, 1, "the number of rods is not known"),
            (1, 2, "what was caught is not known")
        ]
    );
    assert_eq!(effort.rows.len(), 2);
    assert_eq!(effort.rows[0].half_light_frac, None, "without hours");
}

#[test]
fn stretches_and_reasons_are_rows_of_their_own() {
    let trips = stored(&[
        "2025-10-08 main 1h 2 rods blank by habit then narrows 1h 2 rods blank by habit then main 1h 2 rods blank by report",
    ]);
    let rows = effort_and_catch(&trips, &known()).rows;
    assert_eq!(rows.len(), 6);
    assert_eq!(rows[2].stretch.as_deref(), Some("narrows"));
}

#[test]
fn readings_come_in_the_shape_of_the_table_of_readings() {
    let trips = stored(&[
        "2025-10-08 sorrel 6:00-8:00 2 rods blank surface 64.4F cast 10m:12C:7.5",
        "2025-10-07 main 2h 1 rod blank probe 20m:10C secchi 4m",
    ]);
    let rows = water_readings(&trips, &known());
    // The disc is no reading of temperature or oxygen. 64.4 degF are 18 degC; 1 degF is 5/9 degC, by definition.
    assert_eq!(rows.len(), 3);
    let [probe, surface, cast] = &rows[..] else {
        panic!()
    };
    assert_eq!(
        (probe.is_day, probe.time),
        (true, "2025-10-07T19:00:00Z".parse().unwrap())
    );
    assert_eq!(
        (surface.temp_degc, surface.depth_m, surface.zone.as_str()),
        (Some(18.0), 0.0, "sorrel")
    );
    assert!((surface.temp_error_degc.unwrap() - 5.0 / 9.0).abs() < 1e-12);
    assert!((cast.temp_error_degc.unwrap() - 2.5 / 9.0).abs() < 1e-12);
    assert_eq!(
        (cast.oxygen_mg_l, cast.oxygen_error_mg_l, probe.oxygen_error_mg_l),
        (Some(7.5), Some(0.5), None)
    );
    // What lies after the clock is not known to it.
    let mut earlier = known();
    earlier.as_of = "2025-10-08T00:00:00Z".parse().unwrap();
    assert_eq!(water_readings(&trips, &earlier).len(), 1);
}

#[test]
fn two_thousand_trips_are_read_in_the_blink_of_an_eye() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = TripLog::open(folder.path()).unwrap();
    let trips: Vec<_> = (0..2000)
        .map(|i| {
            let day = chrono::NaiveDate::from_ymd_opt(2015, 1, 1).unwrap() + chrono::Duration::days(i);
            trip(&format!(
                "{day} sorrel 6:30-9:00 2 rods rainbow-trout {} then main 9:30-11:00 2 rods blank",
                i % 4
            ))
        })
        .collect();
    log.add(&trips, Twins::Refuse, as_of()).unwrap();
    let begun = std::time::Instant::now();
    let rows = effort_and_catch(&log.trips().unwrap(), &known()).rows;
    let took_s = begun.elapsed().as_secs_f64();
    println!("2000 trips read and laid out in {took_s:.3} s");
    assert_eq!(rows.len(), 8000);
    // A few tenths of a second alone; ten times that on a machine under load.
    assert!(took_s < 5.0, "{took_s}");
}
