//! Surface and river temperature from air temperature against the published equations and sets.

use std::f64::consts::TAU;

use chrono::{Datelike, NaiveDate};
use plungeline::column::quick::{
    MeanDepth, SeasonState, ThumbProfile, fit_river, fit_surface, published, thumb_profile_degc,
};
use plungeline::lake::ThermalRegime;
use plungeline::math::interpolate::linear_pairs;
use plungeline::physics::air_water::*;
use plungeline::physics::river_temp::{
    LOGISTIC_LOWLAND, LOGISTIC_REGULATED, LOGISTIC_SNOW_FED, LOWLAND, RiverDay, RiverTemp, SNOW_FED,
};
use plungeline::physics::water::{MAX_DENSITY_TEMP_DEGC, water_density_kg_m3};
use plungeline::series::Daily;

use crate::published::row;

#[test]
fn water_density_agrees_with_iapws_and_unesco() {
    for (id, temp_degc) in [
        ("P1-RHO-0", 0.0),
        ("P1-RHO-4", 4.0),
        ("P1-RHO-10", 10.0),
        ("P1-RHO-15", 15.0),
        ("P1-RHO-20", 20.0),
        ("P1-RHO-25", 25.0),
        ("P1-RHO-30", 30.0),
        ("P1-EOS-5", 5.0),
        ("P1-EOS-25", 25.0),
    ] {
        row(id).assert(&[water_density_kg_m3(temp_degc)]);
    }
}

#[test]
fn water_is_densest_at_the_published_temperature() {
    row("P1-TMD").assert(&[MAX_DENSITY_TEMP_DEGC]);
    let slope = |t: f64| water_density_kg_m3(t + 1e-3) - water_density_kg_m3(t - 1e-3);
    let densest = plungeline::math::roots::bisect(slope, 1.0, 8.0, 1e-6).unwrap();
    row("P1-TMD").assert(&[densest]);
}

fn moment(air_temp_degc: f64, water_temp_degc: f64, year_frac: f64) -> Moment {
    Moment {
        air_temp_degc,
        water_temp_degc,
        year_frac,
    }
}

#[test]
fn the_lake_equation_has_the_published_right_side() {
    row("P7-Z8-RATE").assert(&[ZURICH_8.slope_degc_per_day(moment(20.0, 18.0, 0.5))]);
    row("P7-C8-RATE").assert(&[CONSTANCE_8.slope_degc_per_day(moment(5.0, 10.0, 0.85))]);
    row("P7-Z4-RATE").assert(&[ZURICH_4.slope_degc_per_day(moment(20.0, 18.0, 0.5))]);
}

#[test]
fn the_notation_of_2013_is_understood() {
    // Piccolroaz et al. 2013, Table 2, satellite set.
    let set = AirWater::from_2013_notation(
        &[0.0175, 0.467, 0.0230, 0.00655, -0.00257, 3.50, 13.32, 0.44],
        4.0,
    );
    row("P7-HESS").assert(&[set.slope_degc_per_day(moment(18.0, 12.0, 0.6))]);
    row("P7-MAP").assert(&[set.a3_per_day]);
}

#[test]
fn the_depth_regression_gives_the_published_first_guess() {
    let guess = AirWater::first_guess_4(20.0, 4.0);
    row("P7-REG20-a1").assert(&[guess.a1_degc_per_day]);
    row("P7-REG20-a2").assert(&[guess.a2_per_day]);
    row("P7-REG20-a3").assert(&[guess.a3_per_day]);
    row("P7-REG20-a4").assert(&[guess.a4_degc]);
}

/// Days and their share of a 365-day year, for the periodic runs.
fn periodic_days(years: usize, mean_degc: f64) -> (Vec<f64>, Vec<f64>) {
    (0..years * 365)
        .map(|day| {
            let t = day as f64;
            (mean_degc - 10.0 * (TAU * (t - 20.0) / 365.0).cos(), t / 365.0)
        })
        .unzip()
}

#[test]
fn periodic_air_leads_to_the_published_extremes_of_the_lake() {
    let (air, year) = periodic_days(6, 10.0);
    for (name, set) in [
        ("Zurich8", ZURICH_8),
        ("Sparkling8", SPARKLING_8),
        ("Constance8", CONSTANCE_8),
        ("Zurich4", ZURICH_4),
    ] {
        let sixth = &set.run_degc(8.0, &air, &year)[5 * 365..];
        row(&format!("P7-{name}-MAX")).assert(&[sixth.iter().copied().fold(f64::MIN, f64::max)]);
        row(&format!("P7-{name}-MIN")).assert(&[sixth.iter().copied().fold(f64::MAX, f64::min)]);
    }
}

