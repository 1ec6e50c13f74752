//! The store gives back what was put in, whatever the order and however often.

use std::collections::BTreeMap;

use chrono::Duration;
use plungeline::lake::Cadence;
use plungeline::series::store::MergeReport;
use plungeline::series::{Approval, Batch, Flag, ForecastBatch, Observation};
use proptest::prelude::*;

use super::scene::{all, bits, files, forecast, store};
use crate::store_lake::{at, batch, key, observation, provenance};

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
