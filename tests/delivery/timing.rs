//! Ten thousand letters of the digest made and checked, none sent.

use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use super::Scene;

const READERS: usize = 10_000;

/// Highest memory of a process so far, in megabytes.
#[cfg(target_os = "linux")]
fn peak_mb(child: &Child) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().trim_end_matches("kB").trim().parse::<u64>().ok()? / 1000)
}

#[test]
#[cfg(target_os = "linux")]
#[ignore = "a measurement: see DEVELOPERS.md"]
fn ten_thousand_letters_are_prepared_in_twenty_seconds_and_two_hundred_megabytes() {
    let scene = Scene::new(0);
    let began = Instant::now();
    scene.demo_readers(READERS);
    let added_s = began.elapsed().as_secs_f64();
    scene.settings(1, "", "");
    let mut command = scene.demo(&["send", "--dry-run"]);
    command.arg("--settings").arg(scene.home.path().join("mail.toml"));
    let began = Instant::now();
    let mut child = command
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut most_mb = 0;
    while child.try_wait().expect("a child").is_none() {
        most_mb = most_mb.max(peak_mb(&child).unwrap_or(0));
        std::thread::sleep(Duration::from_millis(5));
    }
    let took_s = began.elapsed().as_secs_f64();
    let told = String::from_utf8(child.wait_with_output().expect("gone").stderr).expect("UTF-8");
    println!(
        "{told}store filled and {READERS} readers added in {added_s:.2} s; digest made and letters prepared, in eight ways to write them, in \
         {took_s:.2} s with {most_mb} MB"
    );
    assert!(told.contains("10000 letters"), "{told}");
    assert!(
        took_s <= 20.0 && (1..=200).contains(&most_mb),
        "{took_s} s, {most_mb} MB"
    );
}
