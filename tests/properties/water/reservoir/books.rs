//! What came and went explains what there is.

use plungeline::column::layered::ModelFactors;
use plungeline::lake::ZoneId;

use super::{forcing, november, run};

/// Steps of six hours: the books know nothing of the length of a step, and thirty years are to be run at every test.
const STEP_S: f64 = 21_600.0;

#[test]
fn thirty_years_of_frost_drawdown_and_filling_close_their_books() {
    let mut forcing = forcing(30 * 365, STEP_S);
    // The pool as it is told of such lakes: low at the end of November, full at the end of May, the Wicket dry every winter.
    forcing.level_m = (1..=forcing.weather.len())
        .map(|step| 240.0 + 9.0 * (std::f64::consts::TAU * (step as f64 / 1460.0 - 0.58)).cos())
        .collect();
    let mut lake = november::<1>([ModelFactors::default()], forcing.level_m[0]);
    let (mut closed, mut opened, mut iced) = (0, 0, 0);
    let wicket = lake.network().layout().head_of(&ZoneId::new("wicket")).unwrap() - 1;
    let mut was_open = true;
    let mut before = 0;
    while before < forcing.weather.len() {
        let next = (before + 40).min(forcing.weather.len());
        run(&mut lake, &forcing, before..next);
        before = next;
        let is_open = lake.network().closed().is_open(wicket, 0);
        closed += usize::from(was_open && !is_open);
        opened += usize::from(!was_open && is_open);
        iced += usize::from(lake.network().columns().iter().any(|c| c.ice_m3[0] > 0.0));
        was_open = is_open;
    }
    println!("closed {closed} opened {opened} ice {iced}");
    // The bound of the issue for a run of thirty years.
    let left = lake.relative_residual();
    assert!(left.iter().all(|left| *left < 1e-10), "{left:?}");
    let network = lake.network();
    let left = network.budget().relative_residual(&network.content());
    assert!(left.iter().all(|left| *left < 1e-10), "{left:?}");
    assert!(
        closed >= 10 && opened >= 10 && iced >= 10,
        "{closed} {opened} {iced}"
    );
}

#[test]
fn a_pool_that_falls_by_metres_in_a_step_keeps_its_books() {
    let mut forcing = forcing(30, STEP_S);
    // Two metres in six hours, eight times; layers are a metre.
    let level_m = |step: usize| 250.0 - 2.0 * (step as f64).min(8.0);
    forcing.level_m = (0..forcing.weather.len()).map(level_m).collect();
    let mut lake = november::<1>([ModelFactors::default()], 250.0);
    run(&mut lake, &forcing, 0..forcing.weather.len());
    assert!(
        (lake.network().level_m(0) - 234.0).abs() < 0.01,
        "{}",
        lake.network().level_m(0)
    );
    let left = lake.relative_residual();
    assert!(left.iter().all(|left| *left < 1e-10), "{left:?}");
}
