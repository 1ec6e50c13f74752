//! Scores of dates, and intervals of a coverage, against scoringrules, properscoring and scipy (`tests/outside/turnover/oracle.py`
//! has them in `oracle.json`; `.ci/run` runs that again).

use plungeline::skill::dates::DayForecast;
use plungeline::skill::intervals::jeffreys_interval;
use serde_json::Value;

fn oracle() -> Value {
    serde_json::from_str(include_str!("turnover/oracle.json")).unwrap()
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap()
}

#[test]
fn dates_and_intervals_of_days_have_the_scores_of_two_libraries() {
    let oracle = oracle();
    let rows = oracle["dates"].as_array().unwrap();
    assert_eq!(rows.len(), 24);
    for row in rows {
        let day = |key: &str| row[key].as_i64().unwrap();
        let weight: Vec<f64> = row["weight"]
            .as_array()
            .unwrap()
            .iter()
            .map(|w| w.as_f64().unwrap())
            .collect();
        let sum: f64 = weight.iter().sum();
        let prob = weight.iter().map(|w| w / sum).collect();
        let forecast = DayForecast::new(day("first_day") as i32, prob).unwrap();
        let (after, by) = (day("after_day"), day("by_day"));
        for (found, key) in [
            (forecast.crps_days(day("day")), "crps_days"),
            (
                forecast.interval_crps_days(after, by).unwrap(),
                "interval_crps_days",
            ),
            (
                forecast.interval_log_score(after, by).unwrap().log_score,
                "interval_log_score",
            ),
        ] {
            // Rounding of sums of up to 40 squares.
            assert!((found - number(row, key)).abs() < 1e-9, "{key} {found} {row}");
        }
    }
}

#[test]
fn a_coverage_has_the_interval_of_scipys_beta_distribution() {
    for row in oracle()["coverage"].as_array().unwrap() {
        let count = |key: &str| row[key].as_u64().unwrap() as u32;
        let found = jeffreys_interval(count("hits"), count("trials"), 0.8).unwrap();
        // Bisection to 1e-14, and the two Beta functions.
        assert!((found.low - number(row, "low")).abs() < 1e-9, "{row}");
        assert!((found.high - number(row, "high")).abs() < 1e-9, "{row}");
    }
}
