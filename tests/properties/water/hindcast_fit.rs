//! The fit of a hindcast, and the flows of which only the mean is known.

use chrono::{Duration, NaiveDate, NaiveTime};
use plungeline::column::assimilate::FactorSpread;
use plungeline::column::layered::ModelFactors;
use plungeline::faces::text::hindcast_notes::render_fit;
use plungeline::hindcast::fit::{Fitted, fit_past_lake, held_out_days};
use plungeline::hindcast::mean_flow::add_mean_flows;
use plungeline::hindcast::{HindcastInput, Observed, PastLake, Profiles, daily_profiles, load_hindcast};
use plungeline::lake::{ThermalRegime, read_lake, read_lake_file};
use plungeline::sources::service_rules;

use super::assimilation::invented;
use crate::house::source::root;

/// The invented lake of the assimilation, two years of it.
fn past() -> PastLake {
    PastLake {
        id: "invented".to_owned(),
        setup: invented::setup(),
        forcing: invented::forcing(700),
        factors: ModelFactors::default(),
        compare_from: NaiveDate::from_ymd_opt(2023, 4, 1).unwrap(),
        day_shift: Duration::zero(),
        mean_flow_m3s: 0.0,
        clarity_unknown: false,
        starts_from_profile: false,
        freeboard: false,
    }
}

/// Profiles every ten days of what the lake does with some factors.
fn profiles(past: &PastLake, factors: ModelFactors) -> Profiles {
    let (days, _) = past.days(factors).unwrap();
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap();
    let mut observed = Vec::new();
    for day in days.iter().step_by(10) {
        for (depth_m, value) in day.depth_m.iter().zip(&day.temp_degc).step_by(4) {
            observed.push(Observed {
                time: day.day.and_time(noon).and_utc(),
                depth_m: *depth_m,
                value: *value,
            });
        }
    }
    daily_profiles(&observed, |time| time.date_naive())
}

