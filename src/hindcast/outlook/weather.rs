//! Weather of other years put behind that of the year of the issue.

use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};

use crate::column::forcing::{Forcing, RiverFlow, Weather};
use crate::units::S_PER_DAY;

/// Length of the seam over which the last day's weather fades into that of the other year, days (project choice: what a day's
/// weather tells of the next is mostly gone after two).
const SEAM_DAYS: f64 = 2.0;

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
    let seam = SEAM_DAYS * a_day as f64;
    let weather = past.weather.get(from..from + steps)?;
    let weather = weather.iter().enumerate().map(|(i, there)| {
        let held_frac = (1.0 - (i as f64 + 0.5) / seam).max(0.0);
        match held_frac > 0.0 {
            true => blend(&past.weather[last + i % a_day], there, held_frac),
            false => *there,
        }
    });
    let river = |river: &Vec<RiverFlow>| river.get(from..from + steps).map(<[_]>::to_vec);
    let release = |release: &Vec<f64>| release.get(from..from + steps).map(<[_]>::to_vec);
    Some(Forcing {
        start: past.step_start(issue),
        step_s: past.step_s,
        weather: weather.collect(),
        rivers: past.rivers.iter().map(river).collect::<Option<_>>()?,
        release_m3s: past.release_m3s.iter().map(release).collect::<Option<_>>()?,
        level_m: match past.level_m.get(issue.saturating_sub(1)) {
            Some(level_m) => vec![*level_m; steps],
            None => Vec::new(),
        },
    })
}

/// Weather between that held on to and that of the other year; the direction of the wind is the other year's.
fn blend(held: &Weather, there: &Weather, held_frac: f64) -> Weather {
    let mix = |a: f64, b: f64| held_frac * a + (1.0 - held_frac) * b;
    Weather {
        air_temp_degc: mix(held.air_temp_degc, there.air_temp_degc),
        vapour_pressure_pa: mix(held.vapour_pressure_pa, there.vapour_pressure_pa),
        pressure_pa: mix(held.pressure_pa, there.pressure_pa),
        wind_speed_m_s: mix(held.wind_speed_m_s, there.wind_speed_m_s),
        wind_from_deg: there.wind_from_deg,
        sunlight_w_m2: mix(held.sunlight_w_m2, there.sunlight_w_m2),
        sun_height_frac: mix(held.sun_height_frac, there.sun_height_frac),
        sky_longwave_w_m2: mix(held.sky_longwave_w_m2, there.sky_longwave_w_m2),
        precipitation_m_s: held
            .precipitation_m_s
            .zip(there.precipitation_m_s)
            .map(|(a, b)| mix(a, b))
            .or(there.precipitation_m_s),
    }
}
