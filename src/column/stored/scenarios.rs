//! Each past year's weather from the clock on, behind the forecast, with rivers and release: what a season ahead may bring.

use chrono::{DateTime, Datelike as _, Duration, NaiveDate, Utc};

use super::ahead::{Ahead, AllGathered};
use super::error::StoredForcingError;
use super::forcing::gathered;
use super::fragments::shape_days;
use super::known::known_at;
use super::past::Gatherer;
use super::rivers::Rivers;
use super::water::Releases;
use super::window::{HOUR_S, Window};
use super::years::{LeftOut, Scales, YearWeather, past_years};
use crate::clock::LakeClock;
use crate::column::forcing::{Forcing, Site, SunOver, Weather, giving_way};
use crate::conditions::daily_water;
use crate::lake::Lake;
use crate::series::parallel::{cores, in_parallel};
use crate::series::{Gap, SeriesSet};

/// Time over which the forecast gives way to the past year: its last days, in which it knows hardly more than the season (project
/// choice).
const BLEND_H: usize = 4 * 24;
/// Days before the clock whose mean air likens years: the last month, and the two before it (project choice).
const LIKE_DAYS: [(i64, i64); 2] = [(30, 1), (90, 31)];
/// Share of those days that a mean needs.
const LIKE_LEAST_FRAC: f64 = 0.8;

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScenarioOptions {
    /// Beginning of the past that sources are brought to one scale by.
    pub from: DateTime<Utc>,
    /// The clock: nothing later is used, and no year whose window ends later.
    pub as_of: DateTime<Utc>,
    /// End of the scenarios.
    pub until: DateTime<Utc>,
    /// Longest part of them that the forecast gives, days.
    pub forecast_days: u32,
    /// Runs that are wanted at least; where there are fewer years every one is run several times.
    pub runs: usize,
    /// Seed of every draw.
    pub seed: u64,
}

/// One run: a past year's weather behind a member of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// Year in which its weather began.
    pub year: i32,
    /// Weather, rivers and releases from the clock on; the level follows from them.
    pub forcing: Forcing,
}

/// How warm it was before the window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarmthBefore {
    /// Year of the window's beginning.
    pub year: i32,
    /// Mean air of the 30 days before it, degC.
    pub month_degc: Option<f64>,
    /// Of the 60 days before those, degC.
    pub earlier_degc: Option<f64>,
}

/// All runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenarios {
    /// Year by year, as often as it takes to make the runs.
    pub runs: Vec<Scenario>,
    /// Years that they are of.
    pub years: Vec<i32>,
    /// Years that do not count.
    pub left_out: Vec<LeftOut>,
    /// Hours of the forecast at the beginning of all; 0 without one.
    pub forecast_h: usize,
    /// Of these, the last in which it gives way to the past year.
    pub blend_h: usize,
    /// Members of the forecast.
    pub forecast_members: usize,
    /// Days of daily values that took the course of a like day with hours, and those that found none.
    pub shaped_days: (usize, usize),
    /// How warm it was before, of this year and of every year above.
    pub before: (WarmthBefore, Vec<WarmthBefore>),
    /// What is not known, and what stands in.
    pub gaps: Vec<Gap>,
}

