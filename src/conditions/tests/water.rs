//! Inflows and temperatures.

use super::*;

#[test]
fn a_flood_two_days_past_its_peak_is_a_pulse_that_has_peaked() {
    // Steady 10 m3/s; then 30, 90 (the peak, two days back), 60.
    let flow = days_back(120, |back| match back {
        3 => 30.0,
        2 => 90.0,
        1 => 60.0,
        _ => 10.0,
    });
    let found = conditions_at(&lake(), &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    let inflow = &found.inflows[0];
    let pulse = inflow.pulse.as_ref().expect("a pulse");
    let today = clock().standard_day(morning());
    assert_eq!(
        (pulse.onset, pulse.peak),
        (today - Duration::days(3), today - Duration::days(2))
    );
    assert!(pulse.peaked && pulse.end.is_none());
    assert_eq!((pulse.days_since_peak, pulse.rise_days), (2.0, 1));
    // By hand from b = 8: (0.196 x 8 + 0.016 x 30) / 0.216 = 9.48, then 15.27 and 18.30.
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 0.01, "{found} {wanted}");
    near(pulse.peak_ratio, 90.0 / 15.27);
    near(inflow.ratio.unwrap(), 60.0 / 18.30);
    assert_eq!(inflow.change_7d_m3s, Some(50.0));
}

