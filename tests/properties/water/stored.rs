//! The forcing from the store of the demonstration lake, through every reader and check that the program uses.

use std::path::Path;
use std::process::Stdio;

use chrono::{DateTime, Duration, Utc};
use plungeline::column::stored::{StoredForcing, StoredNote, StoredOptions, cold_start, stored_forcing};
use plungeline::lake::{Cadence, Lake, SeriesId, read_lake};
use plungeline::quality::{Thresholds, flag_set};
use plungeline::series::{SeriesSet, Store};
use plungeline::sources::service_rules;

/// Half past four of the default morning at the lake.
fn morning() -> DateTime<Utc> {
    "2025-10-09T11:30:00Z".parse().unwrap()
}

/// The demonstration lake with its series as the brief of that morning has them.
pub fn demonstration() -> (Lake, SeriesSet) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let lake = read_lake(&text, &file, &service_rules()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let status = std::process::Command::new(env!("CARGO_BIN_EXE_plungeline"))
        .args(["pull", "--demo", "--store"])
        .arg(folder.path())
        .env("XDG_CACHE_HOME", folder.path())
        .stdout(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success());
    let store = Store::open(&folder.path().join("20251009T113000Z"), &lake.id).unwrap();
    let mut set = store.load(&lake, morning());
    flag_set(&mut set, &lake, &Thresholds::built_in());
    (lake, set)
}

fn checked(stored: &StoredForcing, hours: i64, members: usize) {
    let past = &stored.past;
    assert_eq!(past.weather.len() as i64, hours);
    assert_eq!((past.rivers.len(), past.release_m3s.len()), (2, 2));
    assert_eq!(past.level_m.len() as i64, hours);
    assert_eq!(stored.ahead.len(), members);
    for forcing in stored.ahead.iter().chain([past]) {
        assert!(forcing.weather.iter().all(|w| {
            // Beyond these no weather of the invented climate lies (docs/demonstration-lake.md, section 1).
            (-20.0..45.0).contains(&w.air_temp_degc)
                && (50.0..3500.0).contains(&w.vapour_pressure_pa)
                && (94_000.0..102_000.0).contains(&w.pressure_pa)
                && (0.0..30.0).contains(&w.wind_speed_m_s)
                && (0.0..1100.0).contains(&w.sunlight_w_m2)
                && (120.0..500.0).contains(&w.sky_longwave_w_m2)
                && w.precipitation_m_s
                    .is_some_and(|rain| (-1e-18..2e-5).contains(&rain))
                && w.wind_from_deg.is_none_or(|from| (0.0..360.0).contains(&from))
        }));
        // A wind that turns about within an hour has no direction.
        let directed = forcing
            .weather
            .iter()
            .filter(|w| w.wind_from_deg.is_some())
            .count();
        assert!(directed + 24 >= forcing.weather.len(), "{directed}");
        for river in &forcing.rivers {
            assert_eq!(river.len(), forcing.weather.len());
            let believed = |r: &plungeline::column::forcing::RiverFlow| {
                (0.0..2000.0).contains(&r.discharge_m3s) && (0.0..30.0).contains(&r.temp_degc)
            };
            assert!(river.iter().all(believed));
        }
        assert!(
            forcing
                .release_m3s
                .iter()
                .flatten()
                .all(|q| (0.0..500.0).contains(q))
        );
    }
}

#[test]
fn the_demonstration_lake_has_its_forcing_from_a_cold_start_to_the_last_day_of_the_forecast() {
    let (lake, set) = demonstration();
    let from = cold_start(&lake, &set, morning()).unwrap();
    println!("cold start {from}");
    // The winter of 2024/25 is cut by the nine months, 8 January; the one before began in December 2023.
    let bounds: [DateTime<Utc>; 2] =
        ["2023-12-01T00:00:00Z", "2025-01-09T00:00:00Z"].map(|t| t.parse().unwrap());
    assert!((bounds[0]..bounds[1]).contains(&from), "{from}");
    let options = StoredOptions {
        from,
        as_of: morning(),
        members: 30,
        seed: 1,
        ahead_days: 16,
    };
    let stored = stored_forcing(&lake, &set, &options).unwrap();
    for note in &stored.notes {
        println!("{note:?}");
    }
    for seam in &stored.seams {
        println!("{seam:?}");
    }
    for gap in &stored.gaps {
        println!("{gap:?}");
    }
    let end = stored.past.start + Duration::hours(stored.past.weather.len() as i64);
    assert_eq!(end, "2025-10-09T11:00:00Z".parse::<DateTime<Utc>>().unwrap());
    checked(&stored, (end - stored.past.start).num_hours(), 30);
    println!(
        "{} hours past, {} ahead",
        stored.past.weather.len(),
        stored.ahead[0].weather.len()
    );
    assert!(
        stored
            .ahead
            .iter()
            .all(|forcing| forcing.weather.len() >= 15 * 24)
    );
    // Air is the mean of the archive's instants at both ends of the hour, where that has both.
    let air = set.observations(&SeriesId::new("air-temp"), Cadence::Continuous);
    let mut compared = 0;
    for pair in air.windows(2) {
        let k = (pair[0].time - stored.past.start).num_hours();
        let whole =
            pair[1].time - pair[0].time == Duration::hours(1) && pair.iter().all(|row| row.flag.is_usable());
        if let (true, Ok(k), Some(a), Some(b)) = (whole, usize::try_from(k), pair[0].value, pair[1].value)
            && let Some(weather) = stored.past.weather.get(k)
        {
            assert!((weather.air_temp_degc - 0.5 * (a + b)).abs() < 1e-9, "{k}");
            compared += 1;
        }
    }
    assert!(compared > 9 * 30 * 24, "{compared}");
    // The level ends where the newest readings lie, within what waves and a day's change move them.
    let pool = set.observations(&SeriesId::new("pool"), Cadence::Continuous);
    let newest = pool
        .iter()
        .rev()
        .find(|row| row.flag.is_usable())
        .and_then(|row| row.value)
        .unwrap();
    let last = *stored.past.level_m.last().unwrap();
    assert!((last - newest).abs() < 0.05, "{last} {newest}");
    // Members differ, and more at the end than at the beginning.
    let spread = |hours: std::ops::Range<usize>| {
        let mean = |m: usize| {
            stored.ahead[m].weather[hours.clone()]
                .iter()
                .map(|w| w.air_temp_degc)
                .sum::<f64>()
        };
        let means: Vec<f64> = (0..30).map(mean).collect();
        means.iter().copied().fold(f64::MIN, f64::max) - means.iter().copied().fold(f64::MAX, f64::min)
    };
    assert!(spread(0..24) > 0.0 && spread(336..360) > 2.0 * spread(0..24));

    // A week earlier by the same set: nothing of the week since is used, and no forecast issued since.
    let earlier = StoredOptions {
        as_of: morning() - Duration::days(7),
        ..options
    };
    let before = stored_forcing(&lake, &set, &earlier).unwrap();
    assert!(before.ahead.is_empty());
    let hours = before.past.weather.len() - 48;
    assert_eq!(before.past.weather[..hours], stored.past.weather[..hours]);
    assert!(
        stored
            .notes
            .iter()
            .any(|note| matches!(note, StoredNote::ReleaseInSum { outlet } if outlet == "outlet-works"))
    );
}
