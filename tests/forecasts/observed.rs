//! What was observed, as forecasts are judged by it.

use std::sync::Arc;

use chrono::{DateTime, NaiveTime, Utc};
use plungeline::conditions::observed_days;
use plungeline::lake::{Cadence, SeriesId};
use plungeline::series::{Approval, Flag, Observation, Provenance, SeriesKey, SeriesSet};
use plungeline::skill::crps::EnsembleCase;
use plungeline::skill::differences::{WeekCase, weekly_skill};
use plungeline::skill::lead_scores::BY_WEEK;
use plungeline::skill::ranks::rank_places;

use super::scene::day;
use crate::trips::scene::lake;

fn row(time: &str, depth_m: Option<f64>, value: f64, flag: Flag) -> Observation {
    Observation {
        time: time.parse::<DateTime<Utc>>().expect("an instant"),
        depth_m,
        value: Some(value),
        original_value: None,
        approval: Approval::Unstated,
        qualifier: None,
        flag,
        provenance: Arc::new(Provenance {
            service: String::new(),
            station: String::new(),
            parameter: String::new(),
            original_unit: String::new(),
            retrieved_at: DateTime::UNIX_EPOCH,
        }),
    }
}

fn set(rows: Vec<(&str, Cadence, Vec<Observation>)>) -> SeriesSet {
    let mut set = SeriesSet {
        as_of: "2025-07-25T20:00:00Z".parse().expect("an instant"),
        ..SeriesSet::default()
    };
    for (id, cadence, rows) in rows {
        let key = SeriesKey {
            id: SeriesId::new(id),
            cadence,
        };
        set.observations.insert(key, rows);
    }
    set
}

fn five() -> NaiveTime {
    NaiveTime::from_hms_opt(5, 0, 0).expect("an hour")
}

#[test]
fn a_level_is_drawn_straight_between_readings_and_else_between_daily_means() {
    // Five in the morning at the lake in July is 12:00 UTC; a daily mean stands for noon of standard time, 20:00 UTC.
    let within = vec![
        row("2025-07-24T10:00:00Z", None, 250.0, Flag::Pass),
        row("2025-07-24T14:00:00Z", None, 250.4, Flag::Pass),
        row("2025-07-25T12:00:00Z", None, 251.0, Flag::Suspect),
    ];
    let daily = vec![
        row("2025-07-22T08:00:00Z", None, 249.0, Flag::Pass),
        row("2025-07-23T08:00:00Z", None, 249.6, Flag::Pass),
        row("2025-07-25T08:00:00Z", None, 255.0, Flag::Fail),
    ];
    let set = set(vec![
        ("pool", Cadence::Continuous, within),
        ("pool", Cadence::Daily, daily),
    ]);
    let (level, series) = observed_days(lake(), &set, five()).level.expect("a level");
    assert_eq!(series, "pool");
    let near = |date: &str, wanted_m: f64| {
        let found_m = level.get(day(date)).expect("a level");
        assert!((found_m - wanted_m).abs() < 1e-9, "{date}: {found_m}");
    };
    // By hand: half of the way between the readings of 10:00 and 14:00; 16 of the 24 hours between the two means.
    near("2025-07-24", 250.2);
    near("2025-07-23", 249.4);
    assert_eq!(
        level.get(day("2025-07-25")),
        None,
        "suspect and failed values judge nothing"
    );
}

#[test]
fn a_profile_takes_five_depths_and_a_running_day_is_no_surface() {
    let depths = [1.0, 4.0, 8.0, 12.0, 20.0];
    let cast = |date: &str, count: usize| {
        let of = |z: &f64| row(&format!("{date}T18:00:00Z"), Some(*z), 25.0 - z, Flag::Pass);
        depths[..count].iter().map(of).collect::<Vec<_>>()
    };
    let mut within = cast("2025-07-23", 5);
    within.extend(cast("2025-07-24", 4));
    let daily = vec![
        row("2025-07-24T08:00:00Z", None, 24.0, Flag::Pass),
        row("2025-07-25T08:00:00Z", None, 24.5, Flag::Pass),
    ];
    let set = set(vec![
        ("surface", Cadence::Continuous, within),
        ("surface", Cadence::Daily, daily),
    ]);
    let found = observed_days(lake(), &set, five());
    assert_eq!(found.profiles.len(), 1);
    assert_eq!(found.profiles[0].date, day("2025-07-23"));
    assert_eq!(found.profiles[0].depth_m, depths);
    assert_eq!(found.profiles[0].temp_degc[1], 21.0);
    let (surface, _) = found.surface.expect("a surface");
    assert_eq!(surface.get(day("2025-07-24")), Some(24.0));
    assert_eq!(surface.get(day("2025-07-25")), None, "that day is not over");
    assert!(found.gauged.is_none(), "no gauge, no sum of gauges");
}

#[test]
fn the_skill_of_equal_weeks_leaves_no_doubt_and_unequal_ones_do() {
    let case = |week: i64, score: f64| WeekCase {
        week,
        score,
        reference: 1.0,
    };
    let equal: Vec<WeekCase> = (0..12)
        .flat_map(|week| [case(week, 0.75), case(week, 0.75)])
        .collect();
    let (skill, interval) = weekly_skill(&equal, BY_WEEK).expect("twelve weeks");
    assert!((skill - 0.25).abs() < 1e-12 && (interval.high - interval.low).abs() < 1e-12);
    let unequal: Vec<WeekCase> = (0..100)
        .map(|week| case(week, if week % 2 == 0 { 0.0 } else { 2.0 }))
        .collect();
    let (skill, interval) = weekly_skill(&unequal, BY_WEEK).expect("weeks");
    assert!(skill.abs() < 1e-12);
    // The mean of 100 draws of 0 or 2 has a standard error of 0.1; 1.645 of them either way, and 2000 resamples know a quantile to 0.01.
    assert!(
        (interval.low + 0.1645).abs() < 0.04 && (interval.high - 0.1645).abs() < 0.04,
        "{interval:?}"
    );
    assert!(weekly_skill(&equal[..2], BY_WEEK).is_err(), "one week");
    assert!(weekly_skill(&[case(1, f64::NAN), case(2, 1.0)], BY_WEEK).is_err());
}

#[test]
fn places_of_what_came_are_even_whatever_the_number_of_members() {
    let case = |members: usize, observed: usize| EnsembleCase {
        members: (0..members).map(|m| m as f64).collect(),
        observed: observed as f64 - 0.5,
    };
    // Every rank of ensembles of 4 and of 9 members, 400 times: exactly even but for the draw within the cells.
    let cases: Vec<EnsembleCase> = (0..400)
        .flat_map(|_| (0..5).map(|r| case(4, r)).chain((0..10).map(|r| case(9, r))))
        .collect();
    let places = rank_places(&cases, 5).expect("numbers");
    assert!(places.iter().all(|p| (0.0..1.0).contains(p)));
    let within = places.iter().filter(|p| (0.1..0.9).contains(*p)).count() as f64 / places.len() as f64;
    // Of nine members the cells end at 0.1 and 0.9; of four the outer cells are parted by the draw: standard error below 0.005, four.
    assert!((within - 0.8).abs() < 0.02, "{within}");
}
