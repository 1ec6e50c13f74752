//! An invented lake, whose truth is the model's own: when it turns over is known, and nothing of a year may reach its outlook
//! before it has happened.

use std::f64::consts::TAU;

use chrono::{DateTime, Datelike, Duration, Timelike, Utc};

use super::*;
use crate::column::forcing::{Forcing, Weather};
use crate::column::layered::OxygenDemand;
use crate::column::reservoir::LakeSetup;
use crate::hindcast::observed::Observed;
use crate::lake::Hypsography;

/// First day of the weather, and how many years it has.
const FIRST_YEAR: i32 = 2000;
const YEARS: i32 = 7;

/// Weather of an hour: warm in July, cold in January, a degree warmer or colder in every other year by `apart_k`.
fn weather(time: DateTime<Utc>, apart_k: f64) -> Weather {
    let season = (TAU * (f64::from(time.ordinal()) - 200.0) / 365.25).cos();
    let sun = (TAU * (f64::from(time.hour()) - 12.0) / 24.0).cos().max(0.0);
    let odd_k = if time.year() % 2 == 0 { apart_k } else { -apart_k };
    let air_temp_degc = 9.0 + 11.0 * season + odd_k;
    Weather {
        air_temp_degc,
        vapour_pressure_pa: 430.0 * (0.06 * air_temp_degc).exp(),
        pressure_pa: 98_000.0,
        wind_speed_m_s: 3.0 + (TAU * f64::from(time.ordinal()) / 9.0).sin(),
        wind_from_deg: None,
        sunlight_w_m2: (420.0 + 260.0 * season) * sun,
        sun_height_frac: 0.6 * sun,
        sky_longwave_w_m2: 290.0 + 55.0 * season,
        precipitation_m_s: None,
    }
}

fn lake(apart_k: f64) -> PastLake {
    let start = DateTime::parse_from_rfc3339("2000-01-01T00:00:00Z")
        .unwrap()
        .to_utc();
    let hours = (1..=YEARS)
        .map(|k| if (FIRST_YEAR + k - 1) % 4 == 0 { 8784 } else { 8760 })
        .sum::<i64>();
    PastLake {
        id: "invented".to_owned(),
        setup: LakeSetup {
            hypsography: Hypsography::from_areas(vec![0.0, 10.0, 25.0], vec![2e4, 4e5, 1e6]),
            start_elevation_m: 20.0,
            lowest_elevation_m: 20.0,
            extinction_per_m: [0.5; 12],
            demand: OxygenDemand {
                bed_g_m2_day: 1.0,
                water_mg_l_day: 0.0,
            },
            outlet_elevation_m: Vec::new(),
            start_degc: Vec::new(),
        },
        forcing: Forcing {
            start,
            step_s: 3600.0,
            weather: (0..hours)
                .map(|h| weather(start + Duration::hours(h), apart_k))
                .collect(),
            rivers: Vec::new(),
            release_m3s: Vec::new(),
            level_m: Vec::new(),
        },
        factors: ModelFactors::default(),
        compare_from: start.date_naive(),
        day_shift: Duration::zero(),
        mean_flow_m3s: 0.0,
        clarity_unknown: false,
        starts_from_profile: false,
        freeboard: false,
    }
}

/// The model's own days every `every` days from May on, as if they had been measured.
fn measured(past: &PastLake, every: i64) -> Profiles {
    let (days, _) = past.days(past.factors).unwrap();
    let mut rows = Vec::new();
    for day in days
        .iter()
        .filter(|d| d.day.month() >= 5 && day_number(d.day, d.day.year()) % every == 0)
    {
        let time = day.day.and_hms_opt(12, 0, 0).unwrap().and_utc();
        rows.extend(
            day.depth_m
                .iter()
                .zip(&day.temp_degc)
                .map(|(depth_m, value)| Observed {
                    time,
                    depth_m: *depth_m,
                    value: *value,
                }),
        );
    }
    daily_profiles(&rows, |time| time.date_naive())
}

fn outlooks(past: &PastLake, profiles: &Profiles, lead_days: Vec<u32>) -> LakeTurnover {
    let lake = PastOutlooks {
        past,
        factors: past.factors,
        profiles,
        hemisphere: Hemisphere::North,
    };
    let options = OutlookOptions { lead_days, blocks: 1 };
    lake.turnover("Invented Lake", &options).unwrap()
}

