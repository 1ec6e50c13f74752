//! Several series of one quantity and place: which is used, and what is joined to it.

use super::*;
use crate::lake::Cadence::{Continuous, Daily, Forecast};

/// The lake with a second level gauge, "dam", that stands in for "pool"; it stands before it in the list.
fn two_gauges() -> Lake {
    let mut lake = lake();
    let dam = SeriesSource {
        stands_in_for: Some(SeriesId::new("pool")),
        ..source(
            "dam",
            Quantity::PoolElevation,
            SeriesPlace::Lake,
            &[Daily, Continuous],
        )
    };
    lake.series.insert(0, dam);
    lake
}

/// Daily levels that fall by 0.1 m a day, `above` the pool's own datum; the newest `until` days ago.
fn level(days: i64, until: i64, above: f64) -> Vec<Observation> {
    let mut rows = days_back(days, |back| 60.0 + 0.1 * back as f64 + above);
    rows.truncate((days - until + 1) as usize);
    rows
}

fn choice_of(found: &Conditions, quantity: Quantity) -> &SourceChoice {
    let mut choices = found.source_choices.iter().filter(|c| c.quantity == quantity);
    choices.next().unwrap()
}

#[test]
fn the_order_is_that_of_the_key_and_not_of_the_list() {
    let lake = two_gauges();
    let ids: Vec<&str> = lake
        .series_of(Quantity::PoolElevation, &SeriesPlace::Lake)
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(ids, ["pool", "dam"]);
}

#[test]
fn a_late_gauge_gives_way_to_its_stand_in_and_the_brief_says_why() {
    let set = set_of(vec![
        ("pool", Daily, level(200, 10, 0.0)),
        ("dam", Daily, level(60, 1, 0.5)),
    ]);
    let found = conditions_at(&two_gauges(), &set);
    let pool = found.pool.as_ref().unwrap();
    // The newest day of the dam's own gauge, in its own reading: 60.1 + 0.5.
    assert!((pool.elevation_m - 60.6).abs() < 1e-9);
    let choice = choice_of(&found, Quantity::PoolElevation);
    assert_eq!(choice.used, Some(SeriesId::new("dam")));
    assert_eq!(choice.passed_over.len(), 1);
    assert_eq!(choice.passed_over[0].series.as_str(), "pool");
    assert!(matches!(choice.passed_over[0].reason, GapReason::Late { .. }));
    // 140 days that the dam lacks come from the pool, 0.5 m lower; falling 0.1 m a day all the way.
    let joined = &choice.joined[0];
    assert_eq!((joined.series.as_str(), joined.days_taken), ("pool", 140));
    assert_eq!(joined.bias.days, 30);
    assert!((joined.bias.reads_high + 0.5).abs() < 1e-9);
    assert!((pool.change_30d.unwrap().change_m + 3.0).abs() < 1e-9);
    assert!(found.gaps.iter().all(|g| g.what != "pool" && g.what != "dam"));
}

#[test]
fn a_gauge_in_time_is_used_and_its_hole_bridged_by_the_other_counts_twice_the_error() {
    let mut first = level(60, 1, 0.0);
    // The pool lacks the days 6 to 11 back; day 8 ends the change over a week.
    first.retain(|row| {
        let back = (clock().standard_day(morning()) - clock().standard_day(row.time)).num_days();
        !(6..=11).contains(&back)
    });
    let alone = conditions_at(&lake(), &set_of(vec![("pool", Daily, first.clone())]));
    assert_eq!(alone.pool.unwrap().change_7d, None);
    let set = set_of(vec![("pool", Daily, first), ("dam", Daily, level(60, 1, 0.5))]);
    let found = conditions_at(&two_gauges(), &set);
    let choice = choice_of(&found, Quantity::PoolElevation);
    assert_eq!(choice.used, Some(SeriesId::new("pool")));
    assert!(choice.passed_over.is_empty());
    assert_eq!(choice.joined[0].days_taken, 6);
    let change = found.pool.unwrap().change_7d.unwrap();
    assert!((change.change_m + 0.7).abs() < 1e-9);
    // One end read by the pool, one by another gauge: sigma and 2 sigma.
    assert!((change.sd_m - LEVEL_READING_SD_M * 5.0_f64.sqrt()).abs() < 1e-12);
}

#[test]
fn gauges_that_never_met_or_do_not_agree_are_not_glued_together() {
    let apart = set_of(vec![
        ("pool", Daily, level(200, 40, 0.0)),
        ("dam", Daily, level(30, 1, 0.5)),
    ]);
    let mut noisy = level(60, 1, 0.0);
    for (i, row) in noisy.iter_mut().enumerate() {
        row.value = row.value.map(|v| v + if i % 2 == 0 { 0.4 } else { -0.4 });
    }
    let disagree = set_of(vec![("pool", Daily, level(200, 10, 0.0)), ("dam", Daily, noisy)]);
    for set in [apart, disagree] {
        let found = conditions_at(&two_gauges(), &set);
        let choice = choice_of(&found, Quantity::PoolElevation);
        assert_eq!(choice.used, Some(SeriesId::new("dam")));
        assert!(choice.joined.is_empty(), "{choice:?}");
    }
}

#[test]
fn a_gauge_whose_values_are_refused_or_missing_is_named_with_the_reason() {
    let mut refused = level(5, 1, 0.0);
    refused.iter_mut().for_each(|row| row.flag = Flag::Fail);
    for (rows, reason) in [
        (refused, GapReason::Refused { refused: 5, of: 5 }),
        (Vec::new(), GapReason::NoData),
    ] {
        let set = set_of(vec![("pool", Daily, rows), ("dam", Daily, level(60, 1, 0.5))]);
        let found = conditions_at(&two_gauges(), &set);
        assert!(found.pool.is_some());
        assert_eq!(
            choice_of(&found, Quantity::PoolElevation).passed_over[0].reason,
            reason
        );
    }
}

