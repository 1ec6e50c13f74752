//! The whole lake: network and physics together, at the demonstration lake.

mod books;
mod lanes;
mod places;
pub mod section;
mod section_picture;

use chrono::{DateTime, Utc};
use plungeline::column::forcing::{Forcing, RiverFlow, Weather};
use plungeline::column::layered::ModelFactors;
use plungeline::column::reservoir::{DriveBuffer, Reservoir, ReservoirSetup};
use plungeline::math::streams::{normal, stream};

use super::network::harrow_gap;

pub fn setup() -> ReservoirSetup {
    ReservoirSetup::of_lake(&harrow_gap()).unwrap()
}

/// An invented year and more from the first of November on: frost in winter, a warm summer, the snow-fed Sorrel and the
/// small warm Wicket, and releases that draw the pool below the mouth of the Wicket Arm (234 m) in autumn and let it fill
/// again. Steps of `step_s`.
pub fn forcing(days: usize, step_s: f64) -> Forcing {
    let start = DateTime::parse_from_rfc3339("2023-11-01T08:00:00Z").unwrap();
    let a_day = (86_400.0 / step_s).round() as usize;
    let mut numbers = stream(9, "weather");
    let mut spell = 0.0;
    let mut weather = Vec::new();
    let (mut sorrel, mut wicket) = (Vec::new(), Vec::new());
    let mut release = Vec::new();
    for step in 0..days * a_day {
        let day = step as f64 / a_day as f64 + 0.5 / a_day as f64;
        // Warmest at the end of July, 270 days after the beginning.
        let season = (std::f64::consts::TAU * (day - 179.0) / 365.0).sin();
        let hour = (std::f64::consts::TAU * (day.fract() - 0.25)).sin();
        if step % a_day == 0 {
            spell = 0.7 * spell + normal(&mut numbers);
        }
        weather.push(Weather {
            air_temp_degc: 9.0 + 13.0 * season + 5.0 * hour + 2.0 * spell,
            vapour_pressure_pa: 750.0 + 350.0 * season,
            pressure_pa: 9.8e4,
            wind_speed_m_s: (3.0 + 1.5 * spell.sin() + hour).max(0.5),
            // Up the lake by day, down it by night.
            wind_from_deg: Some(if hour > 0.0 { 200.0 } else { 20.0 }),
            sunlight_w_m2: (430.0 + 240.0 * season) * hour.max(0.0) * 1.4,
            sun_height_frac: 0.6 * hour.max(0.0),
            sky_longwave_w_m2: 285.0 + 50.0 * season + 8.0 * spell,
            precipitation_m_s: Some(1.5e-8),
        });
        // Snow melts from April to June; a storm in January.
        let of_year = day % 365.0;
        let melt = (-((of_year - 200.0) / 25.0_f64).powi(2)).exp();
        let storm = (-((of_year - 80.0) / 2.0_f64).powi(2)).exp();
        sorrel.push(RiverFlow {
            discharge_m3s: 9.0 + 38.0 * melt + 60.0 * storm,
            temp_degc: (6.0 + 5.0 * season - 1.0 * melt).max(0.1),
            oxygen_mg_l: None,
        });
        wicket.push(RiverFlow {
            discharge_m3s: 0.6 + 1.5 * melt + 4.0 * storm,
            temp_degc: (15.0 + 11.0 * season + 2.0 * hour).max(0.1),
            oxygen_mg_l: Some(8.0),
        });
        release.push(10.3 + 17.0 * (-((of_year - 310.0) / 45.0_f64).powi(2)).exp());
    }
    let zeros = vec![0.0; weather.len()];
    let outlets = harrow_gap().outlets.len();
    let mut release_m3s = vec![zeros; outlets];
    release_m3s[0] = release;
    Forcing {
        start: start.with_timezone(&Utc),
        step_s,
        rivers: vec![sorrel, wicket],
        release_m3s,
        weather,
        level_m: Vec::new(),
    }
}

/// The lake at the beginning of that year, mixed.
pub fn november<const L: usize>(factors: [ModelFactors; L], level_m: f64) -> Reservoir<L> {
    Reservoir::isothermal(&setup(), factors, level_m, (11.0, 9.8e4)).unwrap()
}

pub fn run<const L: usize>(lake: &mut Reservoir<L>, forcing: &Forcing, steps: std::ops::Range<usize>) {
    let mut buffer = DriveBuffer::default();
    for step in steps {
        lake.step(&buffer.gather([forcing; L], step)).unwrap();
    }
}