#[test]
fn the_river_equation_has_the_published_right_side_and_equilibria() {
    let day = |air_temp_degc, discharge_ratio, year_frac| RiverDay {
        air_temp_degc,
        discharge_ratio,
        year_frac,
    };
    row("P6-RIV-RATE").assert(&[LOWLAND.slope_degc_per_day(day(15.0, 0.8, 0.5), 12.0)]);
    row("P6-RIV-EQ").assert(&[LOWLAND.equilibrium_degc(day(15.0, 1.0, 0.55))]);
    row("P6-RIV-EQS").assert(&[SNOW_FED.equilibrium_degc(day(15.0, 1.0, 0.55))]);
}

#[test]
fn periodic_air_leads_to_the_published_extreme_of_the_river() {
    let (air, year) = periodic_days(3, 9.0);
    let days: Vec<RiverDay> = air
        .iter()
        .zip(&year)
        .map(|(&air_temp_degc, &year_frac)| RiverDay {
            air_temp_degc,
            discharge_ratio: 1.0,
            year_frac,
        })
        .collect();
    let third = &LOWLAND.run_degc(8.0, &days)[2 * 365..];
    row("P6-RIV-CYC").assert(&[third.iter().copied().fold(f64::MIN, f64::max)]);
}

#[test]
fn the_logistic_river_has_the_published_values() {
    row("P6-MOH-N").assert(&[LOGISTIC_LOWLAND.river_temp_degc(10.0)]);
    row("P6-MOH-N2").assert(&[LOGISTIC_LOWLAND.river_temp_degc(20.0)]);
    row("P6-MOH-R").assert(&[LOGISTIC_REGULATED.river_temp_degc(10.0)]);
    row("P6-MOH-S").assert(&[LOGISTIC_SNOW_FED.river_temp_degc(20.0)]);
}

/// Daily means by date of a recorded table: `time,...` with the value in column `value`, of rows that
/// `keep` takes.
fn recorded_daily(path: &std::path::Path, value: usize, keep: impl Fn(&csv::StringRecord) -> bool) -> Daily {
    let file = std::fs::File::open(path).unwrap();
    let mut reader = csv::Reader::from_reader(flate2::read::GzDecoder::new(file));
    let mut sums: std::collections::BTreeMap<NaiveDate, (f64, u32)> = std::collections::BTreeMap::new();
    for record in reader.records().map(Result::unwrap).filter(keep) {
        let date: NaiveDate = record[0][..10].parse().unwrap();
        let slot = sums.entry(date).or_default();
        *slot = (slot.0 + record[value].parse::<f64>().unwrap(), slot.1 + 1);
    }
    let first = *sums.keys().next().unwrap();
    let last = *sums.keys().next_back().unwrap();
    let dates = first.iter_days().take_while(|d| *d <= last);
    Daily::new(
        first,
        dates
            .map(|d| sums.get(&d).map(|(sum, n)| sum / f64::from(*n)))
            .collect(),
    )
}

fn between(series: &Daily, from: i32, to: i32) -> Daily {
    let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
    series.slice(date(from, 1, 1), date(to, 12, 31)).unwrap()
}

