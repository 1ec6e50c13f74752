//! What a store knows at an instant, and what it needs then.

use chrono::{DateTime, Duration, Utc};
use plungeline::lake::{Cadence, SeriesId};
use plungeline::quantity::Quantity;
use plungeline::series::store::Selection;
use plungeline::series::{Batch, Flag, SeriesKey, Store};

use super::scene::{all, bits, forecast, store};
use crate::store_lake::{self, at, batch, key, observation, provenance, source};

#[test]
fn a_load_knows_only_what_was_known_then() {
    let (_root, mut store) = store();
    let lake = store_lake::lake(vec![source(
        "pool",
        Quantity::PoolElevation,
        &[Cadence::Daily, Cadence::Continuous, Cadence::Forecast],
    )]);
    // Standard-time days at UTC-8; 2025-07-24 04:30 at the lake (daylight time) is 11:30 UTC.
    let as_of = at("2025-07-24T11:30:00Z");
    let daily = batch(
        key("pool", Cadence::Daily),
        at("2025-07-20T08:00:00Z"),
        Duration::days(1),
        (0..10).map(f64::from),
    );
    let hourly = batch(
        key("pool", Cadence::Continuous),
        at("2025-07-24T00:00:00Z"),
        Duration::minutes(30),
        (0..48).map(f64::from),
    );
    store.merge_all(&[daily, hourly]).unwrap();
    for issued in [
        "2025-07-23T12:00:00Z",
        "2025-07-24T11:00:00Z",
        "2025-07-24T12:00:00Z",
    ] {
        store
            .merge_forecast(&forecast("pool", at(issued), 3, 0..2, None))
            .unwrap();
    }
    let set = store.load(&lake, as_of);
    assert_eq!(set.gaps, []);
    let pool = SeriesId::new("pool");
    // The day of the 23rd ended at 2025-07-24T08:00Z; that of the 24th runs on.
    assert_eq!(
        set.observations(&pool, Cadence::Daily).last().unwrap().time,
        at("2025-07-23T08:00:00Z")
    );
    assert_eq!(
        set.observations(&pool, Cadence::Continuous).last().unwrap().time,
        as_of
    );
    assert_eq!(set.forecast(&pool).unwrap().issued_at, at("2025-07-24T11:00:00Z"));

    let recent = Selection {
        daily_from: Some(at("2025-07-22T08:00:00Z")),
        continuous_from: Some(at("2025-07-24T11:00:00Z")),
        forecasts: false,
        ..Selection::default()
    };
    let set = store.load_selected(&lake, as_of, &recent);
    assert_eq!(set.observations(&pool, Cadence::Daily).len(), 2);
    assert_eq!(set.observations(&pool, Cadence::Continuous).len(), 2);
    assert!(set.forecasts.is_empty());

    let before_any = store.load(&lake, at("1999-01-01T00:00:00Z"));
    assert!(
        before_any.observations.is_empty() && before_any.forecasts.is_empty() && before_any.gaps.is_empty()
    );
}

#[test]
fn the_forecasts_of_a_month_are_known_one_a_day_and_to_a_day_ahead() {
    let (_root, mut store) = store();
    let series = |id: &str, quantity| source(id, quantity, &[Cadence::Forecast]);
    let lake = store_lake::lake(vec![
        series("air", Quantity::AirTemp),
        series("wind", Quantity::WindSpeed),
    ]);
    let newest = at("2025-07-24T11:00:00Z");
    for id in ["air", "wind"] {
        for back_h in [0, 6, 24, 30, 24 * 29, 24 * 31] {
            let issued = newest - Duration::hours(back_h);
            store
                .merge_forecast(&forecast(id, issued, 48, 0..2, None))
                .unwrap();
        }
    }
    let set = store.load(&lake, newest + Duration::minutes(30));
    let runs = set.earlier_runs(&SeriesId::new("air"));
    let issued: Vec<i64> = runs.iter().map(|r| (newest - r.issued_at).num_hours()).collect();
    // 30 h back is the same day as 24 h back, and the earlier issue; 31 days back is too old.
    assert_eq!(issued, [24 * 29, 24, 6]);
    for run in runs {
        assert_eq!((run.time.len(), run.value.len(), run.value[0].len()), (24, 2, 24));
        assert!(
            run.time
                .iter()
                .all(|t| *t > run.issued_at && *t <= run.issued_at + Duration::days(1))
        );
    }
    assert!(set.earlier_runs(&SeriesId::new("wind")).is_empty());
}

