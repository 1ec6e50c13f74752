//! `log import` of a track of ten hours at one point a second, without the start of the program: `cargo bench --profile dev -- trips`.

use std::time::Instant;

use plungeline::lake::Lake;
use plungeline::trips::tracks::{TrackPoint, read_gpx};
use plungeline::trips::{ImportOptions, Known, TripLog, Twins, trips_in_file};

/// Ten hours at one a second.
const POINTS: i64 = 36_000;
const ROUNDS: usize = 15;

/// To and fro between the dam and the Sorrel Arm at trolling speed, in GPX.
fn track() -> String {
    let begin: chrono::DateTime<chrono::Utc> = "2025-10-08T12:00:00Z".parse().expect("an instant");
    let mut text = String::from(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>\n",
    );
    for second in 0..POINTS {
        // 9000 s out and 9000 s back, over 11 km; the waves of a hand at the helm.
        let phase = (second % 18_000) as f64 / 9000.0;
        let along = if phase < 1.0 { phase } else { 2.0 - phase };
        let point = TrackPoint {
            time: begin + chrono::Duration::seconds(second),
            latitude_deg: 42.2150 + 0.095 * along + 0.0004 * (second as f64 / 90.0).sin(),
            longitude_deg: -119.5900 + 0.082 * along + 0.0004 * (second as f64 / 70.0).cos(),
        };
        let time = point.time.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        text.push_str(&format!(
            "<trkpt lat=\"{:.7}\" lon=\"{:.7}\"><ele>236.1</ele><time>{time}</time></trkpt>\n",
            point.latitude_deg, point.longitude_deg
        ));
    }
    text.push_str("</trkseg></trk></gpx>\n");
    text
}

/// Prints minimum and median of many rounds, of reading alone and of all.
pub fn report(lake: &Lake) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("track.gpx");
    let text = track();
    std::fs::write(&file, &text).expect("writable");
    let known = Known {
        lake,
        species: &[],
        as_of: "2025-10-10T00:00:00Z".parse().expect("an instant"),
    };
    let (mut read_s, mut all_s, mut legs) = (Vec::new(), Vec::new(), 0);
    for round in 0..ROUNDS {
        let begun = Instant::now();
        let track = read_gpx(text.as_bytes()).expect("a good track");
        read_s.push(begun.elapsed().as_secs_f64());
        assert_eq!(track.points() as i64, POINTS);
        let begun = Instant::now();
        let imported = trips_in_file(&file, &ImportOptions::default(), &known).expect("a good track");
        let mut log = TripLog::open(&folder.path().join(round.to_string())).expect("a log");
        log.add(&imported.trips, Twins::Skip, known.as_of).expect("room");
        all_s.push(begun.elapsed().as_secs_f64());
        legs = imported.trips.iter().map(|trip| trip.legs.len()).sum();
    }
    let middle = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        (values[0], values[values.len() / 2])
    };
    let ((read_min_s, read_median_s), (min_s, median_s)) = (middle(&mut read_s), middle(&mut all_s));
    println!(
        "a track of {POINTS} points, {:.1} MB, {legs} legs; {ROUNDS} rounds",
        text.len() as f64 / 1e6
    );
    println!("  read alone              {read_min_s:.3} s least, {read_median_s:.3} s in the middle");
    println!("  read, cut, checked, put {min_s:.3} s least, {median_s:.3} s in the middle (wanted: 0.5)");
}
