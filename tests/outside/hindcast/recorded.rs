//! References of hindcasts on recorded lakes.

use std::io::Read;
use std::time::Instant;

use chrono::{DateTime, NaiveDate, Utc};
use plungeline::hindcast::climatology::{ClimatologyRule, climatology};
use plungeline::hindcast::figures::{Figure, SURFACE_DEPTH_M, places};
use plungeline::hindcast::statistics::error_figures;
use plungeline::hindcast::thermocline::observed_thermoclines_m;
use plungeline::hindcast::{Observed, Pair, Profiles, daily_profiles};

use crate::validation::data;

/// Rows of a table `time,depth_m,water_temp_degc`; a date alone stands at noon. Empty values are left out.
fn observed(path: &std::path::Path) -> Vec<Observed> {
    let bytes = std::fs::read(path).unwrap();
    let mut text = String::new();
    match path.extension().is_some_and(|e| e == "gz") {
        true => flate2::read::GzDecoder::new(&bytes[..]).read_to_string(&mut text),
        false => bytes.as_slice().read_to_string(&mut text),
    }
    .unwrap();
    let time = |text: &str| -> DateTime<Utc> {
        match text.parse::<NaiveDate>() {
            Ok(day) => day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
            Err(_) => text.parse::<chrono::NaiveDateTime>().unwrap().and_utc(),
        }
    };
    text.lines()
        .skip(1)
        .filter_map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            Some(Observed {
                time: time(cells[0]),
                depth_m: cells[1].parse().ok()?,
                value: cells[2].parse().ok()?,
            })
        })
        .collect()
}

fn pairs_of(profiles: &Profiles) -> Vec<Pair> {
    let of = |p: &plungeline::hindcast::ObservedProfile| {
        let (day, time) = (p.day, p.time);
        let points = p.depth_m.iter().zip(&p.value);
        points
            .map(move |(depth_m, value)| Pair {
                day,
                time,
                depth_m: *depth_m,
                observed: *value,
                modelled: *value,
                ice: false,
            })
            .collect::<Vec<Pair>>()
    };
    profiles.profiles.iter().flat_map(of).collect()
}

#[test]
fn the_climatology_of_recorded_lakes_is_as_wrong_as_was_found_by_another_program() {
    for lake in [
        "rappbode-reservoir/temperature.csv",
        "erken/temperature.csv.gz",
        "sparkling/temperature.csv",
    ] {
        let Some(path) = data(&format!("lakes/{lake}")) else { return };
        let rows = observed(&path);
        let begun = Instant::now();
        let profiles = daily_profiles(&rows, |t| t.date_naive());
        let mut pairs = pairs_of(&profiles);
        let found = climatology(&profiles.profiles, &pairs, ClimatologyRule::default());
        let took = begun.elapsed();
        let thermoclines = observed_thermoclines_m(&profiles.profiles);
        println!("{lake} {:?} {took:?}", profiles.counts);
        for figure in Figure::ALL {
            let at = places(figure, &pairs, &thermoclines, SURFACE_DEPTH_M);
            let d: Vec<f64> = at.iter().filter_map(|i| Some(found[*i]? - pairs[*i].observed)).collect();
            println!("{figure:?} {} of {} {:?}", d.len(), at.len(), error_figures(&d));
        }
        pairs.clear();
    }
}