#[test]
fn a_snapshot_never_hides_what_came_after_it() {
    let (_root, mut store) = store();
    let lake = store_lake::lake(vec![source(
        "pool",
        Quantity::PoolElevation,
        &[Cadence::Continuous],
    )]);
    let key = key("pool", Cadence::Continuous);
    let pool = SeriesId::new("pool");
    let first = at("2025-10-01T00:00:00Z");
    let mut batch = batch(key.clone(), first, Duration::hours(1), (0..3000).map(f64::from));
    store.merge(&batch).unwrap();
    let as_of = at("2026-12-31T00:00:00Z");
    let snapshot = store.folder().join("pool/continuous.snapshot");
    let same = |store: &Store, batch: &Batch| {
        for _ in 0..2 {
            let set = store.load(&lake, as_of);
            assert_eq!(
                bits(set.observations(&pool, Cadence::Continuous)),
                bits(&batch.rows)
            );
            assert!(snapshot.exists());
        }
    };
    same(&store, &batch);
    // A revision, flags, a new row, and a file that was removed by hand.
    batch.rows[7] = observation(
        batch.rows[7].time,
        Some(-1.0),
        &provenance(at("2026-04-01T00:00:00Z")),
    );
    store.merge(&batch).unwrap();
    same(&store, &batch);
    batch.rows[9].flag = Flag::Fail;
    store.set_flags(&key, &batch.rows).unwrap();
    same(&store, &batch);
    std::fs::remove_file(store.folder().join("pool/continuous-2025.parquet")).unwrap();
    batch.rows.retain(|row| row.time >= at("2026-01-01T00:00:00Z"));
    let set = store.load(&lake, as_of);
    assert_eq!(
        bits(set.observations(&pool, Cadence::Continuous)),
        bits(&batch.rows)
    );
    // A snapshot of any other content is no more than a file in the way.
    std::fs::write(&snapshot, b"plsnap01 and rubbish").unwrap();
    let set = store.load(&lake, as_of);
    assert_eq!(
        (set.observations(&pool, Cadence::Continuous).len(), set.gaps.len()),
        (batch.rows.len(), 0)
    );
}

#[test]
fn pruning_keeps_the_newest_forecast() {
    let (_root, mut store) = store();
    let id = SeriesId::new("air_temp");
    for day in 10..14 {
        store
            .merge_forecast(&forecast(
                "air_temp",
                at(&format!("2026-03-{day}T06:00:00Z")),
                2,
                0..1,
                None,
            ))
            .unwrap();
    }
    assert_eq!(store.prune_forecasts(&id, at("2026-03-12T00:00:00Z")).unwrap(), 2);
    assert_eq!(
        store.issues(&id).unwrap(),
        [at("2026-03-12T06:00:00Z"), at("2026-03-13T06:00:00Z")]
    );
    assert_eq!(store.prune_forecasts(&id, at("2030-01-01T00:00:00Z")).unwrap(), 1);
    assert_eq!(store.issues(&id).unwrap(), [at("2026-03-13T06:00:00Z")]);
}