#[test]
fn a_small_later_rise_does_not_hide_the_flood_before_it() {
    // 10 m3/s for months; a flood of 90 six days back; low again; then a rise to 30 yesterday.
    let flow = days_back(120, |back| match back {
        6 => 90.0,
        1 => 30.0,
        _ => 10.0,
    });
    let found = conditions_at(&lake(), &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    let inflow = &found.inflows[0];
    let today = clock().standard_day(morning());
    let latest = inflow.pulse.as_ref().expect("a pulse");
    assert_eq!(latest.peak, today - Duration::days(1));
    assert!(latest.peak_ratio < 4.0);
    let highest = inflow.highest_10d.expect("a flood");
    assert_eq!(highest.date, today - Duration::days(6));
    // By hand from b = 8: (0.196 x 8 + 0.016 x 90) / 0.216 = 13.93, and 90 / 13.93 = 6.46.
    assert!((highest.ratio - 6.46).abs() < 0.01, "{}", highest.ratio);
}

#[test]
fn a_flood_counts_for_ten_days() {
    let highest = |flood_back: i64| {
        let flow = days_back(120, |back| if back == flood_back { 90.0 } else { 10.0 });
        let found = conditions_at(&lake(), &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
        found.inflows[0].highest_10d.map_or(0.0, |peak| peak.ratio)
    };
    assert!(highest(10) > 4.0);
    assert!(highest(11) < 4.0);
}

#[test]
fn a_dry_river_has_no_pulse_and_that_is_known() {
    for regulated in [false, true] {
        let mut lake = lake();
        lake.inflows[0].regulated = regulated;
        let flow = days_back(120, |_| 0.0);
        let found = conditions_at(&lake, &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
        let inflow = &found.inflows[0];
        assert_eq!((inflow.discharge_m3s, inflow.ratio), (0.0, Some(0.0)));
        assert_eq!((&inflow.pulse, inflow.highest_10d), (&None, None));
        assert!(found.gaps.iter().all(|g| g.what != "sorrel"), "{:?}", found.gaps);
    }
}

#[test]
fn a_flood_in_a_dry_river_is_a_pulse_of_finite_ratio() {
    for (regulated, ratio) in [
        // By hand from b = 0: b = 0.016 Q / 0.216, so Q / b = 13.5 whatever the flood is.
        (false, 13.5),
        // Over the trickle of 1 ft3/s that stands in for a median of 0.
        (true, 5.0 / 0.028_316_846_592),
    ] {
        let mut lake = lake();
        lake.inflows[0].regulated = regulated;
        let flow = days_back(120, |back| if back == 1 { 5.0 } else { 0.0 });
        let found = conditions_at(&lake, &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
        let inflow = &found.inflows[0];
        let pulse = inflow.pulse.as_ref().expect("a pulse");
        let today = clock().standard_day(morning());
        assert_eq!((pulse.onset, pulse.peaked), (today - Duration::days(1), false));
        for found in [
            pulse.peak_ratio,
            inflow.ratio.unwrap(),
            inflow.highest_10d.unwrap().ratio,
        ] {
            assert!((found - ratio).abs() < 1e-9, "{found} {ratio}");
        }
    }
}

#[test]
fn a_flash_flood_of_this_morning_in_a_dry_river_is_seen_before_its_day_is_over() {
    let mut rows = days_back(120, |_| 0.0);
    rows.truncate(119); // yesterday is not out yet
    let hours = (0..24).rev().map(|h| row(morning() - Duration::hours(h), 5.0));
    let found = conditions_at(
        &lake(),
        &set_of(vec![
            ("sorrel-flow", Cadence::Daily, rows),
            ("sorrel-flow", Cadence::Continuous, hours.collect()),
        ]),
    );
    let highest = found.inflows[0].highest_10d.expect("a flood");
    assert!(highest.ratio > 4.0 && highest.ratio.is_finite(), "{highest:?}");
}

#[test]
fn a_trickle_in_a_dry_bed_is_no_flood() {
    // 0.01 m3/s is a third of 1 ft3/s.
    let flow = days_back(120, |back| if back == 1 { 0.01 } else { 0.0 });
    let found = conditions_at(&lake(), &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    assert_eq!(
        (&found.inflows[0].pulse, found.inflows[0].highest_10d),
        (&None, None)
    );
}

#[test]
fn a_regulated_river_is_held_against_its_own_month() {
    let mut lake = lake();
    lake.inflows[0].regulated = true;
    let flow = days_back(60, |back| if back == 1 { 30.0 } else { 10.0 });
    let found = conditions_at(&lake, &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    let inflow = &found.inflows[0];
    assert_eq!(
        (inflow.ratio, inflow.ratio_basis),
        (Some(3.0), RatioBasis::Median30d)
    );
    assert_eq!(inflow.baseflow_m3s, None);
}

#[test]
fn an_inflow_without_a_gauge_comes_from_the_balance() {
    // The box of 10 km2 rises 0.0864 m a day: 10 m3/s, and 5 m3/s are let out.
    let level = days_back(100, |back| 60.0 - 0.0864 * back as f64);
    let release = days_back(100, |_| 5.0);
    let found = conditions_at(
        &lake(),
        &set_of(vec![
            ("pool", Cadence::Daily, level),
            ("release", Cadence::Daily, release),
        ]),
    );
    assert!((found.inflows[0].discharge_m3s - 15.0).abs() < 1e-6);
    assert!(matches!(
        gap(&found, "sorrel").consequence,
        Consequence::StandIn { .. }
    ));
}

#[test]
fn a_rise_between_two_day_means_came_in_on_both_days() {
    // The box of 10 km2 stands 0.864 m higher from 7 days back: 100 m3/s for a day; 5 m3/s are let out.
    for (statistic, inflow_m3s) in [
        // Levels at midnight: all on that day. The newest 7-day mean, of 4 days back: 5 + 100 / 7.
        (None, 5.0 + 100.0 / 7.0),
        // Means: half on the day before, which is out of the window; and the newest day has no balance,
        // so the window has 6 days: 5 + 50 / 6.
        (Some("00003"), 5.0 + 50.0 / 6.0),
    ] {
        let mut lake = lake();
        let pool = lake.series.iter_mut().find(|s| s.id.as_str() == "pool").unwrap();
        pool.statistic = statistic.map(str::to_owned);
        let level = days_back(100, |back| if back <= 7 { 60.864 } else { 60.0 });
        let found = conditions_at(
            &lake,
            &set_of(vec![
                ("pool", Cadence::Daily, level),
                ("release", Cadence::Daily, days_back(100, |_| 5.0)),
            ]),
        );
        let inflow = &found.inflows[0];
        let day = clock().standard_day(inflow.observed_at);
        assert_eq!((clock().standard_day(morning()) - day).num_days(), 4);
        assert!(
            (inflow.discharge_m3s - inflow_m3s).abs() < 1e-6,
            "{}",
            inflow.discharge_m3s
        );
    }
}

#[test]
fn a_cooling_surface_is_declared_and_a_flat_one_is_not() {
    let cooling = days_back(20, |back| 18.0 + 0.2 * back as f64 + 0.05 * (back % 2) as f64);
    let surface = conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, cooling)]))
        .surface
        .unwrap();
    assert!(surface.cooling);
    assert_eq!(
        (surface.trend_7d.unwrap().days, surface.trend_14d.unwrap().days),
        (7, 14)
    );
    let flat = days_back(20, |back| 18.0 + 0.3 * (back % 2) as f64);
    assert!(
        !conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, flat)]))
            .surface
            .unwrap()
            .cooling
    );
}

#[test]
fn the_mean_of_the_last_day_of_hours_beats_the_single_reading() {
    let hours = (0..48)
        .rev()
        .map(|h| row(morning() - Duration::hours(h), if h == 0 { 25.0 } else { 19.0 }));
    let found = conditions_at(
        &lake(),
        &set_of(vec![("surface", Cadence::Continuous, hours.collect())]),
    );
    let surface = found.surface.unwrap();
    assert!(
        (surface.temp_degc - 19.25).abs() < 1e-9,
        "(23 x 19 + 25) / 24 = 19.25, found {}",
        surface.temp_degc
    );
    assert_eq!(surface.observed_at, morning());
}

#[test]
fn a_cast_from_the_deep_is_not_the_surface() {
    let mut rows = days_back(3, |_| 8.0);
    rows.iter_mut().for_each(|o| o.depth_m = Some(30.0));
    assert!(
        conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, rows)]))
            .surface
            .is_none()
    );
}
