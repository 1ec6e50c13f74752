//! The program is killed at random instants of a pull. Afterwards the store opens, holds every value of every series
//! that was reported stored, and the next pull completes it.
//!
//! `PLUNGELINE_KILLS` is the number of kills (default 25).

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use plungeline::lake::{Lake, read_lake};
use plungeline::series::{GapReason, Observation, SeriesSet, Store};
use plungeline::sources::service_rules;

use super::{program, small_lake};

/// Mornings of two pulls one after the other: into an empty store, and into a full one.
const MORNINGS: [&str; 2] = ["2025-10-09T11:30:00Z", "2026-03-12T11:30:00Z"];
const ID: &str = "small-water";

/// Times and values; flags are renewed at the end of each pull and are no values.
type Values = Vec<(i64, Option<u64>)>;

struct Scene {
    home: tempfile::TempDir,
    lake: Lake,
    file: PathBuf,
}

impl Scene {
    fn new() -> Scene {
        let home = tempfile::tempdir().expect("a temporary folder");
        let file = home.path().join("small.toml");
        let text = small_lake(ID);
        std::fs::write(&file, &text).expect("writable");
        let lake = read_lake(&text, &file, &service_rules()).expect("no faults");
        Scene { home, lake, file }
    }

    fn pull(&self, store: &Path, morning: &str) -> Command {
        let mut pull = program(self.home.path());
        pull.args(["pull", "--replay", "fixtures/demo", "--as-of", morning, "--lake"])
            .arg(&self.file)
            .arg("--store")
            .arg(store);
        pull
    }

    fn complete(&self, store: &Path, morning: &str) -> Duration {
        let began = Instant::now();
        let output = self.pull(store, morning).output().expect("the program starts");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        began.elapsed()
    }

    /// The values of every series, by `series/cadence`; no file of the store is damaged.
    fn values(&self, store: &Path, morning: &str) -> Vec<(String, Values)> {
        let store = Store::open(store, ID).expect("the store opens");
        let set: SeriesSet = store.load(&self.lake, morning.parse().expect("an instant"));
        let is_damage = |reason: &GapReason| matches!(reason, GapReason::StoreDamaged { .. });
        let damaged: Vec<_> = set.gaps.iter().filter(|g| is_damage(&g.reason)).collect();
        assert!(damaged.is_empty(), "{damaged:?}");
        let of = |o: &Observation| (o.time.timestamp_micros(), o.value.map(f64::to_bits));
        set.observations
            .iter()
            .map(|(key, rows)| {
                let name = format!("{}/{:?}", key.id, key.cadence).to_lowercase();
                (name, rows.iter().map(of).collect())
            })
            .collect()
    }
}

/// What the lines `stored LAKE SERIES/CADENCE: ...` name. A line that the kill cut short reports nothing.
fn reported(stderr: &str) -> Vec<String> {
    let whole = stderr.rfind('\n').map_or("", |end| &stderr[..end]);
    let named = |line: &str| {
        Some(
            line.strip_prefix("stored small-water ")?
                .split(':')
                .next()?
                .to_owned(),
        )
    };
    whole.lines().filter_map(named).collect()
}

/// A number from 0 to 1 that differs from round to round (the mixing step of splitmix64, Steele et al. 2014).
fn draw(round: u64) -> f64 {
    let mut z = round.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

#[test]
fn a_pull_killed_at_any_instant_loses_nothing_it_reported_and_the_next_one_completes() {
    let kills: u64 = std::env::var("PLUNGELINE_KILLS").map_or(25, |text| text.parse().expect("a number"));
    let scene = Scene::new();
    let whole = scene.home.path().join("whole");
    let mut took = Vec::new();
    let mut wanted = Vec::new();
    for morning in MORNINGS {
        took.push(scene.complete(&whole, morning));
        wanted.push(scene.values(&whole, morning));
    }
    assert_eq!(wanted[0].len(), 4, "four series and cadences come");

    let (mut ended_before, mut with_reports, mut cut_within) = (0, 0, 0);
    for round in 0..kills {
        // Even rounds begin with an empty store, odd ones go on with the full one of the round before.
        let stage = (round % 2) as usize;
        let store = scene.home.path().join(format!("store-{}", round / 2));
        let mut child = scene
            .pull(&store, MORNINGS[stage])
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(took[stage].mul_f64(draw(round)));
        child.kill().expect("killed, or gone already");
        let output = child.wait_with_output().expect("gone");
        ended_before += usize::from(output.status.success());
        let told = reported(&String::from_utf8_lossy(&output.stderr));
        with_reports += usize::from(!told.is_empty());
        cut_within += usize::from(!told.is_empty() && told.len() < wanted[stage].len());

        let found = scene.values(&store, MORNINGS[stage]);
        for key in &told {
            let of = |all: &[(String, Values)]| all.iter().find(|(name, _)| name == key).cloned();
            let (found, wanted) = (of(&found), of(&wanted[stage]));
            assert!(wanted.is_some(), "round {round}: {key} is reported and unknown");
            assert!(
                found == wanted,
                "round {round}: {key} was reported stored and is not there whole"
            );
        }
        scene.complete(&store, MORNINGS[stage]);
        let found = scene.values(&store, MORNINGS[stage]);
        assert!(
            found == wanted[stage],
            "round {round}: the next pull did not complete the store"
        );
        if stage == 1 {
            std::fs::remove_dir_all(&store).expect("removable");
        }
    }
    println!(
        "{kills} kills: {with_reports} after a series was reported stored, {cut_within} of them between the first \
         and the last, {ended_before} pulls had ended before"
    );
    // A test that always kills too early, or too late, would see nothing.
    assert!(kills < 20 || (with_reports > 0 && ended_before < kills as usize));
}
