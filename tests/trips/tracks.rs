//! Tracks cut into legs: zones, stretches, speeds, running, silence.

use plungeline::lake::{ZoneId, distance_m};
use plungeline::trips::tracks::{CutOptions, Track, TrackPoint, cut_track, read_gpx, read_kml};
use plungeline::trips::{Origin, Trip, check_trip};

use super::scene::{known, lake};

/// A track point a number of seconds after 7:00 on 8 October 2025 at the lake.
pub fn point(second: i64, latitude_deg: f64, longitude_deg: f64) -> TrackPoint {
    let time = "2025-10-08T14:00:00Z"
        .parse::<chrono::DateTime<chrono::Utc>>()
        .unwrap()
        + chrono::Duration::seconds(second);
    TrackPoint {
        time,
        latitude_deg,
        longitude_deg,
    }
}

/// Points `step_s` apart straight north through the main body at 1 m/s; off its stretches for the first kilometre.
pub fn straight(points: usize, step_s: f64) -> Vec<TrackPoint> {
    let north_deg = distance_m((42.0, 0.0), (43.0, 0.0)).recip();
    (0..points)
        .map(|i| {
            let second = (i as f64 * step_s) as i64;
            point(second, 42.2150 + second as f64 * north_deg, -119.5870)
        })
        .collect()
}

/// GPX of points.
pub fn gpx(points: &[TrackPoint]) -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>\n",
    );
    for p in points {
        let time = p.time.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        text.push_str(&format!(
            "<trkpt lat=\"{:.7}\" lon=\"{:.7}\"><ele>236</ele><time>{time}</time></trkpt>\n",
            p.latitude_deg, p.longitude_deg
        ));
    }
    text.push_str("</trkseg></trk></gpx>\n");
    text
}

fn cut(points: Vec<TrackPoint>) -> (Vec<Trip>, [f64; 3]) {
    let track = Track {
        pieces: vec![points],
        ..Track::default()
    };
    let options = CutOptions {
        rods: Some(2),
        ..CutOptions::default()
    };
    let cut = cut_track(&track, lake(), Origin::Gpx, &options).unwrap();
    for trip in &cut.trips {
        let faults = check_trip(trip, &known(), "the track");
        assert!(faults.is_empty(), "{faults:?}");
    }
    (cut.trips, [cut.running_h, cut.outside_h, cut.short_h])
}

#[test]
fn a_straight_course_is_one_leg_with_its_speed_and_way() {
    let (trips, none) = cut(straight(2001, 1.0));
    let [leg] = &trips[0].legs[..] else {
        panic!("{trips:?}")
    };
    assert_eq!(
        (leg.zone.as_str(), leg.stretch.as_deref(), trips.len()),
        ("main", None, 1)
    );
    // 2000 s at 1 m/s, by construction; places have seven decimals of a degree, about a centimetre.
    assert!(
        (leg.duration_h - 2000.0 / 3600.0).abs() < 1e-6 && (leg.speed_m_s.unwrap() - 1.0).abs() < 1e-4,
        "{leg:?}"
    );
    assert!(
        (leg.drift_m_s.unwrap() - 1.0).abs() < 1e-4 && leg.drift_deg.unwrap().abs() < 1e-3,
        "{leg:?}"
    );
    assert!(!leg.catch_known, "a track is no blank");
    assert_eq!(none, [0.0; 3]);
}

#[test]
fn to_and_fro_makes_way_and_no_drift() {
    let mut points = straight(1201, 1.0);
    let back: Vec<_> = points.iter().rev().skip(1).copied().collect();
    points.extend(
        back.iter()
            .enumerate()
            .map(|(i, p)| point(1201 + i as i64, p.latitude_deg, p.longitude_deg)),
    );
    let (trips, _) = cut(points);
    let leg = &trips[0].legs[0];
    // The smoothed speed of the turn is never above that of running.
    assert!(
        (leg.speed_m_s.unwrap() - 1.0).abs() < 1e-3 && leg.drift_m_s.unwrap() < 0.01,
        "{leg:?}"
    );
}

#[test]
fn zones_and_stretches_part_legs_and_a_run_is_no_effort() {
    // An hour in the Sorrel Arm across the Tollhouse Wall, then a run of 8 m/s to the main body, then an hour there.
    let mut points = Vec::new();
    let mut second = 0;
    let mut way = |from: (f64, f64), to: (f64, f64), speed_m_s: f64, points: &mut Vec<TrackPoint>| {
        let steps = (distance_m(from, to) / speed_m_s) as i64;
        for i in 0..steps {
            let frac = i as f64 / steps as f64;
            points.push(point(
                second,
                from.0 + frac * (to.0 - from.0),
                from.1 + frac * (to.1 - from.1),
            ));
            second += 1;
        }
    };
    let (wall_from, wall_to) = ((42.2936, -119.5332), (42.3029, -119.5182));
    way((42.3090, -119.5090), wall_to, 1.0, &mut points);
    way(wall_to, wall_from, 1.0, &mut points);
    way(wall_from, (42.2800, -119.5550), 1.0, &mut points);
    way((42.2800, -119.5550), (42.2600, -119.5707), 8.0, &mut points);
    way((42.2600, -119.5707), (42.2500, -119.5750), 1.0, &mut points);
    let (trips, [running_h, outside_h, _]) = cut(points);
    let legs: Vec<(&str, Option<&str>)> = trips[0]
        .legs
        .iter()
        .map(|l| (l.zone.as_str(), l.stretch.as_deref()))
        .collect();
    assert_eq!(
        legs,
        [
            ("sorrel", None),
            ("sorrel", Some("tollhouse-wall")),
            ("sorrel", None),
            ("main", Some("narrows")),
            ("main", None)
        ]
    );
    // The wall is 1617 m long by its corners, and 150 m more at either end lie on the stretch: about 1917 s at 1 m/s.
    let wall_m = distance_m(wall_from, wall_to) + 300.0;
    assert!(
        (trips[0].legs[1].duration_h * 3600.0 - wall_m).abs() < 30.0,
        "{:?}",
        trips[0].legs[1]
    );
    // 2.6 km at 8 m/s.
    let run_s = distance_m((42.2800, -119.5550), (42.2600, -119.5707)) / 8.0;
    assert!(
        (running_h * 3600.0 - run_s).abs() < 120.0 && outside_h * 3600.0 < 120.0,
        "{running_h} {outside_h}"
    );
}

