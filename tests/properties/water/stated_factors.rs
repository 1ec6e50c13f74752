//! Factors of the water model that a lake file states, in the members of the demonstration lake.

use plungeline::analysis::{Advanced, advance};
use plungeline::lake::{MODEL_FACTORS, ModelFactor};

use super::analysis::{World, options, world};

#[test]
fn factors_that_the_lake_file_states_narrow_the_water_of_the_members() {
    let World { lake, set, cold, .. } = world();
    let mut stated = lake.clone();
    // A fit that knows every factor to 0.1 %: what is left of the spread is the numbers of the members themselves, which here
    // share one weather up to the clock.
    stated.model_factors = MODEL_FACTORS
        .iter()
        .map(|name| ModelFactor {
            name: (*name).to_owned(),
            median_frac: 1.0,
            log_sd: 0.001,
        })
        .collect();
    let narrow = advance(&stated, set, None, None, &options(&[])).unwrap();
    let (wide_degc, narrow_degc) = (spread_degc(cold), spread_degc(&narrow));
    // A thousandth of the logarithm is 7 to 500 times less than the defaults; the water's spread is close to linear in it, and
    // the correction by readings takes its part of both.
    assert!(
        wide_degc > 0.2 && narrow_degc < 0.1 * wide_degc,
        "{wide_degc} {narrow_degc}"
    );
}

/// Largest standard deviation over the members of the temperature in a layer of the first column, degC.
fn spread_degc(advanced: &Advanced) -> f64 {
    let columns: Vec<_> = advanced
        .ensemble
        .lakes
        .iter()
        .filter_map(|lake| lake.network().columns().first())
        .collect();
    let layers = columns[0].temp_degc.len();
    let sd = |layer: usize| {
        let members: Vec<f64> = columns.iter().flat_map(|c| c.temp_degc[layer]).collect();
        let mean = members.iter().sum::<f64>() / members.len() as f64;
        (members.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / members.len() as f64).sqrt()
    };
    // Layers above the water hold no number of the lake.
    (0..layers)
        .map(sd)
        .filter(|sd| sd.is_finite())
        .fold(0.0, f64::max)
}