#[test]
fn where_every_gauge_is_late_the_freshest_stands_and_is_late() {
    let set = set_of(vec![
        ("pool", Daily, level(60, 20, 0.0)),
        ("dam", Daily, level(60, 6, 0.5)),
    ]);
    let found = conditions_at(&two_gauges(), &set);
    assert_eq!(
        choice_of(&found, Quantity::PoolElevation).used,
        Some(SeriesId::new("dam"))
    );
    assert!(matches!(gap(&found, "dam").reason, GapReason::Late { .. }));
    let none = conditions_at(&two_gauges(), &set_of(Vec::new()));
    let choice = choice_of(&none, Quantity::PoolElevation);
    assert_eq!((choice.used.clone(), choice.passed_over.len()), (None, 2));
}

#[test]
fn hours_that_have_fallen_silent_give_way_though_daily_values_go_on() {
    let hours = |until_h: i64, value: f64| -> Vec<Observation> {
        let back = (until_h..72).rev();
        back.map(|h| row(morning() - Duration::hours(h), value)).collect()
    };
    let found = |silent_h: i64| {
        let set = set_of(vec![
            ("pool", Daily, level(60, 1, 0.0)),
            ("pool", Continuous, hours(silent_h, 60.0)),
            ("dam", Continuous, hours(1, 60.5)),
        ]);
        conditions_at(&two_gauges(), &set)
    };
    // Continuous values may be 6 h old; yesterday's mean, 28 h after the beginning of its day, is in time.
    let silent = found(20);
    assert_eq!(silent.pool.as_ref().unwrap().elevation_m, 60.5);
    let choice = choice_of(&silent, Quantity::PoolElevation);
    let GapReason::Late { age_h, allowed_h, .. } = choice.passed_over[0].reason else {
        panic!("{choice:?}")
    };
    assert_eq!((age_h, allowed_h), (20.0, 6.0));
    let in_time = found(2);
    assert_eq!(in_time.pool.unwrap().elevation_m, 60.0);
}

#[test]
fn flows_of_two_gauges_are_never_joined() {
    let mut lake = lake();
    let place = SeriesPlace::Inflow(InflowId::new("sorrel"));
    lake.series.push(SeriesSource {
        stands_in_for: Some(SeriesId::new("sorrel-flow")),
        ..source("upper", Quantity::Inflow, place, &[Daily, Continuous])
    });
    let mut late = days_back(200, |_| 10.0);
    late.truncate(190);
    let set = set_of(vec![
        ("sorrel-flow", Daily, late),
        ("upper", Daily, days_back(90, |_| 8.0)),
    ]);
    let found = conditions_at(&lake, &set);
    let choice = choice_of(&found, Quantity::Inflow);
    assert_eq!(choice.used, Some(SeriesId::new("upper")));
    assert!(choice.joined.is_empty());
    assert_eq!(found.inflows[0].discharge_m3s, 8.0);
    assert_eq!(found.inflows[0].mean_m3s, Some(8.0));
}

#[test]
fn a_forecast_that_is_late_or_ends_within_the_trip_gives_way() {
    let mut lake = lake();
    lake.series.push(SeriesSource {
        stands_in_for: Some(SeriesId::new("wind_speed")),
        ..source("office", Quantity::WindSpeed, SeriesPlace::Lake, &[Forecast])
    });
    let whole = |id: &str, value: f64| {
        let mut set = set_of(Vec::new());
        forecast(&mut set, id, 1, |_, _| Some(value));
        set.forecasts.remove(&SeriesId::new(id)).unwrap()
    };
    let with = |first: ForecastBatch, second: ForecastBatch| {
        let mut set = set_of(Vec::new());
        set.forecasts.insert(SeriesId::new("wind_speed"), first);
        set.forecasts.insert(SeriesId::new("office"), second);
        conditions_at(&lake, &set)
    };
    let (first, second) = (whole("wind_speed", 3.0), whole("office", 5.0));
    let late = ForecastBatch {
        issued_at: first.issued_at - Duration::days(1),
        ..first.clone()
    };
    let mut short = first.clone();
    short.time.truncate(8);
    short.value[0].truncate(8);

    let found = with(first.clone(), second.clone());
    assert_eq!(found.wind.unwrap().speed_max_m_s, 3.0);
    assert!(found.source_choices[0].passed_over.is_empty());
    for (passed, is_late) in [(late.clone(), true), (short, false)] {
        let found = with(passed, second.clone());
        assert_eq!(found.wind.unwrap().speed_max_m_s, 5.0);
        let choice = &found.source_choices[0];
        assert_eq!(choice.purpose, SourcePurpose::Forecast);
        let reason = &choice.passed_over[0].reason;
        assert_eq!(matches!(reason, GapReason::Late { .. }), is_late, "{reason:?}");
        assert!(
            found
                .gaps
                .iter()
                .all(|g| g.what != "wind_speed" && g.what != "office")
        );
    }
    let both_late = with(
        late.clone(),
        ForecastBatch {
            issued_at: late.issued_at - Duration::days(1),
            ..second
        },
    );
    assert_eq!(both_late.wind.as_ref().unwrap().speed_max_m_s, 3.0);
    assert!(matches!(
        gap(&both_late, "wind_speed").reason,
        GapReason::Late { .. }
    ));
}