#[test]
fn a_fit_finds_the_factors_that_the_observations_were_made_with() {
    let past = past();
    let truth = ModelFactors {
        wind_frac: 1.1,
        extinction_frac: 1.4,
        ..ModelFactors::default()
    };
    let seen = profiles(&past, truth);
    let fitted = fit_past_lake(&past, &seen, &Profiles::default(), &[]).unwrap();
    // The observations have no error, but the fit reckons with one: each factor is within one of the standard deviations that
    // it states, and most of the way from its prior.
    for (name, truth) in [("wind_frac", 1.1_f64), ("extinction_frac", 1.4)] {
        let (_, found, before, after) = fitted.table.iter().find(|row| row.0 == name).unwrap();
        assert!((found / truth).ln().abs() < *after, "{fitted:?}");
        assert!(found.ln() > 0.5 * truth.ln() && after < before, "{fitted:?}");
    }
    assert_eq!(fitted.factors.demand_frac, 1.0);
    // Each of the two calendar years is modelled with what the other taught, near the truth as well.
    assert_eq!(fitted.blocks.len(), 2);
    assert_eq!(
        (&fitted.blocks[0].years, &fitted.blocks[1].years),
        (&vec![2023], &vec![2024])
    );
    let (days, _) = held_out_days(&past, &fitted).unwrap();
    let (wanted, _) = past.days(truth).unwrap();
    let (plain, _) = past.days(past.factors).unwrap();
    let error = |days: &[plungeline::hindcast::ModelledDay]| {
        let squares: Vec<f64> = days
            .iter()
            .zip(&wanted)
            .map(|(a, b)| (a.temp_degc[0] - b.temp_degc[0]).powi(2))
            .collect();
        (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
    };
    assert_eq!(days.len(), wanted.len());
    // Held-out years gain most of what there is to gain.
    assert!(
        error(&days) < 0.3 * error(&plain),
        "{} {}",
        error(&days),
        error(&plain)
    );
}

#[test]
fn the_blocks_that_a_fit_prints_carry_its_factors_and_their_spread_to_the_ensemble() {
    let row = |name: &str, factor, after| (name.to_owned(), factor, 0.3, after);
    let fitted = Fitted {
        factors: ModelFactors::default(),
        table: vec![
            row("wind_frac", 0.8125, 0.0625),
            row("extinction_frac", 1.5, 0.125),
        ],
        fixed: vec![("power_frac".to_owned(), 0.75)],
        blocks: Vec::new(),
        trials: 0,
    };
    let text = render_fit(&fitted);
    let blocks = &text[text.find("[[model_factors]]").expect("blocks are printed")..];
    let file = root().join("config/lakes/harrow-gap.toml");
    let lake_file = std::fs::read_to_string(&file).unwrap() + "\n" + blocks;
    let lake = read_lake(&lake_file, &file, &service_rules()).unwrap();
    let spread = FactorSpread::stated(&lake.model_factors);
    let default = FactorSpread::default();
    // Order of the factors: wind, extinction, and five that the fit did not move.
    assert_eq!(spread.log_sd[..2], [0.0625, 0.125]);
    assert_eq!(spread.log_median[..2], [0.8125_f64.ln(), 1.5_f64.ln()]);
    assert_eq!(spread.log_sd[2..4], default.log_sd[2..4]);
    assert_eq!(spread.log_median[2..4], [0.0; 2]);
    // What the lake file fixes goes along, as good as known.
    assert_eq!((spread.log_sd[4], spread.log_median[4]), (0.01, 0.75_f64.ln()));
    // And a hindcast of that lake file runs by them, but for a factor that it fixes.
    let mut input = load_hindcast_of_quill_tarn();
    input.lake.model_factors = lake.model_factors;
    let past = PastLake::new(&input).unwrap();
    let factors = past.stated_factors(&input);
    // The tarn's file fixes the wind at 1.1.
    assert_eq!((factors.wind_frac, factors.extinction_frac), (1.1, 1.5));
}

fn load_hindcast_of_quill_tarn() -> HindcastInput {
    let folder = root().join("fixtures/hindcast");
    let lake = read_lake_file(&folder.join("quill-tarn.toml"), &service_rules()).unwrap();
    load_hindcast(lake, &folder).unwrap()
}

#[test]
fn without_observations_a_fit_gives_the_defaults_and_a_fixed_factor_stays() {
    let past = past();
    let fitted = fit_past_lake(&past, &Profiles::default(), &Profiles::default(), &[]).unwrap();
    assert_eq!(fitted.factors, ModelFactors::default());
    let seen = profiles(
        &past,
        ModelFactors {
            extinction_frac: 1.4,
            ..past.factors
        },
    );
    let fixed = ["extinction_frac".to_owned()];
    let fitted = fit_past_lake(&past, &seen, &Profiles::default(), &fixed).unwrap();
    assert_eq!(fitted.factors.extinction_frac, 1.0);
    assert!(fitted.table.iter().all(|row| row.0 != "extinction_frac"));
}

#[test]
fn a_release_of_an_outlet_above_the_water_is_booked_as_not_drawn() {
    let mut past = past();
    past.forcing.weather.truncate(80);
    let drawn = past.run::<1>(&[past.factors], |_| {}).unwrap();
    assert_eq!(drawn.books().undrawn_m3, [0.0]);
    past.setup.outlet_elevation_m = vec![204.0];
    let kept = past.run::<1>(&[past.factors], |_| {}).unwrap();
    let [undrawn_m3] = kept.books().undrawn_m3;
    // 80 steps of three hours at 6 m3/s.
    assert!(
        (undrawn_m3 - 80.0 * 3.0 * 3600.0 * 6.0).abs() < 1.0,
        "{undrawn_m3}"
    );
    // And it is still there, but for a little evaporation of the other surface.
    let kept_m3 = kept.network().volume_m3(0) - drawn.network().volume_m3(0);
    assert!(
        (kept_m3 / undrawn_m3 - 1.0).abs() < 0.01,
        "{kept_m3} {undrawn_m3}"
    );
}

#[test]
fn rivers_of_which_the_mean_is_known_flow_at_it_and_leave_by_the_outlets() {
    let file = root().join("config/lakes/harrow-gap.toml");
    let mut lake = read_lake_file(&file, &service_rules()).unwrap();
    lake.inflows.truncate(1);
    lake.inflows[0].mean_flow_m3s = Some(12.0);
    lake.inflows[0].thermal_regime = ThermalRegime::Lowland;
    let mut forcing = invented::forcing(400);
    let known = forcing.clone();
    assert_eq!(add_mean_flows(&lake, &mut forcing, 200.0), 0.0);
    assert_eq!(forcing, known);
    forcing.rivers.clear();
    forcing.release_m3s.clear();
    assert_eq!(add_mean_flows(&lake, &mut forcing, 200.0), 12.0);
    assert!(forcing.rivers[0].iter().all(|step| step.discharge_m3s == 12.0));
    assert!(forcing.level_m.iter().all(|level_m| *level_m == 200.0));
    let released: f64 = forcing.release_m3s.iter().map(|outlet| outlet[7]).sum();
    assert!((released - 12.0).abs() < 1e-12);
    // A lowland river follows the air of its season: warmer in July than in January by more than 10 degC here, where the
    // air's season spans 20 (common practice, no source).
    let at = |day: usize| forcing.rivers[0][day * invented::STEPS_A_DAY].temp_degc;
    assert!(at(170) - at(340) > 10.0, "{} {}", at(170), at(340));
}
