//! Twins: a run with other factors is the truth, and a few readings of it bring an ensemble nearer.

use plungeline::column::assimilate::{WaterField, WaterObservation, value_at_depth};
use plungeline::column::layered::ModelFactors;
use plungeline::column::reservoir::{Ensemble, Reservoir};
use plungeline::math::streams::{normal, stream};

use super::invented::{STEPS_A_DAY, assert_budget, cold, options, setup};

const DAYS: usize = 240;
/// Readings from this day on, until that day.
const SEEN: (usize, usize) = (90, 200);

/// A windier, murkier lake under a colder sky than the default.
fn truth() -> ModelFactors {
    ModelFactors {
        wind_frac: 1.2,
        extinction_frac: 1.35,
        sky_frac: 0.985,
        background_frac: 1.8,
        power_frac: 0.7,
        ..ModelFactors::default()
    }
}

/// The surface every fifth day, a cast of four depths every fifteenth.
fn readings(day: usize, truth: &Ensemble<1>, numbers: &mut impl FnMut() -> f64) -> Vec<WaterObservation> {
    let depths_m: &[f64] = match (day % 15, day % 5) {
        (0, _) => &[0.3, 6.0, 14.0, 28.0],
        (_, 0) => &[0.3],
        _ => &[],
    };
    let lake = &truth.lakes[0];
    let one = |depth_m: &f64| {
        let at = (WaterField::Temp, *depth_m);
        let value = value_at_depth(lake.main().0, lake.main().1, 0, at).unwrap() + 0.3 * numbers();
        super::invented::observed(WaterField::Temp, *depth_m, value, 0.3)
    };
    depths_m.iter().map(one).collect()
}

/// Root mean square errors of the ensemble's mean at depths that are never read: (days of readings, days after).
fn errors(takes_up: bool) -> (f64, f64, Ensemble<8>) {
    let setup = setup();
    let (mut ensemble, forcing) = cold::<8>(2, DAYS);
    let mut true_lake = Ensemble::<1>::cold(&setup, &forcing, &[[truth()]]).unwrap();
    let mut noise = stream(3, "readings");
    let mut draw = || normal(&mut noise);
    let mut sums = [(0.0, 0usize); 2];
    for step in 0..DAYS * STEPS_A_DAY {
        ensemble.step(&[&forcing], step).unwrap();
        true_lake.step(&[&forcing], step).unwrap();
        let day = step / STEPS_A_DAY;
        if step % STEPS_A_DAY != STEPS_A_DAY - 1 || day < SEEN.0 {
            continue;
        }
        let mut seen = if day < SEEN.1 {
            readings(day, &true_lake, &mut draw)
        } else {
            Vec::new()
        };
        seen.iter_mut().for_each(|o| o.time = forcing.step_start(step));
        if takes_up && !seen.is_empty() {
            ensemble.assimilate(&seen, &options()).unwrap();
        }
        for depth_m in [3.0, 10.0, 20.0, 35.0] {
            let at = (WaterField::Temp, depth_m);
            let of = |lane: usize, lake: &Reservoir<8>| {
                value_at_depth(lake.main().0, lake.main().1, lane, at).unwrap()
            };
            let mean = ensemble
                .lakes
                .iter()
                .flat_map(|l| (0..8).map(move |m| of(m, l)))
                .sum::<f64>()
                / 16.0;
            let lake = &true_lake.lakes[0];
            let difference = mean - value_at_depth(lake.main().0, lake.main().1, 0, at).unwrap();
            let sum = &mut sums[usize::from(day >= SEEN.1)];
            *sum = (sum.0 + difference * difference, sum.1 + 1);
        }
    }
    let [within, after] = sums.map(|(sum, count)| (sum / count as f64).sqrt());
    (within, after, ensemble)
}

#[test]
fn readings_bring_depths_and_days_nearer_that_were_never_read() {
    let (free, free_after, _) = errors(false);
    let (taken, taken_after, ensemble) = errors(true);
    println!(
        "held-back depths {free:.3} -> {taken:.3} degC, later days {free_after:.3} -> {taken_after:.3} degC"
    );
    // Clearly smaller: at most six tenths (project choice).
    assert!(taken < 0.6 * free, "{free} {taken}");
    assert!(taken_after < 0.6 * free_after, "{free_after} {taken_after}");
    for lake in &ensemble.lakes {
        assert!(lake.network().budget().analysis.warmth.iter().all(|w| *w != 0.0));
        assert_budget(lake);
    }
}
