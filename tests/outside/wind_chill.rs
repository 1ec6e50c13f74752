//! Wind chill against the chart of the National Weather Service.

use plungeline::physics::wind_chill::wind_chill_degc;
use plungeline::units::{M_S_PER_MPH, degc_from_degf, degf_from_degc};

/// Cells of the National Weather Service's wind chill chart, effective 1 November 2001 (from memory): air in degF, wind in mph,
/// wind chill in whole degF; corners and the middle of the chart, and the cells about -19 degF.
const CHART: [(f64, f64, f64); 12] = [
    (40.0, 5.0, 36.0),
    (40.0, 60.0, 25.0),
    (-45.0, 5.0, -63.0),
    (-45.0, 60.0, -98.0),
    (20.0, 15.0, 6.0),
    (-10.0, 55.0, -46.0),
    (-45.0, 25.0, -84.0),
    (30.0, 10.0, 21.0),
    (0.0, 15.0, -19.0),
    (5.0, 30.0, -19.0),
    (10.0, 60.0, -19.0),
    (-5.0, 5.0, -16.0),
];

#[test]
fn wind_chill_agrees_with_the_chart_of_the_national_weather_service() {
    for (air_degf, wind_mph, wanted_degf) in CHART {
        let found =
            wind_chill_degc(degc_from_degf(air_degf), wind_mph * M_S_PER_MPH).expect("within its range");
        let found_degf = degf_from_degc(found);
        // The chart is rounded to whole degrees.
        assert!(
            (found_degf - wanted_degf).abs() <= 0.5 + 1e-9,
            "{air_degf} degF, {wind_mph} mph: {found_degf}, {wanted_degf} in the chart"
        );
    }
}
