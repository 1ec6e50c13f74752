//! The input of hindcasts from recorded tables: every lake file of this folder is loaded with its data.

use std::time::Instant;

use chrono::{DateTime, Duration, NaiveDate, Utc};
use plungeline::column::forcing::Weather;
use plungeline::hindcast::{HindcastInput, InputNote, load_hindcast};
use plungeline::lake::{Lake, read_lake_file};
use plungeline::sources::csv::{StampZone, Wanted, read_columns};
use plungeline::sources::service_rules;
use rstest::rstest;

use super::data;
use crate::house::source::root;

/// A lake of this folder.
pub fn lake(name: &str) -> Lake {
    let file = root().join(format!("tests/validation/lakes/{name}.toml"));
    read_lake_file(&file, &service_rules()).unwrap_or_else(|error| panic!("{error}: {error:?}"))
}

/// Its input; `None` where the recorded data are not there.
pub fn input(name: &str) -> Option<HindcastInput> {
    let folder = data("lakes")?;
    Some(load_hindcast(lake(name), &folder).unwrap_or_else(|error| panic!("{name}: {error}")))
}

fn mean(weather: &[Weather], figure: impl Fn(&Weather) -> f64) -> f64 {
    weather.iter().map(figure).sum::<f64>() / weather.len() as f64
}

/// Values counted in the tables by another program (rows with a value on the days of the hindcast, each time and depth
/// once).
#[rstest]
#[case("rappbode", 4900)]
#[case("erken", 83980)]
#[case("mendota", 1994)]
#[case("langtjern", 13134)]
#[case("wainamu", 224)]
#[case("sparkling", 11494)]
#[case("degray", 1154)]
fn a_recorded_lake_gives_hours_without_a_hole_and_its_profiles(#[case] name: &str, #[case] count: usize) {
    let began = Instant::now();
    let Some(input) = input(name) else { return };
    let took = began.elapsed();
    let weather = &input.forcing.weather;
    println!(
        "{name}: {} steps, {} temperatures, {} oxygen, {} winters, {took:?}",
        weather.len(),
        input.temperatures.len(),
        input.oxygen.len(),
        input.ice.len()
    );
    println!(
        "  means: air {:.2} degC, vapour {:.0} Pa, pressure {:.0} Pa, wind {:.2} m/s, sun {:.1} W/m2, longwave {:.1} W/m2, \
         rain {:.2} m a year",
        mean(weather, |w| w.air_temp_degc),
        mean(weather, |w| w.vapour_pressure_pa),
        mean(weather, |w| w.pressure_pa),
        mean(weather, |w| w.wind_speed_m_s),
        mean(weather, |w| w.sunlight_w_m2),
        mean(weather, |w| w.sky_longwave_w_m2),
        mean(weather, |w| w.precipitation_m_s.unwrap_or(0.0)) * 365.25 * 86_400.0,
    );
    for note in &input.notes {
        println!("  {note:?}");
    }
    assert_eq!(input.temperatures.len(), count);
    for step in weather {
        let all = [
            step.air_temp_degc,
            step.vapour_pressure_pa,
            step.pressure_pa,
            step.wind_speed_m_s,
            step.sunlight_w_m2,
            step.sun_height_frac,
            step.sky_longwave_w_m2,
            step.precipitation_m_s.unwrap_or(0.0),
        ];
        assert!(all.iter().all(|value| value.is_finite()), "{step:?}");
        assert!(
            step.sunlight_w_m2 >= 0.0 && step.vapour_pressure_pa >= 0.0,
            "{step:?}"
        );
    }
    for river in &input.forcing.rivers {
        assert!(
            river
                .iter()
                .all(|step| step.discharge_m3s >= 0.0 && step.temp_degc.is_finite())
        );
        assert_eq!(river.len(), weather.len());
    }
    assert!(input.lake.hypsography.is_some());
}

#[test]
fn what_differs_at_one_time_and_depth_of_erken_is_left_out_and_counted() {
    let Some(input) = input("erken") else { return };
    let differing = input.notes.iter().find_map(|note| match note {
        InputNote::Contradicting { places, spread, .. } => Some((*places, *spread)),
        _ => None,
    });
    // Of the whole table 113 differ, by up to 10.15 degC; from 2000 on 4 (counted by another program).
    let (places, spread) = differing.expect("some differ");
    assert!(places == 4 && spread > 0.0 && spread <= 10.2, "{places} {spread}");
}

