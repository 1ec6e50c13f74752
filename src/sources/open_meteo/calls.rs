//! As how many calls a request counts.

use chrono::NaiveDate;

/// Variables of one call.
const VARIABLES: f64 = 10.0;
/// Days of one call.
const DAYS: f64 = 14.0;

/// As how many calls a request counts: max(1, v / 10) max(1, d / 14), rounded up, for v variables and d days.
///
/// The service's documentation says that a call of many variables or days counts as several; the two numbers are
/// from memory, unverified. Days of a forecast are its past and coming ones.
pub fn calls(query: &[(String, String)]) -> u32 {
    let value = |name: &str| query.iter().find(|(key, _)| key == name).map(|(_, v)| v.as_str());
    let variables: usize = ["hourly", "daily"]
        .iter()
        .filter_map(|list| value(list))
        .map(|names| names.split(',').count())
        .sum();
    let date = |name| value(name).and_then(|text| text.parse::<NaiveDate>().ok());
    let count = |name| {
        value(name)
            .and_then(|text| text.parse::<f64>().ok())
            .unwrap_or(0.0)
    };
    let days = match (date("start_date"), date("end_date")) {
        (Some(first), Some(last)) => ((last - first).num_days() + 1) as f64,
        _ => count("past_days") + count("forecast_days"),
    };
    let calls = (variables as f64 / VARIABLES).max(1.0) * (days / DAYS).max(1.0);
    calls.ceil() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_variables_or_days_count_as_several_calls() {
        let query = |pairs: &[(&str, &str)]| {
            let own = |(k, v): &(&str, &str)| ((*k).to_owned(), (*v).to_owned());
            calls(&pairs.iter().map(own).collect::<Vec<_>>())
        };
        let fifteen = vec!["a"; 15].join(",");
        // 15 of 10 variables are 1.5 calls, rounded up.
        assert_eq!(query(&[("hourly", &fifteen), ("forecast_days", "7")]), 2);
        // 365 days of 14 are 26.07, and with 15 variables 39.1.
        let year = [("start_date", "2023-01-01"), ("end_date", "2023-12-31")];
        assert_eq!(query(&[("daily", "a"), year[0], year[1]]), 27);
        assert_eq!(query(&[("daily", &fifteen), year[0], year[1]]), 40);
        assert_eq!(query(&[("hourly", "a")]), 1);
    }
}
