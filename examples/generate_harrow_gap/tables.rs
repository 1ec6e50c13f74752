//! Tables of the truth for docs/demonstration-lake.md.

use std::fmt::Write as _;

use chrono::NaiveDate;
use plungeline::physics::water::water_density_kg_m3;
use plungeline::units::{M_PER_FT, M3_PER_ACRE_FT, M3S_PER_CFS, degf_from_degc};

use super::bowl::Bowl;
use super::hours::{date, hour_at, instant_of, season_of, standard_day_start};
use super::mornings::mornings;
use super::truth::{DEPTHS_M, Truth};

/// All tables, in Markdown.
pub fn tables(truth: &Truth, bowl: &Bowl) -> String {
    format!(
        "{}\n{}\n{}\n{}",
        morning_table(truth, bowl),
        month_table(truth),
        year_table(truth),
        turnover_table(truth)
    )
}

fn morning_table(truth: &Truth, bowl: &Bowl) -> String {
    let mut text =
        String::from("| morning | level ft | 7-day change ft | storage acre-ft | surface degF (degC) |");
    for depth_m in &DEPTHS_M[1..] {
        let _ = write!(text, " {depth_m:.0} m degC |");
    }
    text.push_str(" bed degC | Sorrel cfs | degC | FNU | Wicket cfs | degC | release cfs |\n");
    text.push_str(&"|---".repeat(DEPTHS_M.len() + 11));
    text.push_str("|\n");
    for morning in mornings() {
        let step = truth.step_of(morning.hour());
        let level_ft = |step: usize| truth.pool_m[step] / M_PER_FT;
        let surface_degc = truth.water_degc[0][step];
        let _ = write!(
            text,
            "| {} ({}) | {:.1} | {:+.1} | {:.0} | {:.1} ({surface_degc:.1}) |",
            morning.day,
            morning.what,
            level_ft(step),
            level_ft(step) - level_ft(step - 168),
            bowl.volume_m3(truth.pool_m[step]) / M3_PER_ACRE_FT,
            degf_from_degc(surface_degc),
        );
        for series in &truth.water_degc[1..] {
            let _ = write!(text, " {:.1} |", series[step]);
        }
        let _ = writeln!(
            text,
            " {:.1} | {:.0} | {:.1} | {:.1} | {:.1} | {:.1} | {:.0} |",
            truth.bottom_degc[step],
            truth.sorrel_m3s[step] / M3S_PER_CFS,
            truth.sorrel_degc[step],
            truth.sorrel_fnu[step],
            truth.wicket_m3s[step] / M3S_PER_CFS,
            truth.wicket_degc[step],
            truth.release_m3s[step] / M3S_PER_CFS,
        );
    }
    text
}

/// Means by month of 2012 to 2025; air highs and lows are of standard days.
fn month_table(truth: &Truth) -> String {
    let mut sums = [[0.0; 12]; 12];
    let mut day = date(2012, 1, 1);
    while day < date(2026, 1, 1) {
        let hour = standard_day_start(day);
        let step = truth.step_of(hour);
        let weather = &truth.weather;
        let mean = |series: &[f64]| series.iter().sum::<f64>() / 24.0;
        let air = &weather.temp_degc[hour..hour + 24];
        let row = &mut sums[season_of(hour + 12).month as usize - 1];
        let figures = [
            1.0,
            air.iter().copied().fold(f64::MIN, f64::max),
            air.iter().copied().fold(f64::MAX, f64::min),
            24.0 * mean(&weather.rain_mm[hour..hour + 24]),
            mean(&weather.wind_m_s[hour..hour + 24]),
            mean(&weather.shortwave_w_m2[hour..hour + 24]),
            mean(&truth.sorrel_m3s[step..step + 24]) / M3S_PER_CFS,
            mean(&truth.sorrel_degc[step..step + 24]),
            mean(&truth.wicket_m3s[step..step + 24]) / M3S_PER_CFS,
            mean(&truth.wicket_degc[step..step + 24]),
            mean(&truth.pool_m[step..step + 24]) / M_PER_FT,
            mean(&truth.water_degc[0][step..step + 24]),
        ];
        for (sum, figure) in row.iter_mut().zip(figures) {
            *sum += figure;
        }
        day = day.succ_opt().unwrap_or(date(2026, 1, 1));
    }
    let mut text = String::from(
        "| month | air high degC | low | rain mm | wind m/s | sun W/m2 | Sorrel cfs | degC | Wicket cfs | degC | level ft | surface degC |\n",
    );
    text.push_str(&"|---".repeat(12));
    text.push_str("|\n");
    for (month, row) in sums.iter().enumerate() {
        let of = |k: usize| row[k] / row[0];
        let _ = writeln!(
            text,
            "| {} | {:.1} | {:.1} | {:.0} | {:.1} | {:.0} | {:.0} | {:.1} | {:.0} | {:.1} | {:.0} | {:.1} |",
            month + 1,
            of(1),
            of(2),
            row[3] / 14.0,
            of(4),
            of(5),
            of(6),
            of(7),
            of(8),
            of(9),
            of(10),
            of(11)
        );
    }
    text
}

