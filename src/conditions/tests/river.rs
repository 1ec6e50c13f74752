//! River forecasts in the level ahead of the invented lake.

use super::*;
use crate::conditions::outlook::{InflowOrigin, LevelOutlook, OutlookBasis};
use crate::units::S_PER_DAY;

/// A lake whose river has a forecast of its own series.
fn forecast_lake() -> Lake {
    let mut lake = lake();
    let place = SeriesPlace::Inflow(InflowId::new("sorrel"));
    lake.series.push(source(
        "sorrel-forecast",
        Quantity::Inflow,
        place,
        &[Cadence::Forecast],
    ));
    lake
}

/// A lake that neither rises nor falls: inflow and release of about 20 m3/s, give or take a saw, at 50 m.
fn standing() -> SeriesSet {
    let saw = |back: i64| 20.0 * (1.0 + 0.05 * ((back % 3) - 1) as f64);
    set_of(vec![
        ("pool", Cadence::Daily, days_back(140, |_| 50.0)),
        (
            "pool",
            Cadence::Continuous,
            vec![row(morning() - Duration::hours(1), 50.0)],
        ),
        // A day apart, so that the gauge is no balance in disguise.
        ("release", Cadence::Daily, days_back(140, |back| saw(back + 1))),
        ("sorrel-flow", Cadence::Daily, days_back(140, saw)),
    ])
}

/// A forecast of a constant flow from the issue on, in steps of six hours.
fn steady(set: &mut SeriesSet, issued_at: DateTime<Utc>, days: i64, flow_m3s: f64) {
    let id = SeriesId::new("sorrel-forecast");
    let time: Vec<_> = (0..=4 * days)
        .map(|k| issued_at + Duration::hours(6 * k))
        .collect();
    let provenance = Provenance {
        service: "nwps".into(),
        station: "SRLX9".into(),
        ..(*provenance()).clone()
    };
    set.forecasts.insert(
        id.clone(),
        ForecastBatch {
            key: SeriesKey {
                id,
                cadence: Cadence::Forecast,
            },
            issued_at,
            provenance: Arc::new(provenance),
            members: vec![Member(0)],
            value: vec![vec![Some(flow_m3s); time.len()]],
            time,
        },
    );
}

fn outlook_of(conditions: &Conditions) -> &LevelOutlook {
    &conditions.level_projection.as_ref().unwrap().outlook
}

#[test]
fn a_flood_that_is_forecast_lifts_the_lake_by_its_volume() {
    let lake = forecast_lake();
    let mut set = standing();
    // Issued at midnight of standard time this morning, 08:00 UTC, for six days.
    let issued_at = morning() - Duration::minutes(210);
    let usual = conditions_at(&lake, &set);
    steady(&mut set, issued_at, 6, 120.0);
    let conditions = conditions_at(&lake, &set);
    let (flood, usual) = (outlook_of(&conditions), outlook_of(&usual));
    assert!(usual.river_forecasts.is_empty() && flood.river_forecasts.len() == 1);
    // By hand: 100 m3/s more on 10 km2 is 0.864 m a day, from this morning for five days.
    let wanted_m = 5.0 * 100.0 * S_PER_DAY / 1e7;
    let lifted_m = flood.days[5].median_m - usual.days[5].median_m;
    // The saw moves the usual inflow by a few hundredths, and the median of a sum of lognormal flows lies above
    // that of each; a tenth of the lift.
    assert!(
        (lifted_m - wanted_m).abs() < 0.1 * wanted_m,
        "{lifted_m} {wanted_m}"
    );
    // A forecast of the very flow that stands changes nothing to speak of.
    steady(&mut set, issued_at, 6, 20.0);
    let same = conditions_at(&lake, &set);
    let difference_m = outlook_of(&same).days[5].median_m - usual.days[5].median_m;
    assert!(difference_m.abs() < 0.1, "{difference_m}");
}

