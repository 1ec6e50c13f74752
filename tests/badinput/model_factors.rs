//! Factors of the water model that cannot be.

use super::lake_file::{faults, harrow_gap};

#[test]
fn a_factor_that_there_is_not_stands_twice_or_has_no_spread_is_a_fault_at_its_place() {
    let with = |blocks: &str| {
        let list = faults(&(harrow_gap() + blocks));
        list.iter()
            .map(|f| (f.found.clone(), f.wanted.clone(), f.mend.clone()))
            .collect::<Vec<_>>()
    };
    let block = |name: &str, log_sd: &str| {
        format!("\n[[model_factors]]\nname = \"{name}\"\nmedian_frac = 0.9\nlog_sd = {log_sd}\n")
    };
    assert_eq!(
        with(&(block("wind_frac", "0.1") + &block("sky_frac", "0.01"))),
        []
    );
    let twice = with(&(block("wind_frac", "0.1") + &block("wind_frac", "0.2")));
    let [(found, wanted, _)] = &twice[..] else {
        panic!("{twice:?}")
    };
    assert!(
        found.contains("second block of \"wind_frac\"") && wanted.contains("one for each"),
        "{twice:?}"
    );
    let strange = with(&block("wind_fraction", "0.1"));
    assert!(
        strange.len() == 1 && strange[0].0.contains("wind_fraction") && strange[0].2.contains("wind_frac"),
        "{strange:?}"
    );
    let without = with(&block("wind_frac", "0.0"));
    assert!(
        without.len() == 1 && without[0].0.contains("log_sd"),
        "{without:?}"
    );
}
