//! Damaged files, a disk that takes nothing, a writer in the way.

use std::fs;
use std::path::Path;

use chrono::Duration;
use plungeline::lake::{Cadence, Lake, SeriesId};
use plungeline::quantity::Quantity;
use plungeline::series::store::Validators;
use plungeline::series::{ForecastBatch, GapReason, Member, Store, StoreError};
use proptest::prelude::*;

use crate::store_lake::{self, at, batch, key, source};

fn pool_lake() -> Lake {
    store_lake::lake(vec![
        source(
            "pool",
            Quantity::PoolElevation,
            &[Cadence::Daily, Cadence::Forecast],
        ),
        source("air_temp", Quantity::AirTemp, &[Cadence::Daily]),
    ])
}

/// Two series over two years each, a pull on record, a validator.
fn filled(root: &Path) -> Store {
    let mut store = Store::open(root, "harrow-gap").unwrap();
    let first = at("2024-12-01T08:00:00Z");
    let daily = |id| {
        batch(
            key(id, Cadence::Daily),
            first,
            Duration::days(1),
            (0..60).map(f64::from),
        )
    };
    store.merge_all(&[daily("pool"), daily("air_temp")]).unwrap();
    for hour in [6, 9] {
        let issued_at = at(&format!("2025-01-29T{hour:02}:00:00Z"));
        let forecast = ForecastBatch {
            key: key("pool", Cadence::Forecast),
            issued_at,
            provenance: store_lake::provenance(issued_at),
            time: vec![issued_at],
            members: vec![Member(0)],
            value: vec![vec![Some(f64::from(hour))]],
        };
        store.merge_forecast(&forecast).unwrap();
    }
    let as_of = at("2025-01-29T11:30:00Z");
    let pulls = [
        (key("pool", Cadence::Daily), first),
        (key("air_temp", Cadence::Daily), first),
    ];
    store.record_pulls(&pulls, as_of).unwrap();
    let validators = Validators {
        etag: Some("\"1\"".to_owned()),
        last_modified: None,
    };
    store
        .update_ledger(|ledger| {
            drop(
                ledger
                    .validators
                    .insert("https://example.org/a".to_owned(), validators),
            )
        })
        .unwrap();
    store
}

type Damage = fn(Vec<u8>) -> Vec<u8>;

fn damages() -> Vec<(&'static str, Damage)> {
    vec![
        ("cut short", |bytes| bytes[..bytes.len() / 2].to_vec()),
        ("without its last byte", |bytes| bytes[..bytes.len() - 1].to_vec()),
        ("empty", |_| Vec::new()),
        ("zeros", |bytes| vec![0; bytes.len()]),
        ("other text", |_| b"<html><body>503</body></html>".to_vec()),
        ("only the end mark", |_| b"PAR1PAR1".to_vec()),
        ("one bit altered", |mut bytes| {
            bytes[20] ^= 1;
            bytes
        }),
    ]
}

#[test]
fn a_damaged_file_is_set_aside_and_named_and_the_rest_is_loaded() {
    for (how, damage) in damages() {
        let root = tempfile::tempdir().unwrap();
        let store = filled(root.path());
        let path = store.folder().join("pool/daily-2024.parquet");
        let bytes = damage(fs::read(&path).unwrap());
        fs::write(&path, &bytes).unwrap();

        let as_of = at("2025-01-29T11:30:00Z");
        let set = store.load(&pool_lake(), as_of);
        let [gap] = set.gaps.as_slice() else {
            panic!("{how}: {:?}", set.gaps)
        };
        assert_eq!(gap.what, "pool", "{how}");
        let GapReason::StoreDamaged { set_aside } = &gap.reason else {
            panic!("{how}: {gap:?}")
        };
        assert!(
            set_aside.contains("daily-2024.parquet.damaged-1"),
            "{how}: {set_aside}"
        );
        // Nothing is lost: the bytes are still there, and so is everything else.
        assert_eq!(
            fs::read(path.with_file_name("daily-2024.parquet.damaged-1")).unwrap(),
            bytes,
            "{how}"
        );
        assert_eq!(
            set.observations(&SeriesId::new("pool"), Cadence::Daily).len(),
            28, // the 29th has not ended
            "{how}: 2025 remains"
        );
        assert_eq!(
            set.observations(&SeriesId::new("air_temp"), Cadence::Daily).len(),
            59,
            "{how}"
        );

        // The next load has no fault to report, and the next pull asks for the year again.
        assert_eq!(store.load(&pool_lake(), as_of).gaps, [], "{how}");
        assert!(
            store.ledger().validators.is_empty(),
            "{how}: a service might answer that nothing has changed"
        );
        let lake = pool_lake();
        let needs = store.needs(&lake, as_of).unwrap();
        let need = needs
            .iter()
            .find(|n| n.key() == key("pool", Cadence::Daily))
            .unwrap();
        assert!(
            need.whole && need.from <= at("2024-12-01T08:00:00Z"),
            "{how}: {need:?}"
        );
    }
}