fn rmse(pairs: impl Iterator<Item = (f64, f64)>) -> f64 {
    let squares: Vec<f64> = pairs.map(|(a, b)| (a - b).powi(2)).collect();
    (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
}

fn year_frac(date: NaiveDate) -> f64 {
    (f64::from(date.ordinal0()) + 0.5) / if date.leap_year() { 366.0 } else { 365.0 }
}

/// Erken (recorded data): fitted to 2000-2009, judged on 2010-2015, against the day-of-year mean of the
/// fitting years. Published MAE on 14 lakes is about 1 degC (Piccolroaz 2016), RMSE of single lakes 0.8 to
/// 1.3 degC (Toffolon et al. 2014): 1.8 degC leaves room for a lake with ice, which the equation ignores.
#[test]
fn on_a_recorded_lake_the_fit_beats_the_day_of_year_mean_out_of_sample() {
    let Some(temperature) = crate::validation::data("lakes/erken/temperature.csv.gz") else {
        return;
    };
    let Some(weather) = crate::validation::data("lakes/erken/weather.csv.gz") else {
        return;
    };
    let observed = recorded_daily(&temperature, 2, |r| r[1].parse::<f64>().unwrap() <= 1.5);
    let air = recorded_daily(&weather, 1, |_| true);
    let air_values: Vec<f64> = air.value.iter().map(|v| v.unwrap()).collect();
    let known = between(&observed, 2000, 2009);
    let judged = between(&observed, 2010, 2015);
    // Volume over area of lakes/erken/hypsography.csv is 9.0 m by the trapezoid rule.
    let depth = MeanDepth {
        depth_m: 9.0,
        assumed: false,
    };
    let fit_air = &air_values[..air.index(NaiveDate::from_ymd_opt(2009, 12, 31).unwrap()).unwrap() + 1];
    let years: Vec<f64> = air
        .first
        .iter_days()
        .take(air_values.len())
        .map(year_frac)
        .collect();
    let mut by_day: Vec<Vec<f64>> = vec![Vec::new(); 366];
    for (i, value) in known
        .value
        .iter()
        .enumerate()
        .filter_map(|(i, v)| v.map(|v| (i, v)))
    {
        by_day[known.date(i).ordinal0() as usize].push(value);
    }
    let mean_near = |date: NaiveDate| {
        let near = (0..31).flat_map(|off| &by_day[(date.ordinal0() as usize + 366 + off - 15) % 366]);
        let (sum, n) = near.fold((0.0, 0), |(s, n), v| (s + v, n + 1));
        sum / f64::from(n)
    };
    let pairs = |of: &dyn Fn(usize) -> f64| {
        let days = (0..judged.value.len()).filter_map(|i| judged.value[i].map(|v| (i, v)));
        rmse(days.map(|(i, v)| (of(i), v)).collect::<Vec<_>>().into_iter())
    };
    let climatology_rmse = pairs(&|i| mean_near(judged.date(i)));
    let model_rmse = |known: &Daily| {
        let fitted = fit_surface(air.first, fit_air, known, depth).unwrap();
        let run = fitted.best.run_degc(2.0, &air_values, &years);
        (pairs(&|i| run[air.index(judged.date(i)).unwrap()]), fitted)
    };
    let (fitted_rmse, fitted) = model_rmse(&known);
    let (unfitted_rmse, _) = model_rmse(&Daily::new(air.first, Vec::new()));
    println!(
        "Erken surface 2010-2015: fitted {fitted_rmse:.2}, first guess {unfitted_rmse:.2}, \
         day-of-year mean {climatology_rmse:.2} degC\n{:?}\n{:?}",
        fitted.fit, fitted.best
    );
    assert!(fitted_rmse < climatology_rmse, "{fitted_rmse} {climatology_rmse}");
    assert!(fitted_rmse < 1.8, "{fitted_rmse}");
    assert!(fitted_rmse < unfitted_rmse, "{fitted_rmse} {unfitted_rmse}");
}

/// The rivers that the published sets were fitted to (recorded data; Toffolon & Piccolroaz 2015): the
/// sets reach the published RMSE of the validation years here as well, and our own fit to three of the
/// years before comes near them.
#[test]
fn on_recorded_rivers_the_published_sets_have_the_published_error() {
    // Validation RMSE: regulated 0.75 and snow-fed 0.62 degC (Toffolon & Piccolroaz 2015, 8 parameters),
    // to two digits; 0.1 more for their own solver and their own treatment of the first days.
    for (river, regime, from_year, published_rmse) in [
        ("rhone-sion", ThermalRegime::Regulated, 2005, 0.75),
        ("dischmabach-davos", ThermalRegime::SnowFed, 2010, 0.62),
    ] {
        let Some(path) = crate::validation::data(&format!("rivers/{river}/daily.csv")) else {
            return;
        };
        let mut reader = csv::Reader::from_path(path).unwrap();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let flow_m3s: Vec<f64> = rows.iter().map(|r| r[3].parse().unwrap()).collect();
        let mean_m3s = flow_m3s.iter().sum::<f64>() / flow_m3s.len() as f64;
        let dates: Vec<NaiveDate> = rows.iter().map(|r| r[0][..10].parse().unwrap()).collect();
        let days: Vec<RiverDay> = (0..rows.len())
            .map(|i| RiverDay {
                air_temp_degc: rows[i][1].parse().unwrap(),
                discharge_ratio: flow_m3s[i] / mean_m3s,
                year_frac: year_frac(dates[i]),
            })
            .collect();
        let seen: Vec<(usize, f64)> = rows
            .iter()
            .enumerate()
            .filter_map(|(i, r)| Some((i, r[2].parse().ok()?)))
            .collect();
        let judge = |set: &RiverTemp| {
            let run = set.run_degc(5.0, &days);
            rmse(
                seen.iter()
                    .filter(|(i, _)| dates[*i].year() >= from_year)
                    .map(|(i, v)| (run[*i], *v)),
            )
        };
        let published_set = judge(&published(regime));
        let end = dates.iter().position(|d| d.year() == from_year).unwrap();
        let years = &days[end - 3 * 365..end];
        let before: Vec<(usize, f64)> = seen
            .iter()
            .filter(|(i, _)| (end - 3 * 365..end).contains(i))
            .map(|(i, v)| (i - (end - 3 * 365), *v))
            .collect();
        // As another river of its kind would be met: from the lowland set.
        let stranger = judge(&published(ThermalRegime::Lowland));
        let fitted = fit_river(ThermalRegime::Lowland, years, &before).unwrap();
        let own = judge(&fitted.best);
        println!(
            "{river}: published set {published_set:.2} (published {published_rmse}), lowland set \
             {stranger:.2}, fitted from it to three years {own:.2} degC"
        );
        assert!(published_set <= published_rmse + 0.1, "{river}: {published_set}");
        assert!(own < stranger, "{river}: {own} {stranger}");
    }
}

/// Casts of a recorded lake: date, then `(depth_m, temp_degc)` downward.
fn recorded_casts(path: &std::path::Path) -> Vec<(NaiveDate, Vec<(f64, f64)>)> {
    let mut casts: Vec<(NaiveDate, Vec<(f64, f64)>)> = Vec::new();
    for record in csv::Reader::from_path(path)
        .unwrap()
        .records()
        .map(Result::unwrap)
    {
        let Ok(temp_degc) = record[2].parse::<f64>() else {
            continue;
        };
        let date: NaiveDate = record[0][..10].parse().unwrap();
        if casts.last().is_none_or(|(d, _)| *d != date) {
            casts.push((date, Vec::new()));
        }
        casts
            .last_mut()
            .unwrap()
            .1
            .push((record[1].parse().unwrap(), temp_degc));
    }
    casts
}

/// Error of the rule-of-thumb profile given the measured surface, and of a lake taken for mixed, over
/// casts whose last 330 days have no hole of more than 75 days.
fn thumb_rmse(casts: &[(NaiveDate, Vec<(f64, f64)>)]) -> (f64, f64) {
    let surface: Vec<(f64, f64)> = casts
        .iter()
        .filter(|(_, cast)| cast[0].0 <= 2.0)
        .map(|(date, cast)| (f64::from(date.num_days_from_ce()), cast[0].1))
        .collect();
    let (mut thumb, mut mixed) = (Vec::new(), Vec::new());
    for (date, cast) in casts
        .iter()
        .filter(|(_, cast)| cast.len() >= 4 && cast[0].0 <= 2.0)
    {
        let today = f64::from(date.num_days_from_ce());
        let year: Vec<(f64, f64)> = surface
            .iter()
            .copied()
            .filter(|(d, _)| *d >= today - 400.0 && *d <= today)
            .collect();
        let reaches = year[0].0 <= today - 329.0 && year.windows(2).all(|w| w[1].0 - w[0].0 <= 75.0);
        if !reaches {
            continue;
        }
        let history: Vec<f64> = (0..330)
            .map(|i| linear_pairs(&year, today - 329.0 + f64::from(i)).unwrap())
            .collect();
        let shape = ThumbProfile::of(&SeasonState::at_end_of(&history).unwrap(), cast[0].1);
        let depth_m: Vec<f64> = cast.iter().map(|c| c.0).collect();
        let profile = thumb_profile_degc(&shape, &depth_m);
        thumb.extend(profile.into_iter().zip(cast.iter().map(|c| c.1)));
        mixed.extend(cast.iter().map(|c| (cast[0].1, c.1)));
    }
    assert!(thumb.len() > 1000, "{}", thumb.len());
    (rmse(thumb.into_iter()), rmse(mixed.into_iter()))
}

/// Two recorded reservoirs. The rule of thumb has no source and is spread by 30 % in depth; 3 degC is
/// what that means in a thermocline of 1 degC a metre at 10 m. This is the reference for the column network.
#[test]
fn on_recorded_reservoirs_the_rule_of_thumb_knows_deep_water_from_the_surface() {
    for lake in ["rappbode", "sau"] {
        let file = format!("lakes/{lake}-reservoir/temperature.csv");
        let Some(path) = crate::validation::data(&file) else {
            return;
        };
        let (thumb, mixed) = thumb_rmse(&recorded_casts(&path));
        println!("{lake}: rule of thumb {thumb:.2}, mixed lake {mixed:.2} degC");
        assert!(thumb < 3.0 && thumb < 0.6 * mixed, "{lake}: {thumb} {mixed}");
    }
}