#[test]
fn the_whole_history_is_needed_first_and_sixty_days_afterwards() {
    let (_root, mut store) = store();
    let mut pool = source(
        "pool",
        Quantity::PoolElevation,
        &[Cadence::Daily, Cadence::Continuous],
    );
    pool.daily_from = Some("2012-01-01".parse().unwrap());
    let mut air = source(
        "air_temp",
        Quantity::AirTemp,
        &[Cadence::Daily, Cadence::Forecast],
    );
    air.daily_from = Some("1985-01-01".parse().unwrap());
    air.daily_until = Some("1985-01-03".parse().unwrap());
    let lake = store_lake::lake(vec![pool, air]);
    let as_of = at("2026-03-12T11:30:00Z");
    let found = |store: &Store, as_of| -> Vec<(String, Cadence, String, bool)> {
        let needs = store.needs(&lake, as_of).unwrap();
        needs
            .iter()
            .map(|n| (n.source.id.to_string(), n.cadence, n.from.to_rfc3339(), n.whole))
            .collect()
    };
    let need = |id: &str, cadence, from: &str, whole| (id.to_owned(), cadence, at(from).to_rfc3339(), whole);
    let first = found(&store, as_of);
    let sixty_days_before = "2026-01-11T11:30:00Z";
    assert_eq!(
        first,
        [
            need("pool", Cadence::Daily, "2012-01-01T08:00:00Z", true),
            need("pool", Cadence::Continuous, sixty_days_before, true),
            need("air_temp", Cadence::Daily, "1985-01-01T08:00:00Z", true),
            need("air_temp", Cadence::Forecast, "2026-03-12T11:30:00Z", true),
        ]
    );

    let daily = |id, first, n: u32| {
        batch(
            key(id, Cadence::Daily),
            at(first),
            Duration::days(1),
            (0..n).map(f64::from),
        )
    };
    store
        .merge_all(&[
            daily("pool", "2025-12-01T08:00:00Z", 101),
            daily("air_temp", "1985-01-01T08:00:00Z", 3),
        ])
        .unwrap();
    store
        .merge_forecast(&forecast("air_temp", at("2026-03-12T09:00:00Z"), 2, 0..1, None))
        .unwrap();
    let pulls: Vec<(SeriesKey, DateTime<Utc>)> = store
        .needs(&lake, as_of)
        .unwrap()
        .iter()
        .map(|n| (n.key(), n.from))
        .collect();
    store.record_pulls(&pulls, as_of).unwrap();
    assert_eq!(
        found(&store, as_of),
        [
            // Newest value 2026-03-11, less 60 days.
            need("pool", Cadence::Daily, "2026-01-10T08:00:00Z", false),
            need("pool", Cadence::Continuous, sixty_days_before, true),
        ]
    );
    let later = found(&store, as_of + Duration::minutes(31));
    assert!(
        later.iter().any(|n| n.1 == Cadence::Forecast),
        "3 h after the last issue: {later:?}"
    );

    // A year whose file has gone is fetched again, without validators.
    std::fs::remove_file(store.folder().join("pool/daily-2025.parquet")).unwrap();
    std::fs::remove_file(store.folder().join("air_temp/daily-1985.parquet")).unwrap();
    let again = found(&store, as_of);
    assert_eq!(
        again[0],
        need("pool", Cadence::Daily, "2025-01-01T00:00:00Z", true)
    );
    assert_eq!(
        again[2],
        need("air_temp", Cadence::Daily, "1985-01-01T08:00:00Z", true)
    );
}

#[test]
fn two_writers_at_once_lose_nothing() {
    let (root, store) = store();
    let writers: Vec<_> = (0..4)
        .map(|n| {
            let root = root.path().to_owned();
            std::thread::spawn(move || {
                let mut store = Store::open(&root, "harrow-gap").unwrap();
                for i in 0..10 {
                    let first = at("2025-12-31T12:00:00Z") + Duration::minutes(n * 10 + i);
                    let values = (0..24).map(f64::from);
                    let key = key("surface", Cadence::Continuous);
                    store
                        .merge(&batch(key, first, Duration::hours(1), values))
                        .unwrap();
                }
            })
        })
        .collect();
    writers.into_iter().for_each(|w| w.join().unwrap());
    assert_eq!(
        all(&store, &key("surface", Cadence::Continuous)).len(),
        4 * 10 * 24
    );
}