#[test]
fn after_its_end_the_flood_fades_and_does_not_stop() {
    let lake = forecast_lake();
    let mut set = standing();
    let issued_at = morning() - Duration::minutes(210);
    let usual = conditions_at(&lake, &set);
    steady(&mut set, issued_at, 3, 120.0);
    let conditions = conditions_at(&lake, &set);
    let rise_m = |k: usize| {
        let over_m =
            |k: usize| outlook_of(&conditions).days[k].median_m - outlook_of(&usual).days[k].median_m;
        over_m(k + 1) - over_m(k)
    };
    // 24, 25 and 26 July are forecast, with a whole day each; from the morning of 28 July on it is the fading flow.
    let forecast = &outlook_of(&conditions).river_forecasts[0];
    assert_eq!(
        (forecast.from.to_string(), forecast.until.to_string()),
        ("2025-07-24".to_owned(), "2025-07-26".to_owned())
    );
    // By hand: with a persistence of 0.7 at least, ln(120 / 20) keeps 0.7 on the first day after: 70 m3/s of 120, and
    // half of the excess at the very least; with 0.9 it keeps 100.
    let full_m = 100.0 * S_PER_DAY / 1e7;
    assert!(rise_m(3) > 0.4 * full_m && rise_m(3) < full_m, "{}", rise_m(3));
    for k in 3..7 {
        assert!(rise_m(k + 1) < rise_m(k), "{k}");
    }
    assert!(rise_m(15) < 0.1 * full_m, "{}", rise_m(15));
}

#[test]
fn the_forecast_is_named_with_its_gauge_and_time_of_issue() {
    let lake = forecast_lake();
    let mut set = standing();
    let issued_at = morning() - Duration::hours(20);
    steady(&mut set, issued_at, 4, 30.0);
    let conditions = conditions_at(&lake, &set);
    let told = &outlook_of(&conditions).river_forecasts[0];
    assert_eq!(told.inflow.as_str(), "sorrel");
    assert_eq!(
        (told.service.as_str(), told.station.as_str(), told.series.as_str()),
        ("nwps", "SRLX9", "sorrel-forecast")
    );
    assert_eq!((told.issued_at, told.share_frac), (issued_at, 1.0));
    assert!(conditions.gaps.iter().all(|g| g.what != "sorrel-forecast"));
}

#[test]
fn a_missing_a_late_and_a_past_forecast_are_told_and_change_nothing() {
    let lake = forecast_lake();
    let bare = standing();
    let usual = conditions_at(&super::lake(), &bare);
    let with = |issued_ago_h: i64, days: i64| {
        let mut set = standing();
        steady(&mut set, morning() - Duration::hours(issued_ago_h), days, 120.0);
        set
    };
    let cases = [
        (bare, GapReason::NoData),
        // Yesterday alone, which the record knows better.
        (with(27, 1), GapReason::TooFew { found: 0, wanted: 1 }),
        (
            with(49, 9),
            GapReason::Late {
                newest: morning() - Duration::hours(49),
                age_h: 49.0,
                allowed_h: 48.0,
            },
        ),
    ];
    for (set, reason) in cases {
        let conditions = conditions_at(&lake, &set);
        assert_eq!(gap(&conditions, "sorrel-forecast").reason, reason);
        assert_eq!(outlook_of(&conditions), outlook_of(&usual), "{reason:?}");
    }
}

#[test]
fn a_lake_file_without_a_forecast_tells_of_none() {
    let conditions = conditions_at(&lake(), &standing());
    assert!(outlook_of(&conditions).river_forecasts.is_empty());
    assert!(conditions.gaps.iter().all(|g| !g.what.contains("forecast")));
}

