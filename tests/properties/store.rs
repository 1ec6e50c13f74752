//! The store gives back what was put in, whatever the order and however often.

#[path = "store_lake.rs"]
mod lake;

use std::collections::BTreeMap;
use std::time::Instant;

use chrono::{DateTime, Duration, Utc};
use lake::{at, batch, key, observation, provenance, source};
use plungeline::lake::{Cadence, SeriesId};
use plungeline::quantity::Quantity;
use plungeline::series::store::{MergeReport, Selection};
use plungeline::series::{Approval, Batch, Flag, ForecastBatch, Member, Observation, SeriesKey, Store};
use proptest::prelude::*;

fn store() -> (tempfile::TempDir, Store) {
    let root = tempfile::tempdir().unwrap();
    let store = Store::open(root.path(), "harrow-gap").unwrap();
    (root, store)
}

fn all(store: &Store, key: &SeriesKey) -> Vec<Observation> {
    store
        .read(key, at("1900-01-01T00:00:00Z"), at("2100-01-01T00:00:00Z"))
        .unwrap()
}

/// Bytes of every Parquet file, by path.
fn files(folder: &std::path::Path) -> BTreeMap<std::path::PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "parquet") {
                found.insert(path.clone(), std::fs::read(path).unwrap());
            }
        }
    }
    found
}

/// Everything of a row that must survive, numbers bit by bit.
type Bits = (i64, [Option<u64>; 3], Approval, Option<String>, Flag, String);

fn bits(rows: &[Observation]) -> Vec<Bits> {
    let of = |v: Option<f64>| v.map(f64::to_bits);
    rows.iter()
        .map(|r| {
            let numbers = [of(r.depth_m), of(r.value), of(r.original_value)];
            let (approval, provenance) = (r.approval, format!("{:?}", r.provenance));
            (
                r.time.timestamp_micros(),
                numbers,
                approval,
                r.qualifier.clone(),
                r.flag,
                provenance,
            )
        })
        .collect()
}

fn any_number() -> impl Strategy<Value = Option<f64>> {
    prop_oneof![1 => Just(None), 1 => Just(Some(-0.0)), 6 => (-1e9f64..1e9).prop_map(Some)]
}

prop_compose! {
    /// A row within the two hours around a new year, so that years and places are often shared.
    fn any_row()(
        quarter in -4i64..4,
        depth in prop_oneof![Just(None), Just(Some(0.5)), Just(Some(3.0))],
        value in any_number(),
        original_value in any_number(),
        approval in prop_oneof![Just(Approval::Unstated), Just(Approval::Provisional), Just(Approval::Approved)],
        qualifier in proptest::option::of("[a-zA-Z ,\"é]{0,6}"),
        flag in prop_oneof![Just(Flag::Pass), Just(Flag::Suspect), Just(Flag::Fail), Just(Flag::Missing)],
        retrieved in 0i64..4,
    ) -> Observation {
        let time = at("2026-01-01T00:00:00Z") + Duration::minutes(15 * quarter);
        let provenance = provenance(at("2026-02-01T00:00:00Z") + Duration::days(retrieved));
        Observation { depth_m: depth, original_value, approval, qualifier, flag, ..observation(time, value, &provenance) }
    }
}

