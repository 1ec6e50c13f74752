//! What drives the turnover outlook, in words.

use crate::faces::reader::{Reader, percent, rounded};
use crate::reports::{OutlookDrivers, RunContrast};

/// What drives the outlook.
pub fn drivers(drivers: &OutlookDrivers, reader: &Reader) -> Vec<String> {
    let mut said = Vec::new();
    let stands = match drivers.below_full_m {
        below_m if below_m >= 0.0 => format!("{} below full pool", reader.length(below_m)),
        below_m => format!("{} above full pool", reader.length(-below_m)),
    };
    let usual = drivers.level_percentile_frac.map_or_else(String::new, |share| {
        format!(", higher than in {} of years at this date", percent(share))
    });
    said.push(format!(
        "Level: {stands}{usual}. A low pool has less cold water to warm through and mixes earlier."
    ));
    let flows: Vec<String> = drivers
        .inflows
        .iter()
        .map(|inflow| {
            let mean = inflow.mean_m3s.map_or_else(String::new, |mean| {
                format!(", {} of its yearly mean", percent(inflow.discharge_m3s / mean))
            });
            format!("{} {}{mean}", inflow.name, reader.discharge(inflow.discharge_m3s))
        })
        .collect();
    if !flows.is_empty() {
        let residence = drivers.residence_days.map_or_else(String::new, |days| {
            format!(" The lake holds {} days of its release.", rounded(days, 0))
        });
        said.push(format!(
            "Inflow: {}.{residence} Cold rivers that sink keep the bottom cold and the lake stratified longer; floods stir it.",
            flows.join("; ")
        ));
    }
    if let Some(rate) = drivers.cooling_degc_per_day {
        said.push(format!(
            "Recent cooling: the surface has moved by {} a day over two weeks.",
            reader.temp_change(rate)
        ));
    }
    let effect = |of: &RunContrast| {
        if of.is_told() {
            let way = if of.later_days > 0.0 { "later" } else { "earlier" };
            format!("turned over {} days {way}", rounded(of.later_days.abs(), 0))
        } else {
            "turned over neither earlier nor later than chance would have it".to_owned()
        }
    };
    if let Some(warmth) = &drivers.warmth {
        let effect = effect(warmth);
        said.push(format!(
            "Warmth to come: against the coldest third of the runs the warmest {effect}."
        ));
    }
    if let Some(wind) = &drivers.wind {
        let effect = effect(wind);
        said.push(format!(
            "Wind to come: against the calmest third of the runs the windiest {effect}."
        ));
    }
    said
}