#[test]
fn a_damaged_forecast_gives_way_to_the_one_before() {
    let root = tempfile::tempdir().unwrap();
    let store = filled(root.path());
    let path = store.folder().join("pool/forecast-2025/20250129T090000Z.parquet");
    fs::write(&path, b"PAR1").unwrap();
    let set = store.load(&pool_lake(), at("2025-01-29T11:30:00Z"));
    assert_eq!(
        set.forecast(&SeriesId::new("pool")).unwrap().issued_at,
        at("2025-01-29T06:00:00Z")
    );
    assert_eq!(set.gaps.len(), 1);
    assert!(!path.exists());
}

#[test]
fn a_merge_into_a_damaged_file_keeps_its_bytes_and_asks_for_the_rest_again() {
    let root = tempfile::tempdir().unwrap();
    let mut store = filled(root.path());
    let path = store.folder().join("pool/daily-2025.parquet");
    fs::write(&path, b"rubbish").unwrap();
    let late = batch(
        key("pool", Cadence::Daily),
        at("2025-01-30T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    let report = store.merge(&late).unwrap();
    assert_eq!(report.added, 1);
    let [aside] = report.set_aside.as_slice() else {
        panic!("{report:?}")
    };
    assert_eq!(fs::read(aside).unwrap(), b"rubbish");
    let record = store.ledger().pull(&late.key).unwrap().clone();
    assert_eq!(record.damaged.into_iter().collect::<Vec<_>>(), [2025]);
    // Once the year has been fetched again, nothing is left to ask for.
    let as_of = at("2025-01-31T11:30:00Z");
    store
        .record_pull(&late.key, at("2024-12-01T08:00:00Z"), as_of)
        .unwrap();
    assert!(store.ledger().pull(&late.key).unwrap().damaged.is_empty());
}

#[test]
fn a_damaged_file_on_a_disk_that_takes_nothing_is_named_and_left() {
    let root = tempfile::tempdir().unwrap();
    let store = filled(root.path());
    let path = store.folder().join("pool/daily-2024.parquet");
    fs::write(&path, b"rubbish").unwrap();
    // Tests may run as root, whom no rights hold back: a lock file that is a folder cannot be opened.
    fs::remove_file(store.folder().join("writing.lock")).unwrap();
    fs::create_dir(store.folder().join("writing.lock")).unwrap();
    let set = store.load(&pool_lake(), at("2025-01-29T11:30:00Z"));
    let [gap] = set.gaps.as_slice() else {
        panic!("{:?}", set.gaps)
    };
    let GapReason::StoreDamaged { set_aside } = &gap.reason else {
        panic!("{gap:?}")
    };
    assert!(set_aside.contains("left where it is"), "{set_aside}");
    assert_eq!(fs::read(&path).unwrap(), b"rubbish");
    assert_eq!(set.observations(&SeriesId::new("pool"), Cadence::Daily).len(), 28);
}

#[test]
fn a_disk_that_takes_nothing_is_named_with_the_way_out() {
    let root = tempfile::tempdir().unwrap();
    let batch = batch(
        key("pool", Cadence::Daily),
        at("2025-01-01T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    // A file where the store's folder should be made.
    let taken = root.path().join("taken");
    fs::write(&taken, b"").unwrap();
    let error = Store::open(&taken, "harrow-gap")
        .and_then(|mut store| store.merge(&batch))
        .unwrap_err();
    let message = error.to_string();
    assert!(
        matches!(error, StoreError::Read { .. } | StoreError::Write { .. }),
        "{message}"
    );
    assert!(message.contains("taken"), "{message}");

    // A file where a series' folder should be made.
    let mut store = Store::open(root.path(), "harrow-gap").unwrap();
    fs::create_dir(store.folder()).unwrap();
    fs::write(store.folder().join("pool"), b"").unwrap();
    let error = store.merge(&batch).unwrap_err();
    let message = error.to_string();
    assert!(matches!(error, StoreError::Write { .. }), "{message}");
    assert!(
        message.contains("pool") && message.contains("--store DIR"),
        "{message}"
    );
}

#[test]
fn a_write_that_fails_leaves_the_old_content() {
    let root = tempfile::tempdir().unwrap();
    let mut store = filled(root.path());
    let target = store.folder().join("pool/daily-2025.parquet");
    let before = fs::read(&target).unwrap();
    // A folder in the way of the temporary file, which the sweep before a merge does not remove.
    let later = batch(
        key("pool", Cadence::Daily),
        at("2025-01-30T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    fs::create_dir(store.folder().join("pool/daily-2025.parquet.unfinished")).unwrap();
    let error = store.merge(&later).unwrap_err();
    assert!(matches!(error, StoreError::Write { .. }), "{error}");
    assert!(
        error.to_string().contains("former content is untouched"),
        "{error}"
    );
    assert_eq!(fs::read(&target).unwrap(), before);
}

#[test]
fn a_writer_in_the_way_is_waited_for_and_then_named() {
    let root = tempfile::tempdir().unwrap();
    let store = filled(root.path());
    let held = fs::File::open(store.folder().join("writing.lock")).unwrap();
    held.lock().unwrap();
    let one = batch(
        key("pool", Cadence::Daily),
        at("2025-03-01T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    let mut hurried = store.clone().with_patience(std::time::Duration::from_millis(50));
    let error = hurried.merge(&one).unwrap_err();
    assert!(matches!(error, StoreError::Locked { .. }), "{error}");
    // Readers are not held up.
    assert_eq!(store.load(&pool_lake(), at("2025-01-29T11:30:00Z")).gaps, []);
    drop(held);
    assert_eq!(hurried.merge(&one).unwrap().added, 1);
}

#[test]
fn what_a_killed_writer_left_is_swept_and_never_read() {
    let root = tempfile::tempdir().unwrap();
    let mut store = filled(root.path());
    let left = store.folder().join("pool/daily-2025.parquet.unfinished");
    fs::write(&left, b"half a fi").unwrap();
    assert_eq!(store.load(&pool_lake(), at("2025-01-29T11:30:00Z")).gaps, []);
    let one = batch(
        key("pool", Cadence::Daily),
        at("2025-03-01T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    store.merge(&one).unwrap();
    assert!(!left.exists());
}

#[test]
fn a_damaged_ledger_costs_no_value_and_is_kept() {
    let root = tempfile::tempdir().unwrap();
    let mut store = filled(root.path());
    let path = store.folder().join("ledger.json");
    fs::write(&path, b"{\"pulls\": {").unwrap();
    let as_of = at("2025-01-29T11:30:00Z");
    assert_eq!(store.load(&pool_lake(), as_of).gaps, []);
    assert!(
        store
            .needs(&pool_lake(), as_of)
            .unwrap()
            .iter()
            .any(|n| n.cadence == Cadence::Daily && n.whole)
    );
    store
        .record_pull(&key("pool", Cadence::Daily), as_of, as_of)
        .unwrap();
    assert_eq!(
        fs::read(path.with_file_name("ledger.json.damaged-1")).unwrap(),
        b"{\"pulls\": {"
    );
    assert_eq!(store.ledger().pulls.len(), 1);
}

#[test]
fn a_forecast_is_not_merged_as_an_observation() {
    let root = tempfile::tempdir().unwrap();
    let mut store = Store::open(root.path(), "harrow-gap").unwrap();
    let wrong = batch(
        key("pool", Cadence::Forecast),
        at("2025-01-01T08:00:00Z"),
        Duration::days(1),
        [1.0].into_iter(),
    );
    let error = store.merge(&wrong).unwrap_err();
    assert!(matches!(error, StoreError::WrongCadence { .. }), "{error}");
    assert!(error.to_string().contains("\"pool\""), "{error}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_at_all_stop_the_program(
        bytes in proptest::collection::vec(any::<u8>(), 0..200), marked in any::<bool>(),
    ) {
        let root = tempfile::tempdir().unwrap();
        let store = Store::open(root.path(), "harrow-gap").unwrap();
        fs::create_dir_all(store.folder().join("pool")).unwrap();
        let mut bytes = bytes;
        if marked {
            bytes.extend([4, 0, 0, 0]);
            bytes.extend(b"PAR1");
        }
        fs::write(store.folder().join("pool/daily-2025.parquet"), bytes).unwrap();
        let range = (at("2025-01-01T00:00:00Z"), at("2026-01-01T00:00:00Z"));
        let read = store.read(&key("pool", Cadence::Daily), range.0, range.1);
        prop_assert!(matches!(read, Err(StoreError::Damaged { .. })), "{read:?}");
        prop_assert_eq!(store.newest_time(&key("pool", Cadence::Daily)).unwrap(), None);
        prop_assert_eq!(store.load(&pool_lake(), range.1).gaps.len(), 1);
    }
}