/// Daily means of air temperature, day by day (UTC-6), stamps moved so many days more than the lake file says.
fn days_of(name: &str, moved_days: f64) -> Option<Vec<f64>> {
    let folder = data("lakes")?;
    let mut lake = lake(name);
    let hindcast = lake.hindcast.as_mut().expect("it has one");
    hindcast.profiles.clear();
    hindcast.spin_up_days = 0;
    hindcast.start = NaiveDate::from_ymd_opt(2015, 1, 3).expect("a day");
    hindcast.end = NaiveDate::from_ymd_opt(2015, 12, 20).expect("a day");
    hindcast.weather[0].stamp_shift_s += moved_days * 86_400.0;
    let input = load_hindcast(lake, &folder).unwrap_or_else(|error| panic!("{name}: {error}"));
    let days = input.forcing.weather[6..].chunks_exact(24);
    Some(days.map(|day| mean(day, |w| w.air_temp_degc)).collect())
}

/// Correlation of the changes from day to day.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let steps = |days: &[f64]| {
        days.windows(2)
            .map(|pair| pair[1] - pair[0])
            .collect::<Vec<f64>>()
    };
    let (a, b) = (steps(a), steps(b));
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let (ma, mb) = (mean(&a), mean(&b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| a.iter().zip(&b).map(|(&x, &y)| f(x, y)).sum::<f64>();
    sum(&|x, y| (x - ma) * (y - mb)) / (sum(&|x, _| (x - ma).powi(2)) * sum(&|_, y| (y - mb).powi(2))).sqrt()
}

#[test]
fn the_days_of_sparkling_are_stamped_two_days_late() {
    let Some(mendota) = days_of("mendota", 0.0) else {
        return;
    };
    let [early, right, late] = [-1.0, 0.0, 1.0].map(|moved| {
        let sparkling = days_of("sparkling", moved).expect("the data are there");
        correlation(&sparkling, &mendota)
    });
    println!("day to day against Mendota 2015: {right:.2}; a day earlier {early:.2}, a day later {late:.2}");
    // Mendota lies 330 km south. Another program gives 0.80 for the local day two days before the stamp, 0.13 for the day
    // before it, 0.09 for three days before.
    assert!(right > 0.75 && early < 0.3 && late < 0.3);
}

#[test]
fn a_table_of_many_years_is_read_in_a_moment() {
    let Some(path) = data("lakes/rappbode-reservoir/weather.csv.gz") else {
        return;
    };
    let bytes = std::fs::read(path).expect("it is there");
    let wanted = Wanted {
        time: Some("time"),
        zone: StampZone::read("UTC").expect("a zone"),
        missing: &[],
        columns: &[
            "air_temp_degc",
            "shortwave_w_m2",
            "longwave_w_m2",
            "wind_speed_m_s",
            "vapour_pressure_hpa",
        ],
        times_repeat: false,
    };
    let began = Instant::now();
    let columns = read_columns(&bytes, &wanted).expect("a table");
    println!("{} rows in {:?}", columns.lines.len(), began.elapsed());
    assert_eq!(columns.lines.len(), 111_040); // counted by another program
    // Room for a machine that is busy with other tests.
    assert!(began.elapsed().as_secs_f64() < 2.0);
}

#[test]
fn no_profile_lies_outside_the_hindcast() {
    for name in ["mendota", "degray"] {
        let Some(input) = input(name) else { return };
        let end: DateTime<Utc> =
            input.forcing.start + Duration::hours(i64::try_from(input.forcing.weather.len()).expect("few"));
        let inside = |time: DateTime<Utc>| time >= input.compare_from && time < end;
        assert!(
            input
                .temperatures
                .iter()
                .chain(&input.oxygen)
                .all(|one| inside(one.time))
        );
        let in_order = |pair: &[_]| {
            let [a, b]: &[plungeline::hindcast::Observed; 2] = pair.try_into().expect("two");
            (a.time, a.depth_m) <= (b.time, b.depth_m)
        };
        assert!(input.temperatures.windows(2).all(in_order));
    }
}
