//! The level of the days ahead on the invented lake.

use proptest::prelude::*;

use super::*;
use crate::conditions::outlook::OutlookBasis;
use crate::lake::PlannedRelease;
use crate::units::S_PER_DAY;

/// A small saw about 1, so that the flows vary.
fn saw(back: i64) -> f64 {
    1.0 + 0.05 * ((back % 3) - 1) as f64
}

/// Level 50 m this morning, falling by 40 m3/s on 10 km2, with flows that say the same. `days` of record.
fn falling(days: i64) -> Vec<(&'static str, Cadence, Vec<Observation>)> {
    let fall_m = 40.0 * S_PER_DAY / 1e7;
    vec![
        (
            "pool",
            Cadence::Daily,
            days_back(days, |back| 50.0 + fall_m * (back - 1) as f64),
        ),
        (
            "pool",
            Cadence::Continuous,
            vec![row(morning() - Duration::hours(1), 50.0)],
        ),
        (
            "release",
            Cadence::Daily,
            days_back(days, |back| 50.0 * saw(back + 1)),
        ),
        (
            "sorrel-flow",
            Cadence::Daily,
            days_back(days, |back| 10.0 * saw(back)),
        ),
    ]
}

fn of(rows: Vec<(&str, Cadence, Vec<Observation>)>) -> Conditions {
    conditions_at(&lake(), &set_of(rows))
}

#[test]
fn the_level_ahead_follows_the_balance_of_its_flows() {
    // 150 days end at 101 m: the table ends at 100.
    let conditions = of(falling(140));
    let outlook = &conditions.level_projection.as_ref().unwrap().outlook;
    assert!(
        matches!(outlook.basis, OutlookBasis::WaterBalance { .. }),
        "{:?}",
        outlook.basis
    );
    assert_eq!((outlook.days.len(), outlook.members), (17, 1000));
    for (k, day) in outlook.days.iter().enumerate() {
        // By hand: 40 m3/s on 10 km2 is 0.3456 m a day. The saw moves either flow by 5 %, and the inflow's mean departure
        // of its base lies within some hundredths: a tenth of the fall, and the reading's 0.006 m.
        let wanted_m = 50.0 - 0.3456 * k as f64;
        assert!(
            (day.median_m - wanted_m).abs() < 0.04 * k as f64 + 0.03,
            "{k}: {day:?} {wanted_m}"
        );
        assert!(day.low_m <= day.median_m && day.median_m <= day.high_m);
        assert_eq!((day.at_crest_frac, day.at_dead_pool_frac), (0.0, 0.0));
    }
    assert!(
        outlook.days[16].high_m - outlook.days[16].low_m > outlook.days[1].high_m - outlook.days[1].low_m,
        "the spread grows"
    );
    assert_eq!(outlook.days[0].date, clock().civil_day(morning()));
}

#[test]
fn without_a_release_the_slope_of_the_week_stands_in_and_says_so() {
    let mut rows = falling(140);
    rows.retain(|(id, ..)| *id != "release");
    let conditions = of(rows);
    let outlook = &conditions.level_projection.as_ref().unwrap().outlook;
    let OutlookBasis::SlopePersistence { slope_m_per_day } = outlook.basis else {
        panic!("{:?}", outlook.basis)
    };
    assert!((slope_m_per_day + 0.3456).abs() < 1e-6);
    assert!(
        (outlook.days[16].median_m - (50.0 - 16.0 * 0.3456)).abs() < 0.05,
        "{:?}",
        outlook.days[16]
    );
    assert!(matches!(
        gap(&conditions, "release").consequence,
        Consequence::StandIn { .. }
    ));
}

#[test]
fn without_a_table_and_with_a_short_record_the_level_ahead_is_not_known() {
    let mut bare = lake();
    bare.hypsography = None;
    let conditions = conditions_at(&bare, &set_of(falling(140)));
    let outlook = conditions.level_projection.as_ref().map(|p| p.outlook.basis);
    assert!(
        matches!(outlook, Some(OutlookBasis::SlopePersistence { .. })),
        "{outlook:?}"
    );
    let conditions = conditions_at(&bare, &set_of(falling(30)));
    assert_eq!(conditions.level_projection, None);
    let consequence = &gap(&conditions, "hypsography").consequence;
    assert!(
        matches!(consequence, Consequence::LeftOut { .. }),
        "{consequence:?}"
    );
}

