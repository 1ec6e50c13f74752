//! Level and storage.

use super::*;

#[test]
fn a_falling_pool_has_its_changes_slope_and_standing() {
    let level = days_back(400, |back| 60.0 + 0.1 * back as f64);
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]));
    let pool = found.pool.expect("a level");
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
    near(pool.elevation_m, 60.1);
    near(pool.change_1d.unwrap().change_m, -0.1);
    near(pool.change_7d.unwrap().change_m, -0.7);
    near(pool.change_30d.unwrap().change_m, -3.0);
    // sqrt(2) times 0.02 ft (row S-MB-sig's reading error).
    near(pool.change_7d.unwrap().sd_m, 2.0_f64.sqrt() * 0.02 * 0.3048);
    near(pool.slope_7d_m_per_day.unwrap(), -0.1);
    // The newest day is 1 back; the 60 days up to a week before it are 8 to 67 back: 60 + 6.7.
    near(pool.highest_60d_m.unwrap(), 66.7);
    assert_eq!(pool.percentile_for_date_frac, None, "one earlier year is too few");
    near(found.storage_m3.unwrap(), 60.1e7);
}

#[test]
fn a_new_highest_level_shows_in_a_daily_series_as_in_an_hourly_one() {
    // 60 m for months, then half a metre within the last four days.
    let height = |back: i64| 60.0 + 0.125 * (5 - back).max(0) as f64;
    let daily = days_back(120, height);
    let hours = (0..120 * 24).rev().map(|h| {
        row(
            morning() - Duration::hours(h),
            if h == 0 { 60.5 } else { height(1 + h / 24) },
        )
    });
    for (cadence, rows) in [(Cadence::Daily, daily), (Cadence::Continuous, hours.collect())] {
        let found = conditions_at(&lake(), &set_of(vec![("pool", cadence, rows)]));
        let pool = found.pool.expect("a level");
        assert_eq!(
            (pool.elevation_m, pool.highest_60d_m),
            (60.5, Some(60.0)),
            "{cadence:?}"
        );
    }
}

#[test]
fn the_percentile_for_the_date_counts_nearby_days_of_other_years() {
    // Four earlier years stood at 50, 55, 65 and 70 m; this year at 60 m.
    let level = days_back(4 * 365 + 100, |back| match (back + 265) / 365 {
        0 | 1 => 60.0,
        2 => 50.0,
        3 => 55.0,
        4 => 65.0,
        _ => 70.0,
    });
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]))
        .pool
        .unwrap();
    // Two of the four years were lower; the steps between the years lie far from the date.
    let percentile = found.percentile_for_date_frac.unwrap();
    assert!((percentile - 0.5).abs() < 0.02, "{percentile}");
}

#[test]
fn no_filled_or_missing_day_ends_a_change() {
    let mut level = days_back(60, |back| 60.0 + 0.1 * back as f64);
    let keep = |back: i64| 60 - back as usize;
    level[keep(8)].flag = Flag::Fail;
    let pool = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]))
        .pool
        .unwrap();
    assert!(pool.change_1d.is_some());
    assert_eq!(pool.change_7d, None, "its first day was refused and filled");
    assert!(pool.slope_7d_m_per_day.is_some());
}

#[test]
fn a_level_series_whose_every_value_is_refused_is_no_level() {
    let mut level = days_back(5, |_| 60.0);
    level.iter_mut().for_each(|o| o.flag = Flag::Fail);
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]));
    assert!(found.pool.is_none());
    assert_eq!(
        gap(&found, "pool_elevation").reason,
        GapReason::Refused { refused: 5, of: 5 }
    );
}

#[test]
fn a_lake_with_storage_only_knows_its_storage_and_no_level() {
    let mut lake = lake();
    lake.hypsography = None;
    lake.series = vec![source(
        "storage",
        Quantity::Storage,
        SeriesPlace::Lake,
        &[Cadence::Daily],
    )];
    let found = conditions_at(
        &lake,
        &set_of(vec![("storage", Cadence::Daily, days_back(5, |_| 4e8))]),
    );
    assert_eq!(found.storage_m3, Some(4e8));
    assert!(found.pool.is_none());
    assert_eq!(gap(&found, "pool_elevation").reason, GapReason::NotDescribed);
}

#[test]
fn a_storage_has_its_time_and_past_a_week_is_none() {
    let mut lake = lake();
    lake.series.push(source(
        "storage",
        Quantity::Storage,
        SeriesPlace::Lake,
        &[Cadence::Daily],
    ));
    let found = |level_back: i64, storage_back: i64| {
        let until = |back: i64, value: f64| {
            let mut rows = days_back(60, |_| value);
            rows.truncate(61 - back as usize);
            rows
        };
        let set = set_of(vec![
            ("pool", Cadence::Daily, until(level_back, 60.0)),
            ("storage", Cadence::Daily, until(storage_back, 5e8)),
        ]);
        conditions_at(&lake, &set)
    };
    let day = |back: i64| {
        let today = clock().standard_day(morning());
        Some(clock().standard_day_start(today - Duration::days(back)))
    };
    // Stamped with the beginning of its day, a value of the sixth day back is a little more than six days old.
    let young = found(1, 6);
    assert_eq!((young.storage_m3, young.storage_observed_at), (Some(5e8), day(6)));
    // Older: the table's storage at yesterday's level, 60 m of 10 km2.
    let from_level = found(1, 8);
    assert_eq!(
        (from_level.storage_m3, from_level.storage_observed_at),
        (Some(6e8), day(1))
    );
    assert!(matches!(
        gap(&from_level, "storage").consequence,
        Consequence::StandIn { .. }
    ));
    // With both old there is none, and that is said.
    let none = found(8, 8);
    assert!(none.pool.is_some());
    assert_eq!((none.storage_m3, none.storage_observed_at), (None, None));
    assert!(matches!(
        gap(&none, "storage").consequence,
        Consequence::LeftOut { .. }
    ));
}
