//! How long a season of the demonstration lake takes: 40 years by the hour to the end of February, and what the coarse columns cost.
//!
//! `cargo bench --profile dev --bench main -- season`.

use std::time::Instant;

use chrono::NaiveDate;
use plungeline::analysis::{AdvanceOptions, COARSE_LAYER_M, SeasonOptions, advance, season_runs};
use plungeline::archive::analysed::hash_of;
use plungeline::column::turnover::{RunEnd, SeasonEnd, SeasonRuns};
use plungeline::lake::Lake;
use plungeline::series::SeriesSet;

/// Times a season on columns of several thicknesses of layer, and on all columns of a brief.
pub fn report(lake: &Lake, set: &SeriesSet) {
    let options = AdvanceOptions {
        lake_file: hash_of(b"the demonstration lake"),
        own: &[],
        ahead_days: 0,
    };
    let advanced = advance(lake, set, None, None, &options).expect("a run");
    let until = NaiveDate::from_ymd_opt(2026, 2, 28).expect("a day");
    let run = |layer_m: Option<f64>, to_the_end: bool| {
        let options = SeasonOptions {
            layer_m,
            to_the_end,
            ..SeasonOptions::until(until)
        };
        let began = Instant::now();
        let runs = season_runs(lake, set, &advanced, &options).expect("a season");
        (began.elapsed().as_secs_f64(), runs)
    };
    let (all_s, all) = run(None, true);
    println!(
        "all columns of a brief                 {all_s:>8.2} s, {} runs",
        all.runs.len()
    );
    for layer_m in [1.0, 1.5, COARSE_LAYER_M, 3.0] {
        // The best of three: what the machine does beside it only adds.
        let timed = [(); 3].map(|()| run(Some(layer_m), true));
        let best_s = timed.iter().map(|(s, _)| *s).fold(f64::INFINITY, f64::min);
        println!("three columns, layers of {layer_m} m          {best_s:>8.2} s");
        for place in 0..all.places.len() {
            let days = apart_days(&timed[0].1, &all, place);
            let mean = days.iter().sum::<f64>() / days.len().max(1) as f64;
            let size = days.iter().map(|d| d.abs()).sum::<f64>() / days.len().max(1) as f64;
            println!(
                "  {:<20} later by {mean:>5.1} days, off by {size:>4.1}, {} runs",
                all.places[place].zone.as_str(),
                days.len()
            );
        }
    }
    // As `turnover` runs it: a block ends once every place of it has turned over.
    let timed = [(); 5].map(|()| run(Some(COARSE_LAYER_M), false).0);
    let best_s = timed.iter().copied().fold(f64::INFINITY, f64::min);
    println!("three columns, layers of {COARSE_LAYER_M} m, to the turnover {best_s:>8.2} s");
}

/// Days between the turnovers of each run that has one in both.
fn apart_days(one: &SeasonRuns, other: &SeasonRuns, place: usize) -> Vec<f64> {
    let day = |end: &RunEnd| match end {
        RunEnd::Season {
            by_density: SeasonEnd::TurnedOver { day, .. },
            ..
        } => Some(*day),
        _ => None,
    };
    let pairs = one.places[place].ends.iter().zip(&other.places[place].ends);
    pairs
        .filter_map(|(a, b)| Some((day(a)? - day(b)?).num_days() as f64))
        .collect()
}