#[test]
fn a_level_of_ten_days_ago_is_not_carried_on() {
    let mut rows = falling(140);
    rows.retain(|(_, cadence, _)| *cadence == Cadence::Daily);
    rows[0].2.retain(|o| o.time < morning() - Duration::days(10));
    let conditions = of(rows);
    assert_eq!(conditions.level_projection, None);
    assert!(matches!(
        gap(&conditions, "level ahead").reason,
        GapReason::Late { .. }
    ));
}

#[test]
fn members_are_held_at_the_limits_and_counted() {
    // Dead pool 3 m below: 9 days at 0.35 m a day.
    let mut shallow = lake();
    shallow.minimum_pool_elevation_m = 47.0;
    let conditions = conditions_at(&shallow, &set_of(falling(140)));
    let days = &conditions.level_projection.as_ref().unwrap().outlook.days;
    assert_eq!(days[5].at_dead_pool_frac, 0.0);
    assert!(days[16].at_dead_pool_frac > 0.95, "{:?}", days[16]);
    assert!((days[16].low_m - 47.0).abs() < 1e-6, "{:?}", days[16]);
}

#[test]
fn the_balance_gives_residence_and_implied_inflow() {
    let conditions = of(falling(140));
    // By hand: 50 m on 10 km2 at 50 m3/s.
    let days = conditions.balance.residence_days.unwrap();
    assert!((days - 5e8 / (50.0 * S_PER_DAY)).abs() < 1.0, "{days}");
    let implied = conditions.balance.implied_inflow.unwrap();
    // The saw of the release is in it: at most 2.5 m3/s, over seven days 0.4.
    assert!((implied.mean_7d_m3s - 10.0).abs() < 0.5, "{implied:?}");
    // By hand: sqrt 2 x 0.006096 m x 10 km2 / 7 days.
    assert!(
        (implied.noise_sd_m3s.unwrap() - 0.1425).abs() < 1e-3,
        "{implied:?}"
    );
}

proptest! {
    #[test]
    fn a_higher_threshold_is_never_less_likely_to_be_missed(low in 30.0..60.0_f64, more in 0.0..10.0_f64) {
        // One projection for all cases: it is the slow part.
        static PROJECTION: std::sync::OnceLock<outlook::LevelProjection> = std::sync::OnceLock::new();
        let projection = PROJECTION.get_or_init(|| of(falling(140)).level_projection.unwrap());
        for day in 0..17 {
            let [a, b] = [low, low + more].map(|m| projection.below_prob(day, m).unwrap());
            prop_assert!(a <= b && (0.0..=1.0).contains(&a));
        }
        prop_assert_eq!(projection.below_prob(17, low), None);
    }
}

#[test]
fn a_planned_release_lowers_the_level_by_what_it_takes_and_is_counted() {
    let mut lake = lake();
    let today = clock().standard_day(morning());
    lake.planned_release.push(PlannedRelease {
        from: today + chrono::Days::new(1),
        until: today + chrono::Days::new(40),
        flow_m3s: 100.0,
        source: "invented".to_owned(),
    });
    let conditions = conditions_at(&lake, &set_of(falling(140)));
    let outlook = &conditions.level_projection.as_ref().unwrap().outlook;
    let OutlookBasis::WaterBalance { planned_days, .. } = outlook.basis else {
        panic!("{:?}", outlook.basis)
    };
    assert_eq!(planned_days, 16, "the days after today that the outlook reaches");
    let plain = of(falling(140));
    let plain = &plain.level_projection.as_ref().unwrap().outlook;
    for (k, (day, as_it_stands)) in outlook.days.iter().zip(&plain.days).enumerate().skip(1) {
        // By hand: 100 m3/s instead of 50 from the first midnight on, on 10 km2, is 0.432 m a day more; from midnight to
        // the launch it is a part of a day. 5 % of the plan's 100 m3/s, by 1.25 / sqrt 1000 in the median: 2 mm a day;
        // the walk of the unplanned release (saw of 5 %) a few times that.
        let since_midnight_days = (day.at - clock().standard_day_start(today + chrono::Days::new(1)))
            .num_seconds() as f64
            / S_PER_DAY;
        let wanted_m = 50.0 * S_PER_DAY / 1e7 * since_midnight_days;
        let found_m = as_it_stands.median_m - day.median_m;
        assert!(
            (found_m - wanted_m).abs() < 0.03 * k as f64,
            "{k}: {found_m} {wanted_m}"
        );
    }
}
