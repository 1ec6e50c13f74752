//! The projection on four recorded reservoirs, week by week: against a lake that stays, against its slope, and how
//! often the truth lies in the interval. Their records hold storage and no table, so storage is judged.

use chrono::{Datelike, NaiveDate};
use plungeline::conditions::balance::{DayValue, centred_mean, inferred_inflow};
use plungeline::conditions::outlook::carry::Limits;
use plungeline::conditions::outlook::inflow::{ForecastPart, InflowModel};
use plungeline::conditions::outlook::project::{ProjectionInputs, ProjectionTimes, project_member};
use plungeline::conditions::outlook::release::ReleaseModel;
use plungeline::math::quantiles::quantiles;
use plungeline::math::slopes::theil_sen;
use plungeline::series::Daily;
use plungeline::units::{M3_PER_ACRE_FT, M3S_PER_CFS, S_PER_DAY};

use crate::validation;

/// Days ahead that are judged (the first is held to a bound), days between two mornings, members.
const AHEAD: [usize; 3] = [7, 1, 14];
const EVERY: usize = 3;
const MEMBERS: usize = 200;

struct Record {
    storage: Daily,
    release: Daily,
    inflow: Daily,
}

/// A record of storage, m3, and releases, m3/s, by column names and factors; the inflow is that of its balance.
fn record(file: &str, storage: (&str, f64), releases: (&[&str], f64)) -> Option<Record> {
    let path = validation::data(file)?;
    let mut reader = csv::Reader::from_path(path).expect("a readable record");
    let headers = reader.headers().expect("a header").clone();
    let column = |name: &str| headers.iter().position(|h| h == name).expect("the named column");
    let (mut first, mut stored, mut released) = (None, Vec::new(), Vec::new());
    for row in reader.records().map(|r| r.expect("a readable row")) {
        let number = |name: &str| row[column(name)].parse::<f64>().expect("a number");
        first.get_or_insert(row[column("time")].parse::<NaiveDate>().expect("a date"));
        stored.push(Some(number(storage.0) * storage.1));
        released.push(Some(
            releases.0.iter().map(|r| number(r)).sum::<f64>() * releases.1,
        ));
    }
    let first = first.expect("rows");
    let (storage, release) = (Daily::new(first, stored), Daily::new(first, released));
    let balance = inferred_inflow(&storage, DayValue::EndOfDay, &release, None).expect("a balance");
    let mut inflow = centred_mean(&balance, 3).expect("a mean");
    inflow.value.iter_mut().for_each(|q| *q = q.filter(|q| *q > 0.0));
    Some(Record {
        storage,
        release,
        inflow,
    })
}

fn records() -> Option<Vec<(&'static str, Record)>> {
    let snake = |name: &str| {
        record(
            &format!("reservoir-operations/{name}/operations.csv"),
            ("storage_m3", 1.0),
            (&["release_m3_per_day"], 1.0 / S_PER_DAY),
        )
    };
    let outlets = [
        "spill_cfs",
        "friant_kern_canal_cfs",
        "madera_canal_cfs",
        "river_release_cfs",
    ];
    Some(vec![
        ("American Falls", snake("american-falls")?),
        ("Jackson", snake("jackson")?),
        ("Palisades", snake("palisades")?),
        (
            "Millerton",
            record(
                "lakes/millerton-reservoir/operations.csv",
                ("storage_acre_ft", M3_PER_ACRE_FT),
                (&outlets, M3S_PER_CFS),
            )?,
        ),
    ])
}

/// The part of a daily series up to and with `date`: what is known on the evening of that day.
fn known(series: &Daily, date: NaiveDate) -> Daily {
    series.slice(series.first, date).expect("within the record")
}

/// Storage `ahead` days after `date` by the members, from what was known then, and from a forecast of the
/// next `forecast_days` days that is the inflow as it came: no issued forecasts are recorded.
fn members_m3(record: &Record, date: NaiveDate, ahead: usize, forecast_days: usize) -> Option<Vec<f64>> {
    let before = date.pred_opt()?;
    // The centred mean of the day before takes in the day itself, and no later one.
    let inflow = known(&record.inflow, before);
    let (release, storage) = (known(&record.release, date), known(&record.storage, date));
    let highest = storage.value.iter().flatten().copied().fold(0.0, f64::max);
    let model = InflowModel::fit(&inflow, inflow.index(before)?, ahead + 2)?;
    // Lead 0 is the day before, so that tomorrow is lead 2.
    let of_lead = |lead: usize| {
        let day = before.checked_add_days(chrono::Days::new(lead as u64))?;
        record
            .inflow
            .get(day)
            .filter(|_| (2..2 + forecast_days).contains(&lead))
    };
    let part = ForecastPart {
        share_frac: 1.0,
        flow_m3s: (0..=ahead + 2).map(of_lead).collect(),
        days_before: 0,
    };
    let parts = if forecast_days > 0 { vec![part] } else { Vec::new() };
    let inputs = ProjectionInputs {
        storage_m3: storage.get(date)?,
        storage_sd_m3: 0.0,
        inflow: model.with_forecasts(parts),
        release: ReleaseModel::fit(&release, release.index(date)?)?,
        release_after_inflow: 1,
        evaporation_m3s: 0.0,
        closure_sd_m3s: 0.0,
        limits: Limits {
            dead_pool_m3: 0.0,
            crest_m3: highest,
        },
    };
    // Lead 0 is the day before; the storage is that of the end of the day.
    let times = ProjectionTimes {
        start_days: 2.0,
        wanted_days: vec![2.0 + ahead as f64],
    };
    Some(
        (0..MEMBERS)
            .map(|m| project_member(&inputs, &times, 1, m)[0].storage_m3)
            .collect(),
    )
}

