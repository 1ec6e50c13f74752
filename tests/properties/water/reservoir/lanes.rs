//! A lane does not see the lanes beside it.

use plungeline::column::assimilate::{FactorSpread, draw_factors};
use plungeline::column::layered::ModelFactors;
use plungeline::column::reservoir::{DriveBuffer, Reservoir};

use super::super::network::bits;
use super::{forcing, november, run};

#[test]
fn a_lane_is_the_same_to_the_bit_whatever_stands_beside_it() {
    let forcing = forcing(300, 3600.0 * 3.0);
    let draw = |member: usize| draw_factors(5, member, &FactorSpread::default());
    let four: [ModelFactors; 4] = std::array::from_fn(draw);
    let mut together = november::<4>(four, 235.5);
    run(&mut together, &forcing, 0..forcing.weather.len());
    for (lane, own) in four.into_iter().enumerate() {
        let mut alone = november::<1>([own], 235.5);
        run(&mut alone, &forcing, 0..forcing.weather.len());
        assert_eq!(bits(alone.network(), 0), bits(together.network(), lane), "{lane}");
    }
    assert_ne!(bits(together.network(), 0), bits(together.network(), 1));
}

#[test]
fn lanes_of_different_weather_are_those_of_their_own_runs() {
    let (mild, mut cold) = (forcing(60, 10_800.0), forcing(60, 10_800.0));
    cold.weather.iter_mut().for_each(|w| w.air_temp_degc -= 6.0);
    let mut both = november::<2>([ModelFactors::default(); 2], 250.0);
    let mut buffer = DriveBuffer::default();
    for step in 0..mild.weather.len() {
        both.step(&buffer.gather([&mild, &cold], step)).unwrap();
    }
    for (lane, own) in [&mild, &cold].into_iter().enumerate() {
        let mut alone = november::<1>([ModelFactors::default()], 250.0);
        run(&mut alone, own, 0..own.weather.len());
        assert_eq!(bits(alone.network(), 0), bits(both.network(), lane), "{lane}");
    }
}

#[test]
fn a_lake_taken_up_again_goes_on_as_it_would_have() {
    let forcing = forcing(300, 10_800.0);
    let own = [ModelFactors::default(); 2];
    let mut whole = november::<2>(own, 236.0);
    run(&mut whole, &forcing, 0..1200);
    let columns = whole.network().columns().to_vec();
    let memory = (0..columns.len()).map(|i| whole.memory(i).clone()).collect();
    let mut again: Reservoir<2> = november(own, 250.0);
    assert!(again.take_up((columns, whole.network().closed().clone()), memory));
    run(&mut whole, &forcing, 1200..forcing.weather.len());
    run(&mut again, &forcing, 1200..forcing.weather.len());
    for lane in 0..2 {
        assert_eq!(bits(whole.network(), lane), bits(again.network(), lane));
    }
    let left = again.relative_residual();
    // The bound of a run of thirty years.
    assert!(left.iter().all(|left| *left < 1e-10), "{left:?}");
}
