//! How long a large store takes.

use std::time::Instant;

use chrono::Duration;
use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::series::store::Selection;

use super::scene::{files, forecast, store};
use crate::store_lake::{self, at, batch, key, source};

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
    let lake = store_lake::lake(sources.collect());
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
