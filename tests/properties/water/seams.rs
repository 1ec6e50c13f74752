//! Station, weather archive and forecast of air temperature on one scale.

use chrono::{Duration, NaiveDate};
use plungeline::clock::LakeClock;
use plungeline::column::Water;
use plungeline::conditions::seam::{SeamBasis, SeamOutcome, SeamPart};
use plungeline::lake::{Cadence, SeriesId, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::series::{Observation, SeriesKey, SeriesSet};

use super::invented::Invented;

/// The demonstration lake with an air station; the archive is the lake file's own series.
fn with_station() -> Invented {
    let mut invented = Invented::until(2025, 7, 24);
    let archive = invented.lake.series.iter();
    let archive = archive
        .clone()
        .find(|s| s.quantity == Quantity::AirTemp)
        .unwrap()
        .clone();
    invented.lake.series.push(SeriesSource {
        id: SeriesId::new("station"),
        station: "USGS-990000099".to_owned(),
        cadences: vec![Cadence::Continuous],
        ..archive
    });
    invented
}

/// Hourly values of the true air temperature from `days` days ago to the clock.
fn hours(invented: &Invented, days: i64) -> Vec<Observation> {
    let clock = LakeClock::new(invented.lake.time_zone);
    let from = invented.today() - Duration::days(days);
    let recent = invented
        .air
        .iter()
        .filter(|(date, _)| *date >= from && *date <= invented.today());
    recent
        .flat_map(|(date, value)| {
            (0..24).map(move |h| Observation {
                time: clock.standard_day_start(*date) + Duration::hours(h),
                ..invented.observation(*date, None, *value)
            })
        })
        .filter(|row| row.time <= invented.as_of)
        .collect()
}

/// The truth at the station over so many days; the archive and the forecast `warm_degc` above it.
fn set(invented: &Invented, station_days: i64, warm_degc: f64) -> SeriesSet {
    let mut set = invented.whole();
    let air = SeriesId::new("air-temp");
    let archive = set.observations.get_mut(&SeriesKey {
        id: air.clone(),
        cadence: Cadence::Daily,
    });
    for row in archive.unwrap() {
        row.value = row.value.map(|v| v + warm_degc);
    }
    let forecast = set.forecasts.get_mut(&air).unwrap();
    for value in forecast.value.iter_mut().flatten().flatten() {
        *value += warm_degc;
    }
    if station_days > 0 {
        let key = SeriesKey {
            id: SeriesId::new("station"),
            cadence: Cadence::Continuous,
        };
        set.observations.insert(key, hours(invented, station_days));
    }
    set
}

/// Forecasts issued on each of the `days` days before, `warm_degc` above the truth.
fn earlier_runs(invented: &Invented, set: &mut SeriesSet, days: i64, warm_degc: f64) {
    let air = SeriesId::new("air-temp");
    let newest = set.forecasts[&air].clone();
    let clock = LakeClock::new(invented.lake.time_zone);
    let truth = |date: NaiveDate| invented.air.iter().find(|(d, _)| *d == date).unwrap().1;
    let runs = (1..=days).rev().map(|back| {
        let mut run = newest.clone();
        run.issued_at = invented.as_of - Duration::days(back);
        run.time = (1..=24).map(|h| run.issued_at + Duration::hours(h)).collect();
        let value = |t: &chrono::DateTime<chrono::Utc>| Some(truth(clock.standard_day(*t)) + warm_degc);
        let values: Vec<Option<f64>> = run.time.iter().map(value).collect();
        run.value = vec![values; run.members.len()];
        run
    });
    set.earlier_runs.insert(air, runs.collect());
}

fn medians(water: &Water) -> Vec<f64> {
    water.surface_outlook.iter().map(|d| d.median_degc).collect()
}

#[test]
fn a_warm_archive_and_forecast_are_brought_to_the_station() {
    let invented = with_station();
    let mut warm = set(&invented, 60, 2.0);
    earlier_runs(&invented, &mut warm, 25, 2.0);
    let water = invented.water(&warm, 30);
    let [past, forecast] = &water.seams[..] else {
        panic!("{:?}", water.seams)
    };
    assert_eq!((past.part, past.against.as_str()), (SeamPart::Past, "station"));
    assert_eq!(past.basis, Some(SeamBasis::DailyValues));
    // Injected, and both series are free of error.
    assert!((past.reads_high_degc.unwrap() - 2.0).abs() < 1e-9);
    assert_eq!(
        (forecast.part, forecast.basis),
        (SeamPart::Forecast, Some(SeamBasis::IssuedForecasts))
    );
    assert!((forecast.reads_high_degc.unwrap() - 2.0).abs() < 1e-9);
    // Each run covers most of the day of its issue: 25 runs, 25 or 24 days.
    assert!(
        (24..=25).contains(&forecast.days) && forecast.outcome == SeamOutcome::Corrected,
        "{forecast:?}"
    );
    // So the surface is that of a lake whose archive and forecast are right.
    let mut right = set(&invented, 60, 0.0);
    earlier_runs(&invented, &mut right, 25, 0.0);
    let right = invented.water(&right, 30);
    for (a, b) in medians(&water).into_iter().zip(medians(&right)) {
        assert!((a - b).abs() < 0.02, "{a} {b}");
    }
}

#[test]
fn uncorrected_the_same_forecast_would_warm_the_outlook() {
    let invented = with_station();
    let right = invented.water(&set(&invented, 0, 0.0), 30);
    let mut warm_forecast = set(&invented, 0, 0.0);
    let air = SeriesId::new("air-temp");
    let batch = warm_forecast.forecasts.get_mut(&air).unwrap();
    batch.value.iter_mut().flatten().flatten().for_each(|v| *v += 2.0);
    let raw = invented.water(&warm_forecast, 30);
    assert_eq!(raw.seams.len(), 1);
    assert_eq!(raw.seams[0].outcome, SeamOutcome::AsIssued);
    assert_eq!(
        (raw.seams[0].reads_high_degc, raw.seams[0].days_wanted),
        (None, 10)
    );
    earlier_runs(&invented, &mut warm_forecast, 25, 2.0);
    // The archive has daily values alone, and a day's run covers 19 or 20 of its hours and the next run the rest.
    let corrected = invented.water(&warm_forecast, 30);
    let found = corrected.seams[0].reads_high_degc.unwrap();
    assert!((found - 2.0).abs() < 1e-9, "{found}");
    let last = |water: &Water| medians(water)[14];
    // An air 2 degC warmer for 14 days warms a lake by much of a degree.
    assert!(last(&raw) - last(&right) > 0.4, "{} {}", last(&raw), last(&right));
    assert!((last(&corrected) - last(&right)).abs() < 0.05);
}

#[test]
fn a_forecast_without_earlier_runs_reads_as_the_past_of_its_model() {
    let invented = with_station();
    let water = invented.water(&set(&invented, 60, 2.0), 30);
    assert_eq!(water.seams[1].basis, Some(SeamBasis::SamePast));
    assert!((water.seams[1].reads_high_degc.unwrap() - 2.0).abs() < 1e-9);
}

#[test]
fn a_station_of_a_week_is_named_and_not_used() {
    let invented = with_station();
    let water = invented.water(&set(&invented, 7, 2.0), 30);
    let past = &water.seams[0];
    assert_eq!(
        (past.series.as_str(), past.against.as_str()),
        ("station", "air-temp")
    );
    assert_eq!((past.outcome, past.days), (SeamOutcome::NotUsed, 7));
    let without = invented.water(&set(&invented, 0, 2.0), 30);
    assert_eq!(medians(&water), medians(&without));
}

#[test]
fn a_wrong_correction_is_in_the_interval() {
    let invented = with_station();
    let width = |error_degc: f64| {
        let mut set = set(&invented, 60, 0.0);
        earlier_runs(&invented, &mut set, 12, 0.0);
        let runs = set.earlier_runs.get_mut(&SeriesId::new("air-temp")).unwrap();
        for (i, run) in runs.iter_mut().enumerate() {
            let error = if i % 2 == 0 { error_degc } else { -error_degc };
            run.value.iter_mut().flatten().flatten().for_each(|v| *v += error);
        }
        let water = invented.water(&set, 100);
        let day = &water.surface_outlook[14];
        day.high_degc - day.low_degc
    };
    let (sure, unsure) = (width(0.0), width(5.0));
    assert!(unsure > 1.02 * sure, "{unsure} {sure}");
}
