//! Where the lake stands in its year, read from the history of its surface.

use crate::physics::water::{MAX_DENSITY_TEMP_DEGC, water_density_kg_m3};

/// Days over which the winter's surface is averaged: what the deep water keeps.
const WINTER_MEAN_DAYS: usize = 30;
/// Fewest values in such a mean.
const WINTER_MEAN_FEWEST: usize = 10;
/// Fewest values in a year from which its winter minimum is believed.
const YEAR_FEWEST: usize = 200;
/// How far back the last winter's minimum is looked for: the running mean of February is then inside
/// until December (common practice, no source).
const LOOK_BACK_DAYS: usize = 300;
/// The lake has stratified when its surface is lighter than the deep water by this: the difference below
/// which a column counts as mixed (Woolway et al. 2021, from memory). It is 2.7 degC over deep water of 5
/// degC, and 1.4 degC over 8 degC.
const STRATIFIED_KG_M3: f64 = 0.1;
/// Days over which the summer's peak is averaged: a warm skin of a day makes no mixed layer.
const PEAK_DAYS: usize = 7;

/// Where the lake stands in its year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonState {
    /// Lowest 30-day mean of the surface since last winter: the deep water was left at it, though not
    /// below the temperature of greatest density.
    pub winter_degc: f64,
    /// Days since the surface last was not lighter than that by 0.1 kg/m3; 0 where
    /// the lake has not stratified yet.
    pub stratified_days: f64,
    /// Highest 7-day mean of the surface since then.
    pub peak_degc: f64,
}

impl SeasonState {
    /// The state at the end of `surface_degc`, shape `[day]`. `None` for fewer than 60 days, from which
    /// last winter cannot be told.
    pub fn at_end_of(surface_degc: &[f64]) -> Option<SeasonState> {
        let history = &surface_degc[surface_degc
            .len()
            .saturating_sub(LOOK_BACK_DAYS + WINTER_MEAN_DAYS)..];
        if history.len() < 2 * WINTER_MEAN_DAYS {
            return None;
        }
        let today = *history.last()?;
        let means = running_mean(history, WINTER_MEAN_DAYS);
        let (offset, minimum) = means.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?;
        let winter_degc = minimum.max(MAX_DENSITY_TEMP_DEGC);
        let winter_end = offset + WINTER_MEAN_DAYS - 1;
        let since = &history[winter_end..];
        let weeks = running_mean(since, PEAK_DAYS.min(since.len()));
        let peak = weeks.iter().copied().max_by(f64::total_cmp)?;
        // A surface that is no lighter than the deep water has been stirred down to it, in a cold spell of
        // spring as at the end of autumn.
        let last_mixed = since
            .iter()
            .rposition(|t| water_density_kg_m3(winter_degc) - water_density_kg_m3(*t) < STRATIFIED_KG_M3)
            .unwrap_or(0);
        Some(SeasonState {
            winter_degc,
            stratified_days: (since.len() - 1 - last_mixed) as f64,
            peak_degc: peak.max(today),
        })
    }
}

/// Means over `days` days ending at each day from the `days`-th on.
fn running_mean(temp_degc: &[f64], days: usize) -> Vec<f64> {
    temp_degc
        .windows(days.max(1))
        .map(|w| w.iter().sum::<f64>() / w.len() as f64)
        .collect()
}

/// Mean over the years of the lowest 30-day mean in each 365 days. `None` when no year has 200 values.
pub(super) fn winter_minimum_degc(values: &[Option<f64>]) -> Option<f64> {
    let minima: Vec<f64> = values
        .chunks(365)
        .filter(|year| year.iter().flatten().count() >= YEAR_FEWEST)
        .filter_map(|year| {
            let means = year.windows(WINTER_MEAN_DAYS).filter_map(|window| {
                let known: Vec<f64> = window.iter().copied().flatten().collect();
                (known.len() >= WINTER_MEAN_FEWEST).then(|| known.iter().sum::<f64>() / known.len() as f64)
            });
            means.min_by(f64::total_cmp)
        })
        .collect();
    crate::math::quantiles::mean(&minima)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Surface of a lake that runs from 8 degC on 1 February to 25 degC on 2 August.
    fn year(until: usize) -> Vec<f64> {
        (0..until)
            .map(|day| 16.5 - 8.5 * (TAU * (day as f64 - 31.0) / 365.0).cos())
            .collect()
    }

    #[test]
    fn late_july_lies_months_after_the_spring() {
        let state = SeasonState::at_end_of(&year(365 + 205)).unwrap();
        assert!((8.0..8.3).contains(&state.winter_degc), "{state:?}");
        // Lighter than water of 8.1 degC by 0.1 kg/m3 is 9.5 degC (Tanaka et al. 2001). 16.5 - 8.5 cos(2 pi d
        // / 365) passes that 35 days after 1 February, and day 205 of the year less 31 and 35 is 139 days.
        assert!((state.stratified_days - 139.0).abs() < 4.0, "{state:?}");
        assert!(state.peak_degc > 24.5, "{state:?}");
    }

    #[test]
    fn a_lake_at_its_coldest_is_mixed() {
        let state = SeasonState::at_end_of(&year(2 * 365 + 31)).unwrap();
        // Last summer's layers are 300 days old and more: what is left is deep water warmer than the surface.
        assert!(state.winter_degc < 8.5 && state.peak_degc < 25.1, "{state:?}");
        let shape = super::super::profile::ThumbProfile::of(&state, 8.05);
        let profile = super::super::profile::thumb_profile_degc(&shape, &[0.0, 20.0, 60.0]);
        assert_eq!(profile, vec![8.05; 3]);
    }

    #[test]
    fn the_summer_is_remembered_in_autumn() {
        let state = SeasonState::at_end_of(&year(365 + 282)).unwrap();
        assert!(
            state.peak_degc > 24.5 && state.stratified_days > 180.0,
            "{state:?}"
        );
    }

    #[test]
    fn a_history_of_weeks_tells_nothing_of_winter() {
        assert_eq!(SeasonState::at_end_of(&year(59)), None);
        assert_eq!(winter_minimum_degc(&vec![Some(5.0); 100]), None);
    }
}
