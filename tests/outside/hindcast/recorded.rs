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

/// RMSE of the climatology of a recorded lake by the same rule in numpy 2.4.6 (own calendar year and the very days about
/// left out, window of 7 days either way, at least three profiles, `numpy.interp` within each profile to the depth):
/// whole profile and surface, degC, and the number of points of each.
///
/// With the own year kept in, as a climatology is often made, they are 1.00, 1.31, 1.38 and 1.58, 1.36, 1.65: a
/// reference that has seen the very day, and looks better for it.
const CLIMATOLOGY: [(&str, [f64; 2], [usize; 2], f64); 3] = [
    // Rounding of sums of some thousand terms.
    (
        "rappbode-reservoir/temperature.csv",
        [1.0724236589936336, 1.6685129734733577],
        [5852, 535],
        1e-9,
    ),
    (
        "sparkling/temperature.csv",
        [1.4274178198426104, 1.7019446614651434],
        [11448, 607],
        1e-9,
    ),
    // Erken has 4,558 rows that repeat a day and depth; numpy.interp takes one of them, we their mean, and counts both
    // points (118,696). That is worth 0.0015 degC.
    (
        "erken/temperature.csv.gz",
        [1.361106140208115, 1.4826458023863718],
        [114_138, 9695],
        0.003,
    ),
];

#[test]
fn the_climatology_of_recorded_lakes_is_that_of_numpy() {
    for (lake, rmse, count, within) in CLIMATOLOGY {
        let Some(path) = data(&format!("lakes/{lake}")) else {
            return;
        };
        let rows = observed(&path);
        let begun = Instant::now();
        let profiles = daily_profiles(&rows, |t| t.date_naive());
        let pairs = pairs_of(&profiles);
        let found = climatology(&profiles.profiles, &pairs, ClimatologyRule::default());
        println!("{lake}: {} rows in {:?}", rows.len(), begun.elapsed());
        let thermoclines = observed_thermoclines_m(&profiles.profiles);
        for (k, figure) in [Figure::WholeProfile, Figure::Surface].into_iter().enumerate() {
            let at = places(figure, &pairs, &thermoclines, SURFACE_DEPTH_M);
            let off: Vec<f64> = at
                .iter()
                .filter_map(|i| Some(found[*i]? - pairs[*i].observed))
                .collect();
            let figures = error_figures(&off).unwrap();
            println!("  {figure:?}: {:.3} of {} points", figures.rmse, figures.n);
            assert_eq!(figures.n, count[k], "{lake} {figure:?}");
            assert!(
                (figures.rmse - rmse[k]).abs() < within,
                "{lake} {figure:?} {}",
                figures.rmse
            );
        }
    }
}
