//! Weather of other years put behind that of the year of the issue.

use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};

use crate::column::forcing::{Forcing, RiverFlow, Weather, giving_way};
use crate::units::S_PER_DAY;

/// Length of the seam over which the last day's weather fades into that of the other year, days (project choice: what a day's
/// weather tells of the next is mostly gone after two).
const SEAM_DAYS: usize = 2;

/// The step at which a day begins, by the day of the lake; `None` where the forcing has no such step.
pub(super) fn first_step(forcing: &Forcing, day_shift: Duration, day: NaiveDate) -> Option<usize> {
    let begin: DateTime<Utc> = day.and_time(chrono::NaiveTime::MIN).and_utc() - day_shift;
    let since_s = (begin - forcing.start).num_seconds() as f64;
    let step = (since_s / forcing.step_s).ceil();
    (step >= 0.0 && (step as usize) < forcing.weather.len()).then_some(step as usize)
}

/// The same calendar day of another year; of 29 February the 28th.
pub(super) fn same_day(day: NaiveDate, year: i32) -> Option<NaiveDate> {
    day.with_year(year)
        .or_else(|| (day - Duration::days(1)).with_year(year))
}

/// What drives a member from `issue` on: `steps` steps of the weather, rivers and releases that follow `from` in the same
/// forcing, the weather blended from that of the last day before `issue` over two days. A level that is known stays as it
/// was at the issue, as what it will be is not known. `None` where the forcing ends before that.
pub(super) fn spliced(past: &Forcing, issue: usize, from: usize, steps: usize) -> Option<Forcing> {
    let a_day = (S_PER_DAY / past.step_s).round().max(1.0) as usize;
    let last = issue.checked_sub(a_day)?;
    let seam = SEAM_DAYS * a_day;
    let held: Vec<Weather> = (0..seam).map(|i| past.weather[last + i % a_day]).collect();
    let weather = giving_way(&held, past.weather.get(from..from + steps)?, seam);
    let river = |river: &Vec<RiverFlow>| river.get(from..from + steps).map(<[_]>::to_vec);
    let release = |release: &Vec<f64>| release.get(from..from + steps).map(<[_]>::to_vec);
    Some(Forcing {
        start: past.step_start(issue),
        step_s: past.step_s,
        weather,
        rivers: past.rivers.iter().map(river).collect::<Option<_>>()?,
        release_m3s: past.release_m3s.iter().map(release).collect::<Option<_>>()?,
        level_m: match past.level_m.get(issue.saturating_sub(1)) {
            Some(level_m) => vec![*level_m; steps],
            None => Vec::new(),
        },
    })
}