/// The scenarios from the clock to `options.until`: the weather of the same days of every past year, on the scale of today's sources
/// ([`super::StoredSeam`]), behind the members of the forecast, which gives way to it over its last four days along a straight line.
///
/// Days of daily values take the course of the day of a like day with hours (`fragments`). Rivers go on from today's flow as for the level
/// ahead of a brief, by the season and with the persistence of their departures, at the temperature that the run's own air makes; the
/// release so too, or as planned. Neither is that year's own: gauges seldom reach back as far as the weather does.
///
/// # Errors
/// [`StoredForcingError`], as for the forcing up to the clock. No past year is no error: there are no runs then.
pub fn scenarios(
    lake: &Lake,
    set: &SeriesSet,
    options: &ScenarioOptions,
) -> Result<Scenarios, StoredForcingError> {
    let clock = LakeClock::new(lake.time_zone);
    let known = known_at(set, options.as_of, &clock);
    let set: &SeriesSet = &known;
    let span = || StoredForcingError::Span {
        from: options.from,
        as_of: options.as_of,
    };
    let window = Window::new(options.from, options.as_of, &clock).ok_or_else(span)?;
    let site = Site {
        latitude_deg: lake.latitude_deg,
        longitude_deg: lake.longitude_deg,
        elevation_m: lake.full_pool_elevation_m,
    };
    let sun = SunOver::new(site, window.steps());
    let mut gatherer = Gatherer {
        lake,
        set,
        clock,
        window: &window,
        today: clock.standard_day(options.as_of),
        sun: &sun,
        notes: Vec::new(),
        gaps: Vec::new(),
        seams: Vec::new(),
    };
    let (all, _) = gathered(&mut gatherer)?;
    let season = Window::new(window.end(), options.until, &clock).ok_or_else(span)?;
    let scales = Scales::of(&gatherer, &all);
    let (mut years, left_out) = past_years(lake, set, (&season, site, clock), &scales);
    let shaped_days = shape_days(&mut years);
    let before = warmth(&gatherer, &all, &years);
    let count = years.len() * options.runs.div_ceil(years.len().max(1));
    let forecast = forecast(&mut gatherer, &all, (site, options), count)?;
    let runs = flows(
        &mut gatherer,
        (&all, &season),
        (&years, &forecast, count),
        options.seed,
    )?;
    let forecast_h = forecast
        .first()
        .map_or(0, |member| member.len().min(season.hours));
    Ok(Scenarios {
        runs,
        years: years.iter().map(|year| year.year).collect(),
        left_out,
        forecast_h,
        blend_h: BLEND_H.min(forecast_h),
        forecast_members: all.air.issued.map_or(0, |issued| issued.batch.members.len()),
        shaped_days,
        before,
        gaps: gatherer.gaps,
    })
}

/// The weather of the forecast for each run, from the clock on; empty without a forecast.
fn forecast<'a>(
    gatherer: &mut Gatherer<'a, '_>,
    all: &AllGathered<'a>,
    (site, options): (Site, &ScenarioOptions),
    count: usize,
) -> Result<Vec<Vec<Weather>>, StoredForcingError> {
    let Some(ahead) = Ahead::of(gatherer, all, (site, options.forecast_days)) else {
        return Ok(Vec::new());
    };
    let numbers: Vec<usize> = (0..count).collect();
    let member = |member: &usize| Ok(ahead.member(*member, options.seed)?.0);
    in_parallel(cores(), &numbers, member).into_iter().collect()
}

