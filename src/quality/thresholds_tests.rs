//! The thresholds of `config/quality.toml`, and files like it that are faulty.

use super::*;

const HEAD: &str =
    "[history]\nsettled_days = 60\nrecord_years = 2\n[neighbours]\ncontinuous_h = 3\ndaily_h = 36\n";

fn fault(rest: &str) -> QualityError {
    Thresholds::from_toml("own.toml", &format!("{HEAD}{rest}")).unwrap_err()
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let error = Thresholds::read(Path::new("no/such/own.toml")).unwrap_err();
    assert!(matches!(error, QualityError::Read { .. }), "{error}");
    assert!(error.to_string().contains("no/such/own.toml"), "{error}");
}

#[test]
fn the_compiled_in_file_is_sound_and_has_a_table_for_every_measured_quantity() {
    let thresholds = Thresholds::built_in();
    let by_forecast_only = [
        Quantity::WindDirection,
        Quantity::Visibility,
        Quantity::ThunderProbability,
    ];
    for quantity in Quantity::ALL {
        assert!(
            thresholds.of(quantity, Cadence::Continuous).is_some()
                || thresholds.of(quantity, Cadence::Daily).is_some(),
            "{quantity:?}"
        );
        if !by_forecast_only.contains(&quantity) {
            assert!(thresholds.of(quantity, Cadence::Daily).is_some(), "{quantity:?}");
        }
    }
    assert!(thresholds.inferred_inflow().is_some_and(|t| t.fail_min.is_none()));
}

#[test]
fn an_unknown_key_is_named_with_its_place_and_the_known_ones() {
    let error = fault("[water_temp_degc.daily]\nfail_min = 0\nspike_suspekt = 3\n");
    assert!(
        matches!(
            error,
            QualityError::Syntax {
                line: 9,
                column: 1,
                ..
            }
        ),
        "{error}"
    );
    let found = error.to_string();
    assert!(found.contains("own.toml:9:1"), "{found}");
    assert!(
        found.contains("spike_suspekt") && found.contains("spike_suspect"),
        "{found}"
    );
}

#[test]
fn an_unknown_quantity_is_named_with_the_known_ones() {
    let found = fault("[water_temp_degf.daily]\nfail_min = 0\n").to_string();
    assert!(
        found.contains("water_temp_degf") && found.contains("water_temp_degc"),
        "{found}"
    );
}

#[test]
fn limits_that_contradict_each_other_are_refused() {
    for (table, key) in [
        ("fail_min = 3\nfail_max = 2", "fail_min"),
        ("spike_suspect = 3\nspike_fail = 2", "spike_suspect"),
        ("spike_suspect = 3", "spike_fail"),
        (
            "spike_suspect = 3\nspike_fail = 4\nspike_plateau_values = 1",
            "spike_plateau_values",
        ),
        ("spike_plateau_values = 3", "spike_plateau_values"),
        ("flat_suspect_h = 3\nflat_fail_h = 9", "flat_within"),
        (
            "rate_suspect_factor_up_per_h = 0.5\nrate_suspect_factor_down_per_h = 2",
            "factor",
        ),
        ("rate_suspect_per_h = nan", "rate_suspect_per_h"),
    ] {
        let error = fault(&format!("[inflow_m3s.daily]\n{table}\n"));
        assert!(matches!(error, QualityError::Unsound { .. }), "{error}");
        let found = error.to_string();
        assert!(
            found.contains("[inflow_m3s.daily]") && found.contains(key),
            "{found}"
        );
    }
}

#[test]
fn every_key_of_the_file_is_explained_in_it() {
    let explained: String = BUILT_IN.lines().filter(|line| line.starts_with('#')).collect();
    let words: Vec<&str> = explained
        .split(|c: char| !(c.is_alphanumeric() || c == '_'))
        .collect();
    let mut commented = false;
    for line in BUILT_IN.lines() {
        if let Some((key, _)) = line.split_once('=').filter(|_| !line.starts_with('#')) {
            assert!(commented || words.contains(&key.trim()), "{line}: not explained");
        }
        commented = line.starts_with('#');
    }
}