#[test]
fn a_river_scaled_from_the_gauge_follows_the_gauge_s_forecast() {
    let mut lake = forecast_lake();
    lake.inflows.push(Inflow {
        id: InflowId::new("fiddler"),
        name: "Fiddler Creek".into(),
        flow: InflowFlow::FromGauge {
            gauge: InflowId::new("sorrel"),
            factor: 0.25,
        },
        ..lake.inflows[0].clone()
    });
    let mut set = standing();
    steady(&mut set, morning() - Duration::minutes(210), 6, 120.0);
    let conditions = conditions_at(&lake, &set);
    let told = &outlook_of(&conditions).river_forecasts;
    let shares: Vec<(&str, f64)> = told.iter().map(|f| (f.inflow.as_str(), f.share_frac)).collect();
    // By hand: 1 of 1.25 and 0.25 of 1.25.
    assert_eq!(shares.len(), 2);
    for ((inflow, share), (wanted, frac)) in shares.iter().zip([("sorrel", 0.8), ("fiddler", 0.2)]) {
        assert_eq!(*inflow, wanted);
        assert!((share - frac).abs() < 1e-12, "{share}");
    }
    let OutlookBasis::WaterBalance { inflow_from, .. } = outlook_of(&conditions).basis else {
        panic!()
    };
    // The lake stands still at 20 m3/s of release: the gauges' 25 are lowered to that, and so is the forecast.
    let InflowOrigin::Gauges { factor } = inflow_from else {
        panic!("{inflow_from:?}")
    };
    assert!((factor - 0.8).abs() < 0.01, "{factor}");
    let usual = conditions_at(&lake, &standing());
    let lifted_m = outlook_of(&conditions).days[5].median_m - outlook_of(&usual).days[5].median_m;
    // By hand: 120 x 1.25 x 0.8 less 20 is 100 m3/s for five days on 10 km2; a tenth, as above.
    let wanted_m = 5.0 * 100.0 * S_PER_DAY / 1e7;
    assert!((lifted_m - wanted_m).abs() < 0.1 * wanted_m, "{lifted_m}");
}

#[test]
fn a_gauge_that_reads_more_than_the_lake_takes_in_gives_no_forecast() {
    // The balance says 20 m3/s, the gauge 40: it does not describe the inflow, which is then the balance's.
    let lake = forecast_lake();
    let mut set = standing();
    let key = SeriesKey {
        id: SeriesId::new("sorrel-flow"),
        cadence: Cadence::Daily,
    };
    for row in set.observations.get_mut(&key).unwrap() {
        row.value = row.value.map(|q| 2.0 * q);
    }
    steady(&mut set, morning() - Duration::minutes(210), 6, 240.0);
    let conditions = conditions_at(&lake, &set);
    assert!(outlook_of(&conditions).river_forecasts.is_empty());
    let reason = &gap(&conditions, "sorrel-forecast").reason;
    assert!(matches!(reason, GapReason::Refused { .. }), "{reason:?}");
}

#[test]
fn two_gauges_that_together_read_more_than_the_lake_takes_in_give_no_forecast() {
    // The balance says 20 m3/s, each of two gauges 16: 1.6 of it.
    let mut lake = forecast_lake();
    let fiddler = || SeriesPlace::Inflow(InflowId::new("fiddler"));
    lake.inflows.push(Inflow {
        id: InflowId::new("fiddler"),
        name: "Fiddler Creek".into(),
        ..lake.inflows[0].clone()
    });
    let gauge = source("fiddler-flow", Quantity::Inflow, fiddler(), &[Cadence::Daily]);
    let ahead = source(
        "fiddler-forecast",
        Quantity::Inflow,
        fiddler(),
        &[Cadence::Forecast],
    );
    lake.series.extend([gauge, ahead]);
    let mut set = standing();
    let key = |id: &str| SeriesKey {
        id: SeriesId::new(id),
        cadence: Cadence::Daily,
    };
    let mut rows = set.observations[&key("sorrel-flow")].clone();
    rows.iter_mut()
        .for_each(|row| row.value = row.value.map(|q| 0.8 * q));
    set.observations.insert(key("fiddler-flow"), rows.clone());
    set.observations.insert(key("sorrel-flow"), rows);
    steady(&mut set, morning() - Duration::minutes(210), 6, 100.0);
    let mut second = set.forecasts[&SeriesId::new("sorrel-forecast")].clone();
    second.key.id = SeriesId::new("fiddler-forecast");
    set.forecasts.insert(second.key.id.clone(), second);
    let conditions = conditions_at(&lake, &set);
    assert!(outlook_of(&conditions).river_forecasts.is_empty());
    for id in ["sorrel-forecast", "fiddler-forecast"] {
        assert!(matches!(gap(&conditions, id).reason, GapReason::Refused { .. }));
    }
    // Without the second forecast, the first is a part of it that stands.
    set.forecasts.remove(&SeriesId::new("fiddler-forecast"));
    let conditions = conditions_at(&lake, &set);
    assert_eq!(outlook_of(&conditions).river_forecasts.len(), 1);
    assert!((outlook_of(&conditions).river_forecasts[0].share_frac - 0.8).abs() < 0.05);
}
