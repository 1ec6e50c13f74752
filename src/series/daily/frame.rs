//! Daily series side by side as a polars frame, one row a day.

use polars::prelude::{Column, DataFrame, PolarsResult};

use super::Daily;

/// The series of `columns` on one calendar, from the first day of any to the last of any: column `day`
/// (days since 1970-01-01), then one column a series under its name, null where it has no value.
///
/// The names are the glossary's, with their unit (`storage_m3`). Without series, or with empty ones
/// only, the frame has no rows.
///
/// # Errors
/// Fails where two columns have the same name.
pub fn aligned_frame(columns: &[(&str, &Daily)]) -> PolarsResult<DataFrame> {
    let first = columns
        .iter()
        .filter(|(_, d)| d.last().is_some())
        .map(|(_, d)| d.first)
        .min();
    let last = columns.iter().filter_map(|(_, d)| d.last()).max();
    let dates: Vec<chrono::NaiveDate> = match (first, last) {
        (Some(first), Some(last)) => first.iter_days().take_while(|d| *d <= last).collect(),
        _ => Vec::new(),
    };
    let epoch = chrono::NaiveDate::default();
    let day: Vec<i32> = dates.iter().map(|d| (*d - epoch).num_days() as i32).collect();
    let mut frame = vec![Column::new("day".into(), day)];
    for (name, series) in columns {
        let values: Vec<Option<f64>> = dates.iter().map(|d| series.get(*d)).collect();
        frame.push(Column::new((*name).into(), values));
    }
    DataFrame::new(dates.len(), frame)
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    #[test]
    fn series_that_begin_on_different_days_stand_on_one_calendar() {
        let july = |d| NaiveDate::from_ymd_opt(2025, 7, d).unwrap();
        let storage = Daily::new(july(1), vec![Some(1.0), Some(2.0)]);
        let release = Daily::new(july(2), vec![Some(7.0), None, Some(9.0)]);
        let frame = aligned_frame(&[("storage_m3", &storage), ("release_m3s", &release)]).unwrap();
        let column = |name: &str| {
            frame
                .column(name)
                .unwrap()
                .f64()
                .unwrap()
                .iter()
                .collect::<Vec<_>>()
        };
        assert_eq!(column("storage_m3"), vec![Some(1.0), Some(2.0), None, None]);
        assert_eq!(column("release_m3s"), vec![None, Some(7.0), None, Some(9.0)]);
        assert_eq!(aligned_frame(&[]).unwrap().height(), 0);
    }
}