/// Rows in order, no place twice.
fn any_rows() -> impl Strategy<Value = Vec<Observation>> {
    proptest::collection::vec(any_row(), 0..12).prop_map(|rows| {
        let place = |r: &Observation| (r.time, r.depth_m.map(f64::to_bits));
        let by_place: BTreeMap<_, _> = rows.into_iter().map(|r| (place(&r), r)).collect();
        by_place.into_values().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn reading_after_writing_gives_every_row_back(rows in any_rows()) {
        let (_root, mut store) = store();
        let key = key("surface", Cadence::Continuous);
        let report = store.merge(&Batch { key: key.clone(), rows: rows.clone() }).unwrap();
        prop_assert_eq!(report, MergeReport { added: rows.len(), ..MergeReport::default() });
        prop_assert_eq!(bits(&all(&store, &key)), bits(&rows));
    }

    #[test]
    fn merging_the_same_batch_again_changes_no_byte(rows in any_rows()) {
        let (root, mut store) = store();
        let batch = Batch { key: key("surface", Cadence::Continuous), rows };
        store.merge(&batch).unwrap();
        let before = files(root.path());
        let report = store.merge(&batch).unwrap();
        prop_assert!(!report.changed(), "{:?}", report);
        prop_assert_eq!(report.unchanged, batch.rows.len());
        prop_assert_eq!(files(root.path()), before);
    }

    /// Revisions of the same instants, each fetch with values of its own (a value that returns to an
    /// earlier one is the documented exception).
    #[test]
    fn batches_give_the_same_record_in_whatever_order_they_come(
        fetches in proptest::collection::vec(
            (proptest::collection::btree_map(-3i64..3, (any::<bool>(), any::<bool>()), 0..6), 0i64..5), 1..5),
        order in any::<prop::sample::Index>(),
    ) {
        let batches: Vec<Batch> = fetches.iter().enumerate().map(|(n, (rows, retrieved))| {
            let from = provenance(at("2026-02-01T00:00:00Z") + Duration::days(*retrieved));
            let rows = rows.iter().map(|(hour, (missing, approved))| {
                let time = at("2026-01-01T00:00:00Z") + Duration::hours(*hour);
                let approval = if *approved { Approval::Approved } else { Approval::Provisional };
                let value = (!missing).then_some(n as f64);
                Observation { approval, ..observation(time, value, &from) }
            });
            Batch { key: key("surface", Cadence::Continuous), rows: rows.collect() }
        }).collect();
        let mut turned = batches.clone();
        turned.rotate_left(order.index(batches.len()));
        turned.reverse();
        let merged = |batches: &[Batch]| {
            let (_root, mut store) = store();
            for batch in batches {
                store.merge(batch).unwrap();
            }
            // Which fetch a missing value came from says nothing, so it is left out.
            all(&store, &batches[0].key).into_iter()
                .map(|r| (r.time, r.value.map(f64::to_bits), r.approval))
                .collect::<Vec<_>>()
        };
        let one_by_one = merged(&batches);
        prop_assert_eq!(&merged(&turned), &one_by_one);
        let (_root, mut store) = store();
        store.merge_all(&batches).unwrap();
        let at_once = all(&store, &batches[0].key).into_iter()
            .map(|r| (r.time, r.value.map(f64::to_bits), r.approval)).collect::<Vec<_>>();
        prop_assert_eq!(at_once, one_by_one);
    }

    #[test]
    fn a_forecast_comes_back_as_it_was_issued_and_merging_it_again_changes_nothing(
        steps in 1usize..30, members in proptest::collection::btree_set(0u16..40, 1..6),
        seed in any_number(),
    ) {
        let (root, mut store) = store();
        let batch = forecast("air_temp", at("2026-03-12T06:00:00Z"), steps, members.into_iter(), seed);
        let report = store.merge_forecast(&batch).unwrap();
        prop_assert_eq!(report.added, steps * batch.members.len());
        let found = store.read_forecast(&batch.key.id, batch.issued_at).unwrap().unwrap();
        prop_assert_eq!(&found, &batch);
        let before = files(root.path());
        prop_assert!(!store.merge_forecast(&batch).unwrap().changed());
        prop_assert_eq!(files(root.path()), before);
    }
}

fn forecast(
    id: &str,
    issued_at: DateTime<Utc>,
    steps: usize,
    members: impl Iterator<Item = u16>,
    first: Option<f64>,
) -> ForecastBatch {
    let members: Vec<Member> = members.map(Member).collect();
    let value = |m: usize| {
        (0..steps)
            .map(|s| if s == 0 { first } else { Some((m * s) as f64 / 7.0) })
            .collect()
    };
    ForecastBatch {
        key: key(id, Cadence::Forecast),
        issued_at,
        provenance: provenance(issued_at),
        time: (0..steps)
            .map(|s| issued_at + Duration::hours(s as i64))
            .collect(),
        value: (0..members.len()).map(value).collect(),
        members,
    }
}

#[test]
fn a_forecast_in_two_parts_is_one_forecast() {
    let (_root, mut store) = store();
    let whole = forecast("air_temp", at("2026-03-12T06:00:00Z"), 5, 0..3, Some(1.0));
    let part = |members: std::ops::Range<usize>, steps: std::ops::Range<usize>| ForecastBatch {
        time: whole.time[steps.clone()].to_vec(),
        members: whole.members[members.clone()].to_vec(),
        value: whole.value[members]
            .iter()
            .map(|row| row[steps.clone()].to_vec())
            .collect(),
        ..whole.clone()
    };
    store.merge_forecast(&part(1..3, 0..3)).unwrap();
    store.merge_forecast(&part(0..1, 0..5)).unwrap();
    let report = store.merge_forecast(&part(1..3, 2..5)).unwrap();
    assert_eq!(
        (report.added, report.unchanged),
        (0, 2),
        "the last steps were known as missing"
    );
    assert_eq!(
        store
            .read_forecast(&whole.key.id, whole.issued_at)
            .unwrap()
            .unwrap(),
        whole
    );
}

#[test]
fn years_part_at_midnight_utc_not_at_the_lake() {
    let (root, mut store) = store();
    let key = key("surface", Cadence::Continuous);
    let first = at("2025-12-31T22:00:00Z");
    store
        .merge(&batch(
            key.clone(),
            first,
            Duration::hours(1),
            (0..5).map(f64::from),
        ))
        .unwrap();
    let names: Vec<String> = files(root.path())
        .into_keys()
        .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
        .collect();
    assert_eq!(names, ["continuous-2025.parquet", "continuous-2026.parquet"]);
    let middle = store
        .read(&key, at("2025-12-31T23:00:00Z"), at("2026-01-01T01:00:00Z"))
        .unwrap();
    assert_eq!(
        middle.iter().map(|r| r.value.unwrap()).collect::<Vec<_>>(),
        [1.0, 2.0]
    );
    assert_eq!(all(&store, &key).len(), 5);
}

#[test]
fn only_the_year_that_changed_is_written() {
    let (root, mut store) = store();
    let key = key("pool", Cadence::Daily);
    let first = at("2024-12-30T08:00:00Z");
    let mut batch = batch(key, first, Duration::days(1), (0..5).map(f64::from));
    store.merge(&batch).unwrap();
    let before = files(root.path());
    let newer = provenance(at("2026-03-13T12:30:00Z"));
    batch.rows[4] = observation(batch.rows[4].time, Some(9.0), &newer);
    let report = store.merge(&batch).unwrap();
    assert_eq!((report.replaced, report.unchanged), (1, 4));
    let changed: Vec<bool> = files(root.path())
        .iter()
        .map(|(path, bytes)| before[path] != *bytes)
        .collect();
    assert_eq!(changed, [false, true]);
}

#[test]
fn flags_are_written_beside_the_values_they_belong_to() {
    let (_root, mut store) = store();
    let key = key("pool", Cadence::Daily);
    let batch = batch(
        key.clone(),
        at("2025-06-01T08:00:00Z"),
        Duration::days(1),
        (0..4).map(f64::from),
    );
    store.merge(&batch).unwrap();
    let mut flagged = batch.rows.clone();
    flagged[0].flag = Flag::Pass;
    flagged[1].flag = Flag::Fail;
    flagged[2].flag = Flag::Pass;
    flagged[2].value = Some(77.0); // revised in the meantime: its flag is not that of the stored value
    let report = store.set_flags(&key, &flagged).unwrap();
    assert_eq!((report.replaced, report.kept, report.unchanged), (2, 1, 1));
    let flags: Vec<Flag> = all(&store, &key).iter().map(|r| r.flag).collect();
    assert_eq!(
        flags,
        [Flag::Pass, Flag::Fail, Flag::NotEvaluated, Flag::NotEvaluated]
    );
    assert_eq!(bits(&all(&store, &key))[3], bits(&batch.rows)[3]);
}

#[test]
fn a_load_knows_only_what_was_known_then() {
    let (_root, mut store) = store();
    let lake = lake::lake(vec![source(
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
fn a_snapshot_never_hides_what_came_after_it() {
    let (_root, mut store) = store();
    let lake = lake::lake(vec![source(
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
    let lake = lake::lake(vec![pool, air]);
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

#[test]
#[ignore = "prints how long a large store takes; run it alone on a quiet machine"]
fn a_large_store_in_figures() {
    let (root, mut store) = store();
    let wave = |n: usize, k: usize| {
        (0..n).map(move |i| {
            ((i + k) as f64 * 0.01)
                .sin()
                .mul_add(100.0, (i * 7919 % 13) as f64)
                .round()
                / 10.0
        })
    };
    let names = ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"];
    let mut batches = Vec::new();
    for (k, id) in names.iter().enumerate() {
        batches.push(batch(
            key(id, Cadence::Continuous),
            at("2022-01-01T00:00:00Z"),
            Duration::hours(1),
            wave(37_000, k),
        ));
        batches.push(batch(
            key(id, Cadence::Daily),
            at("1985-01-01T08:00:00Z"),
            Duration::days(1),
            wave(14_000, k),
        ));
    }
    let sources = names.iter().map(|id| {
        source(
            id,
            Quantity::AirTemp,
            &[Cadence::Daily, Cadence::Continuous, Cadence::Forecast],
        )
    });
    let lake = lake::lake(sources.collect());
    let timed = |what: &str, work: &mut dyn FnMut()| {
        let start = Instant::now();
        work();
        println!("{what}: {:.1} ms", start.elapsed().as_secs_f64() * 1e3);
    };
    timed("merge into an empty store", &mut || {
        drop(store.merge_all(&batches).unwrap())
    });
    timed("merge the same again", &mut || {
        assert!(!store.merge_all(&batches).unwrap().changed())
    });
    let forecasts: Vec<_> = names
        .iter()
        .map(|id| forecast(id, at("2026-03-12T06:00:00Z"), 384, 0..31, None))
        .collect();
    timed("merge 10 forecasts of 31 members and 384 steps", &mut || {
        drop(store.merge_forecasts(&forecasts).unwrap())
    });
    let as_of = at("2026-12-12T11:30:00Z");
    timed("load everything, first after a change", &mut || {
        drop(store.load(&lake, as_of))
    });
    let least = |what: &str, work: &mut dyn FnMut()| {
        let time = |_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        };
        let least = (0..20).map(time).fold(f64::INFINITY, f64::min);
        println!("{what}: {least:.1} ms, the least of 20");
    };
    least("load everything", &mut || {
        let set = store.load(&lake, as_of);
        assert_eq!(set.observations.values().map(Vec::len).sum::<usize>(), 510_000);
    });
    let recent = Selection {
        daily_from: Some(at("2020-01-01T00:00:00Z")),
        continuous_from: Some(at("2025-10-01T00:00:00Z")),
        ..Selection::default()
    };
    least("load the newest years", &mut || {
        drop(store.load_selected(&lake, as_of, &recent))
    });
    timed("what is needed", &mut || drop(store.needs(&lake, as_of).unwrap()));
    let bytes: usize = files(root.path()).values().map(Vec::len).sum();
    println!("{} files, {:.1} MB", files(root.path()).len(), bytes as f64 / 1e6);
}