#[test]
fn where_the_model_is_the_truth_the_outlook_comes_near_it_and_beats_the_other_years() {
    let past = lake(2.0);
    let found = outlooks(&past, &measured(&past, 2), vec![20]);
    assert!(found.autumns >= 6 && found.too_wide == 0, "{found:?}");
    let row = &found.rows[0];
    assert_eq!((row.issued, row.lead_days), (IssueRule::BeforeNormal, 20));
    assert!(row.years >= 5 && row.usable_dates == row.years, "{row:?}");
    // Warm and cold years differ by construction; who begins in the water of the day knows which this is.
    let own = row.crps_days.unwrap();
    assert!(own < row.climatology_crps_days.unwrap(), "{row:?}");
    for year in &found.years {
        assert!(year.foreseen[0] <= year.foreseen[1] && year.foreseen[1] <= year.foreseen[2]);
    }
}

#[test]
fn nothing_that_comes_after_the_issue_reaches_the_outlook() {
    let past = lake(1.0);
    let profiles = measured(&past, 4);
    let last_year = FIRST_YEAR + YEARS - 1;
    let before = outlooks(&past, &profiles, vec![20]);
    let of_last = |found: &LakeTurnover| {
        let is_last = |y: &&YearOutlook| y.year == last_year - 1 && y.issued == IssueRule::BeforeNormal;
        found.years.iter().find(is_last).cloned().unwrap()
    };
    let issued_on = of_last(&before).issued_on;
    // The weather from the issue to the end of that year, and its profiles after the issue.
    let mut changed = past.clone();
    let from =
        (issued_on.and_time(chrono::NaiveTime::MIN).and_utc() - past.forcing.start).num_hours() as usize;
    let to = (NaiveDate::from_ymd_opt(last_year, 1, 1)
        .unwrap()
        .and_time(chrono::NaiveTime::MIN)
        .and_utc()
        - past.forcing.start)
        .num_hours() as usize;
    for w in &mut changed.forcing.weather[from..to] {
        w.air_temp_degc += 8.0;
        w.wind_speed_m_s += 6.0;
    }
    let mut fewer = profiles.clone();
    fewer
        .profiles
        .retain(|p| p.day < issued_on || p.day.year() != last_year - 1);
    let planned = |past: &PastLake, profiles: &Profiles| {
        let issue = Issue {
            day: issued_on,
            year: last_year - 1,
            lead_days: 20,
        };
        run_past(&Wanted {
            past,
            factors: past.factors,
            profiles,
            hemisphere: Hemisphere::North,
            issues: &[issue],
            weather_years: &(FIRST_YEAR..=last_year).collect::<Vec<_>>(),
            blocks: 1,
        })
        .unwrap()
        .issued
    };
    let (first, second) = (planned(&past, &profiles), planned(&changed, &fewer));
    assert_eq!(first.len(), 1);
    // To the day, since every bit of the water is the same.
    assert_eq!(first, second);
    // And the weather before it does reach it.
    let mut earlier = past.clone();
    for w in &mut earlier.forcing.weather[from - 24 * 60..from] {
        w.wind_speed_m_s += 4.0;
    }
    assert_ne!(first, planned(&earlier, &fewer));
}

#[test]
fn the_years_own_date_changes_nothing_of_what_was_said() {
    let case = |year: i32, date: i64, early: i64| Case {
        issue: Issue {
            day: NaiveDate::from_ymd_opt(year, 9, 20).unwrap(),
            year,
            lead_days: 20,
        },
        known: Known::on(date),
        members: (0..8)
            .map(|m| (2000 + m, date - early + i64::from(m) - 4))
            .collect(),
        surface_k: 0.1 * f64::from(year - 2004),
        stratified_day: Some(250),
    };
    let cases = |own: i64| -> Vec<Case> {
        let mut all: Vec<Case> = (2000..2010)
            .map(|y| case(y, 280 + i64::from(y % 5) * 3, 6))
            .collect();
        all[4].known = Known::on(own);
        all
    };
    let said = |own: i64| {
        let cases = cases(own);
        let observed: Vec<(i32, Known)> = cases.iter().map(|c| (c.issue.year, c.known)).collect();
        let (_, years) = lead_rows((IssueRule::BeforeNormal, 20), &cases, &observed, 0).unwrap();
        years.into_iter().find(|y| y.year == 2004).unwrap()
    };
    let (a, b) = (said(290), said(305));
    assert_eq!(a.foreseen, b.foreseen);
    assert_eq!((a.shift_days, a.dressing_days), (b.shift_days, b.dressing_days));
    assert!(a.crps_days != b.crps_days);
    // Members that are always six days early are moved back; the prior of five days holds against nine years by little.
    assert!((a.shift_days - 6.0).abs() < 1.0, "{a:?}");
}

#[test]
fn a_day_and_its_number_are_each_others() {
    for number in [-40, 0, 1, 60, 366, 400] {
        let day = day_of_number(number, 2004).unwrap();
        assert_eq!(day_number(day, 2004), number);
    }
    // By hand: 2004 is a leap year.
    assert_eq!(day_of_number(366, 2004), NaiveDate::from_ymd_opt(2004, 12, 31));
}