#[test]
fn a_border_crossed_to_and_fro_makes_no_legs() {
    // Along the line between main body and Sorrel Arm, a minute on each side.
    let points: Vec<_> = (0..3600)
        .map(|s| {
            let side = if (s / 60) % 2 == 0 { -0.0012 } else { 0.0012 };
            point(s, 42.2752 + side, -119.5615 + side)
        })
        .collect();
    let track = Track {
        pieces: vec![points],
        ..Track::default()
    };
    let found = cut_track(&track, lake(), Origin::Gpx, &CutOptions::default()).unwrap();
    let legs: usize = found.trips.iter().map(|trip| trip.legs.len()).sum();
    assert!(legs <= 2, "{found:?}");
}

#[test]
fn silence_parts_legs_and_a_long_one_parts_trips() {
    let mut points = straight(1201, 1.0);
    points.extend(straight(1201, 1.0).iter().map(|p| TrackPoint {
        time: p.time + chrono::Duration::minutes(50),
        ..*p
    }));
    let (trips, _) = cut(points.clone());
    assert_eq!((trips.len(), trips[0].legs.len()), (1, 2));
    points.extend(straight(1201, 1.0).iter().map(|p| TrackPoint {
        time: p.time + chrono::Duration::hours(9),
        ..*p
    }));
    let (trips, _) = cut(points);
    assert_eq!((trips.len(), trips[0].legs.len(), trips[1].legs.len()), (2, 2, 1));
    // Hours are kept to a millionth.
    let hours_h: f64 = trips.iter().flat_map(|t| &t.legs).map(|leg| leg.duration_h).sum();
    assert!((hours_h - 1.0).abs() < 3e-6, "three times 1200 s: {hours_h}");
}

#[test]
fn ashore_is_no_effort() {
    let (trips, [_, outside_h, _]) = cut((0..1000).map(|s| point(s, 42.10, -119.40)).collect());
    assert!(
        trips.is_empty() && (outside_h - 999.0 / 3600.0).abs() < 1e-9,
        "{outside_h}"
    );
}

#[test]
fn points_that_go_back_in_time_or_have_none_are_left_out_and_counted() {
    let mut points = straight(100, 1.0);
    points[50].time = points[10].time;
    let text = gpx(&points).replacen("<time>2025-10-08T14:00:20Z</time>", "", 1);
    let track = read_gpx(text.as_bytes()).unwrap();
    assert_eq!((track.points(), track.without_time, track.not_later), (98, 1, 1));
}

#[test]
fn kml_tracks_say_the_same_as_gpx() {
    let points = straight(600, 1.0);
    let mut text = String::from(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\"><Document><Placemark><gx:Track>\n",
    );
    points
        .iter()
        .for_each(|p| text.push_str(&format!("<when>{}</when>\n", p.time.to_rfc3339())));
    points.iter().for_each(|p| {
        text.push_str(&format!(
            "<gx:coord>{:.7} {:.7} 0</gx:coord>\n",
            p.longitude_deg, p.latitude_deg
        ))
    });
    text.push_str("</gx:Track></Placemark></Document></kml>");
    assert_eq!(
        read_kml(text.as_bytes()).unwrap(),
        read_gpx(gpx(&points).as_bytes()).unwrap()
    );
    let unequal = text
        .replacen("<gx:coord>", "<gx:place>", 1)
        .replacen("</gx:coord>", "</gx:place>", 1);
    let fault = read_kml(unequal.as_bytes()).unwrap_err().to_string();
    assert!(fault.contains("600 times and 599 places"), "{fault}");
    let fault = read_gpx(text.as_bytes()).unwrap_err().to_string();
    assert!(fault.contains("found <kml>, wanted <gpx>"), "{fault}");
}

#[test]
fn a_stretch_with_an_outline_goes_by_it() {
    let mut lake = lake().clone();
    let wall = lake
        .stretches
        .iter_mut()
        .find(|s| s.id == "ferry-bluffs")
        .unwrap();
    wall.outline = vec![
        (42.2150, -119.5950),
        (42.2150, -119.5850),
        (42.2200, -119.5850),
        (42.2200, -119.5950),
    ];
    let track = Track {
        pieces: vec![straight(2001, 1.0)],
        ..Track::default()
    };
    let found = cut_track(&track, &lake, Origin::Gpx, &CutOptions::default()).unwrap();
    let legs = &found.trips[0].legs;
    assert_eq!(legs[0].stretch.as_deref(), Some("ferry-bluffs"), "{legs:?}");
    // Half a hundredth of a degree of latitude: 556 s at 1 m/s.
    let wanted_s = distance_m((42.2150, 0.0), (42.2200, 0.0));
    assert!(
        (legs[0].duration_h * 3600.0 - wanted_s).abs() < 2.0 && legs[1].stretch.is_none(),
        "{legs:?}"
    );
    assert_eq!(legs[1].zone, ZoneId::new("main"));
}