/// Continuous ranked probability score of an ensemble, fair: mean |x - y| - sum |x_i - x_j| / (2 m (m - 1)).
fn fair_crps(members: &[f64], truth: f64) -> f64 {
    let m = members.len() as f64;
    let mut sorted = members.to_vec();
    sorted.sort_by(f64::total_cmp);
    let pairs: f64 = sorted
        .iter()
        .enumerate()
        .map(|(i, x)| x * (2.0 * i as f64 + 1.0 - m))
        .sum();
    members.iter().map(|x| (x - truth).abs()).sum::<f64>() / m - pairs / (m * (m - 1.0))
}

#[derive(Default, Clone, Copy)]
struct Score {
    mornings: usize,
    stays: f64,
    slope: f64,
    median: f64,
    crps: f64,
    inside: usize,
}

/// Scores of the mornings of one half: the first for choosing, the second for checking. Hundredths of the
/// record's greatest storage.
fn score(record: &Record, ahead: usize, first_half: bool, forecast_days: usize) -> Score {
    let days = record.storage.value.len();
    // Three years of record come first; the rest is halved at a turn of the year.
    let middle_year = {
        let (from, to) = (record.storage.date(1096), record.storage.date(days - 1));
        (from.year() + to.year() + 1) / 2
    };
    let unit = record.storage.value.iter().flatten().copied().fold(0.0, f64::max) / 100.0;
    let mut score = Score::default();
    for i in (1096..days - ahead).step_by(EVERY) {
        let date = record.storage.date(i);
        if (date.year() < middle_year) != first_half {
            continue;
        }
        let Some(members) = members_m3(record, date, ahead, forecast_days) else {
            continue;
        };
        let stored = |i: usize| record.storage.value[i].expect("a record without gaps");
        let truth = stored(i + ahead);
        let week: (Vec<f64>, Vec<f64>) = (i - 6..=i).map(|j| (j as f64, stored(j))).unzip();
        let slope = theil_sen(&week.0, &week.1, 0.8).expect("seven days").slope;
        let [low, median, high] = quantiles(&members, [0.1, 0.5, 0.9]).expect("members");
        score.mornings += 1;
        score.stays += (truth - stored(i)).abs() / unit;
        score.slope += (truth - stored(i) - ahead as f64 * slope).abs() / unit;
        score.median += (truth - median).abs() / unit;
        score.crps += fair_crps(&members, truth) / unit;
        score.inside += usize::from((low..=high).contains(&truth));
    }
    score
}

#[test]
fn a_week_ahead_the_projection_beats_a_lake_that_stays_and_its_slope() {
    let Some(records) = records() else { return };
    let mut shares = Vec::new();
    for (name, record) in &records {
        for (ahead, first_half) in AHEAD.iter().flat_map(|a| [(*a, true), (*a, false)]) {
            let s = score(record, ahead, first_half, 0);
            let n = s.mornings as f64;
            let share = s.inside as f64 / n;
            println!(
                "{name}, {ahead} days, {} half, {} mornings: stays {:.2}, slope {:.2}, median {:.2}, CRPS {:.2} % of \
                 the greatest storage; {:.0} % inside 10-90 %",
                if first_half { "first" } else { "second" },
                s.mornings,
                s.stays / n,
                s.slope / n,
                s.median / n,
                s.crps / n,
                100.0 * share
            );
            // The first half chose the widening of the inflow's steps; the second judges it.
            if ahead == AHEAD[0] && !first_half {
                assert!(s.mornings > 100, "{name}: too few mornings to judge");
                assert!(
                    s.median < s.slope && s.median < s.stays,
                    "{name}: no better than a guess"
                );
                assert!(s.crps < s.median, "{name}: the spread says nothing");
                assert!((0.7..=0.9).contains(&share), "{name}: {share} inside");
                shares.push(share);
            }
        }
    }
    let alike = shares.iter().sum::<f64>() / shares.len() as f64;
    assert!(
        (0.75..=0.85).contains(&alike),
        "{alike} inside, the reservoirs alike"
    );
}

#[test]
fn a_forecast_of_the_inflow_that_came_lowers_the_error_and_is_held_by_the_interval() {
    let Some(records) = records() else { return };
    for (name, record) in &records {
        // The second half, a week ahead, with five days of forecast; the best that a river forecast could do.
        let [without, with] = [0, 5].map(|forecast_days| score(record, 7, false, forecast_days));
        let n = without.mornings as f64;
        let (before, after) = (without.inside as f64 / n, with.inside as f64 / n);
        println!(
            "{name}, 7 days, second half, {} mornings: median {:.2} without and {:.2} with the inflow of five days, CRPS \
             {:.2} and {:.2} % of the greatest storage; {:.0} and {:.0} % inside 10-90 %",
            without.mornings,
            without.median / n,
            with.median / n,
            without.crps / n,
            with.crps / n,
            100.0 * before,
            100.0 * after
        );
        assert_eq!(without.mornings, with.mornings);
        assert!(with.median < without.median, "{name}: a true forecast misleads");
        assert!(
            with.crps < without.crps,
            "{name}: the spread eats what the forecast gives"
        );
        assert!(after >= before, "{name}: {after} inside, {before} without");
    }
}