/// Range of level and surface, mean flows by calendar year.
fn year_table(truth: &Truth) -> String {
    let mut text = String::from(
        "| year | level ft, lowest | on | highest | on | Sorrel cfs | Wicket cfs | release cfs | evaporation acre-ft | surface degC, lowest | highest |\n",
    );
    text.push_str(&"|---".repeat(11));
    text.push_str("|\n");
    for year in 2012..=2025 {
        let from = truth.step_of(standard_day_start(date(year, 1, 1)));
        let to = truth.step_of(standard_day_start(date(year + 1, 1, 1)));
        let extreme = |series: &[f64], sign: f64| -> usize {
            (from..to)
                .max_by(|a, b| (sign * series[*a]).total_cmp(&(sign * series[*b])))
                .unwrap_or(from)
        };
        let mean = |series: &[f64]| series[from..to].iter().sum::<f64>() / (to - from) as f64;
        let (low, high) = (extreme(&truth.pool_m, -1.0), extreme(&truth.pool_m, 1.0));
        let day = |step: usize| instant_of(truth.first + step - 8).format("%d %b").to_string();
        let surface = &truth.water_degc[0];
        let _ = writeln!(
            text,
            "| {year} | {:.1} | {} | {:.1} | {} | {:.0} | {:.0} | {:.0} | {:.0} | {:.1} | {:.1} |",
            truth.pool_m[low] / M_PER_FT,
            day(low),
            truth.pool_m[high] / M_PER_FT,
            day(high),
            mean(&truth.sorrel_m3s) / M3S_PER_CFS,
            mean(&truth.wicket_m3s) / M3S_PER_CFS,
            mean(&truth.release_m3s) / M3S_PER_CFS,
            truth.evaporation_m3[from..to].iter().sum::<f64>() / M3_PER_ACRE_FT,
            surface[extreme(surface, -1.0)],
            surface[extreme(surface, 1.0)],
        );
    }
    text
}

/// First hour after 1 September with the surface within 0.5 degC of the bed, and the turnover as the program has it.
fn turnover_table(truth: &Truth) -> String {
    let mut text = String::from(
        "| autumn | first hour, UTC, with surface within 0.5 degC of the water at the bed | turnover, day by density |\n|---|---|---|\n",
    );
    for year in 2012..=2025 {
        let (from, to) = (
            truth.step_of(hour_at(year, 9, 1, 0)),
            truth.step_of(hour_at(year + 1, 2, 28, 0)),
        );
        let first = (from..to).find(|step| truth.water_degc[0][*step] - truth.bottom_degc[*step] < 0.5);
        let found = first.map_or("not before March".to_owned(), |step| {
            instant_of(truth.first + step)
                .format("%Y-%m-%d %H:00")
                .to_string()
        });
        let by_density = by_density(truth, year).map_or("not before March".to_owned(), |day| day.to_string());
        let _ = writeln!(text, "| {year} | {found} | {by_density} |");
    }
    text
}

/// First day on which the daily mean of the density at the bed is less than 0.1 kg/m3 above that at 5 m, and is so on at least 7 of the next 10.
fn by_density(truth: &Truth, year: i32) -> Option<NaiveDate> {
    let days = date(year, 9, 1).iter_days().take(180);
    let mixed: Vec<(NaiveDate, bool)> = days
        .map(|day| {
            let from = truth.step_of(standard_day_start(day));
            let mean = |series: &[f64]| series[from..from + 24].iter().sum::<f64>() / 24.0;
            let bed_kg_m3 = water_density_kg_m3(mean(&truth.bottom_degc));
            let difference = bed_kg_m3 - water_density_kg_m3(mean(&truth.water_degc[1]));
            (day, difference < 0.1)
        })
        .collect();
    let stays = |after: &[(NaiveDate, bool)]| after.iter().filter(|(_, mixed)| *mixed).count() >= 7;
    let found = mixed.windows(11).find(|days| days[0].1 && stays(&days[1..]))?;
    Some(found[0].0)
}
