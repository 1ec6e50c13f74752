//! Ten thousand letters made and checked, none sent.

use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use super::Scene;

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
    let began = Instant::now();
    let scene = Scene::new(10_000);
    let added_s = began.elapsed().as_secs_f64();
    scene.settings(1, "", "");
    // A letter as large as one without pictures may be: 100 kB.
    let letter = format!(
        "{}{}",
        super::MESSAGE,
        format!("{}\r\n", "x".repeat(74)).repeat(1300)
    );
    std::fs::write(scene.home.path().join("letter.eml"), &letter).expect("writable");
    let began = Instant::now();
    let mut child = scene
        .sending(&["--dry-run"])
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
    assert!(told.contains("10000 letters"), "{told}");
    println!(
        "{told}10000 readers added in {added_s:.2} s; letters of {} kB prepared in {took_s:.2} s with {most_mb} MB",
        letter.len() / 1000
    );
    assert!(
        took_s <= 20.0 && (1..=200).contains(&most_mb),
        "{took_s} s, {most_mb} MB"
    );
}