/// Weather, rivers and releases of each run.
fn flows(
    gatherer: &mut Gatherer<'_, '_>,
    (all, season): (&AllGathered<'_>, &Window),
    (years, forecast, count): (&[YearWeather], &[Vec<Weather>], usize),
    seed: u64,
) -> Result<Vec<Scenario>, StoredForcingError> {
    let water = daily_water(gatherer.lake, gatherer.set);
    let mut rivers = Rivers::of(gatherer, &water, true)?;
    let releases = Releases::of(gatherer, &water)?;
    rivers.look_ahead(gatherer, season);
    let releases = releases.season(gatherer, season);
    let before = hours_before(gatherer, all);
    let lake = gatherer.lake;
    let numbers: Vec<usize> = (0..count).collect();
    let run = |run: &usize| {
        let run = *run;
        let year = &years[run % years.len()];
        // The forecast alone at first, then less and less of it over its last four days.
        let forecast = forecast.get(run).map_or(&[][..], Vec::as_slice);
        let weather = giving_way(forecast, &year.weather, BLEND_H);
        let air_degc: Vec<f64> = weather.iter().map(|w| w.air_temp_degc).collect();
        Ok(Scenario {
            year: year.year,
            forcing: Forcing {
                start: season.start,
                step_s: HOUR_S,
                rivers: rivers.ahead(season, (&before, &air_degc), (run, seed))?,
                release_m3s: releases.member(lake, season, (run, seed)),
                weather,
                level_m: Vec::new(),
            },
        })
    };
    in_parallel(cores(), &numbers, run).into_iter().collect()
}

/// Air of the hours of the day of the clock that have passed, degC.
fn hours_before(gatherer: &Gatherer<'_, '_>, all: &AllGathered<'_>) -> Vec<f64> {
    let window = gatherer.window;
    let curve = super::ahead::curve(&all.air.rows, window);
    let first = window.hours.saturating_sub(24);
    let mean = |hour: usize| {
        let from = HOUR_S * hour as f64;
        super::ahead::mean_within(curve.as_ref()?, window, from, from + HOUR_S)
    };
    (first..window.hours).filter_map(mean).collect()
}

/// How warm it was before the same date, this year and in the others.
fn warmth(
    gatherer: &Gatherer<'_, '_>,
    all: &AllGathered<'_>,
    years: &[YearWeather],
) -> (WarmthBefore, Vec<WarmthBefore>) {
    let tables = gatherer.tables(&all.air);
    let mean = |date: NaiveDate, (from, to): (i64, i64)| {
        let days = (to..=from).map(|back| date - Duration::days(back));
        let of_day = |day: NaiveDate| tables.iter().find_map(|table| table.get(day));
        let known: Vec<f64> = days
            .filter(|day| *day < gatherer.today)
            .filter_map(of_day)
            .collect();
        let wanted = (from - to + 1) as f64;
        let mean = crate::math::quantiles::mean(&known);
        mean.filter(|_| known.len() as f64 >= LIKE_LEAST_FRAC * wanted)
    };
    let of_year = |year: i32| {
        let today = gatherer.today;
        let date = today
            .with_year(year)
            .or_else(|| (today - Duration::days(1)).with_year(year));
        WarmthBefore {
            year,
            month_degc: date.and_then(|date| mean(date, LIKE_DAYS[0])),
            earlier_degc: date.and_then(|date| mean(date, LIKE_DAYS[1])),
        }
    };
    let others = years.iter().map(|year| of_year(year.year));
    (of_year(gatherer.today.year()), others.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour(air_temp_degc: f64) -> Weather {
        Weather {
            air_temp_degc,
            vapour_pressure_pa: 600.0,
            pressure_pa: 90_000.0,
            wind_speed_m_s: 3.0,
            wind_from_deg: Some(air_temp_degc),
            sunlight_w_m2: 100.0,
            sun_height_frac: 0.2,
            sky_longwave_w_m2: 280.0,
            precipitation_m_s: None,
        }
    }

    #[test]
    fn the_forecast_gives_way_over_its_last_four_days() {
        let air = |forecast_h: usize| -> Vec<f64> {
            let mixed = giving_way(&vec![hour(10.0); forecast_h], &vec![hour(0.0); 400], BLEND_H);
            mixed.iter().map(|w| w.air_temp_degc).collect()
        };
        let long = air(384);
        // 16 days less 4: the forecast alone.
        assert!(long[..288].iter().all(|t| *t == 10.0));
        // By hand: 96 equal steps, the first and last half a step from the ends.
        for (i, found) in long[288..384].iter().enumerate() {
            assert!((found - 10.0 * (95.5 - i as f64) / 96.0).abs() < 1e-12, "{i}");
        }
        assert!(long[384..].iter().all(|t| *t == 0.0));
        // A forecast shorter than that gives way from the beginning on, and none changes nothing.
        assert!((air(2)[0] - 7.5).abs() < 1e-12 && (air(2)[1] - 2.5).abs() < 1e-12);
        assert!(air(0).iter().all(|t| *t == 0.0));
    }
}
