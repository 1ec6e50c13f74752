//! The surface ensemble on a recorded lake, morning by morning, with the air temperature known.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};
use plungeline::clock::LakeClock;
use plungeline::column::{WaterOptions, water_at};
use plungeline::conditions::conditions_at;
use plungeline::lake::{Cadence, SeriesId};
use plungeline::series::{ForecastBatch, Member, SeriesKey, SeriesSet};

use super::invented::Invented;

/// Daily means by date of a recorded table, of the rows whose depth (if `depth` names a column) is near
/// the surface.
fn recorded(path: &std::path::Path, value: usize, depth: Option<usize>) -> Vec<(NaiveDate, f64)> {
    let file = flate2::read::GzDecoder::new(std::fs::File::open(path).unwrap());
    let mut sums: BTreeMap<NaiveDate, (f64, u32)> = BTreeMap::new();
    for row in csv::Reader::from_reader(file).records().map(Result::unwrap) {
        if depth.is_none_or(|d| row[d].parse::<f64>().unwrap() <= 1.5) {
            let slot = sums.entry(row[0][..10].parse().unwrap()).or_default();
            *slot = (slot.0 + row[value].parse::<f64>().unwrap(), slot.1 + 1);
        }
    }
    sums.into_iter()
        .map(|(date, (sum, n))| (date, sum / f64::from(n)))
        .collect()
}

/// Erken, every 40 days of 2010-2015, the model refitted each morning to what was known then, and the
/// weather of the outlook known in advance: what is judged is the equation and its spread.
#[test]
fn on_a_recorded_lake_four_mornings_in_five_lie_within_the_interval() {
    let Some(temperature) = crate::validation::data("lakes/erken/temperature.csv.gz") else {
        return;
    };
    let Some(weather) = crate::validation::data("lakes/erken/weather.csv.gz") else {
        return;
    };
    let (surface, air) = (recorded(&temperature, 2, Some(1)), recorded(&weather, 1, None));
    let truth: BTreeMap<NaiveDate, f64> = surface.iter().copied().collect();
    let air_by_date: BTreeMap<NaiveDate, f64> = air.iter().copied().collect();
    let mut invented = Invented::until(2010, 1, 1);
    invented.lake.time_zone = chrono_tz::UTC;
    invented.lake.hypsography = None;
    (invented.surface, invented.air) = (surface, air);
    let clock = LakeClock::new(chrono_tz::UTC);
    // Squared errors of the median and of "as it was last", and days within the interval, by lead.
    let mut found: BTreeMap<usize, (f64, f64, u32, u32)> = BTreeMap::new();
    let first = NaiveDate::from_ymd_opt(2010, 1, 10).unwrap();
    for morning in (0..53).map(|i| first + Duration::days(40 * i)) {
        invented.as_of = clock.standard_day_start(morning) + Duration::hours(4);
        let mut set: SeriesSet = invented.set(&["air-temp", "surface"]);
        let dates: Vec<NaiveDate> = morning.iter_days().take(16).collect();
        let steps = |date: &NaiveDate| (0..24).map(|h| (*date, h)).collect::<Vec<_>>();
        let hours: Vec<(NaiveDate, i64)> = dates.iter().flat_map(steps).collect();
        let run: Vec<Option<f64>> = hours.iter().map(|(d, _)| air_by_date.get(d).copied()).collect();
        set.forecasts.insert(
            SeriesId::new("air-temp"),
            ForecastBatch {
                key: SeriesKey {
                    id: SeriesId::new("air-temp"),
                    cadence: Cadence::Forecast,
                },
                issued_at: set.as_of,
                provenance: Invented::provenance(),
                time: hours
                    .iter()
                    .map(|(d, h)| clock.standard_day_start(*d) + Duration::hours(*h))
                    .collect(),
                members: vec![Member(0), Member(1)],
                value: vec![run.clone(), run],
            },
        );
        let conditions = conditions_at(&invented.lake, &set);
        let water = water_at(
            &invented.lake,
            &conditions,
            &set,
            &WaterOptions { members: 50, seed: 9 },
        );
        let Some(last) = truth.range(morning - Duration::days(3)..morning).next_back() else {
            continue;
        };
        for lead in [0, 3, 7, 15] {
            let day = &water.surface_outlook[lead];
            let Some(observed) = truth.get(&day.date) else {
                continue;
            };
            let slot = found.entry(lead).or_default();
            slot.0 += (day.median_degc - observed).powi(2);
            slot.1 += (last.1 - observed).powi(2);
            slot.2 += u32::from((day.low_degc..=day.high_degc).contains(observed));
            slot.3 += 1;
        }
    }
    for (lead, (model, persistence, within, of)) in &found {
        let n = f64::from(*of);
        let (model, persistence) = ((model / n).sqrt(), (persistence / n).sqrt());
        let share = f64::from(*within) / n;
        println!(
            "Erken, {lead} days ahead: RMSE {model:.2}, as it was {persistence:.2} degC, within {share:.2} of {of}"
        );
        // 80 % of some 50 mornings: standard error 0.06, and the lake has ice, which the equation lacks.
        assert!((0.65..=0.97).contains(&share), "{lead}: {share}");
        assert!(*lead < 3 || model < persistence, "{lead}: {model} {persistence}");
    }
    assert!(found.len() == 4 && found.values().all(|f| f.3 > 40), "{found:?}");
}
