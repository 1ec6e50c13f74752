//! Autumns of a record, year by year.

use chrono::{Datelike as _, NaiveDate};

use super::criterion::{Autumn, MixDay, Mixing, last_layered, mixing_after, most_stable};
use crate::math::quantiles::median;

/// Share of the usual depth of soundings that a profile must reach to tell of the bottom (project choice).
const DEEP_ENOUGH_FRAC: f64 = 0.8;

/// Which months a year of stratification has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hemisphere {
    /// From January to December.
    North,
    /// From July to June; named after the year in which it ends.
    South,
}

impl Hemisphere {
    /// That of a latitude.
    pub fn of_latitude(latitude_deg: f64) -> Hemisphere {
        match latitude_deg < 0.0 {
            true => Hemisphere::South,
            false => Hemisphere::North,
        }
    }

    /// The year of stratification that a day belongs to.
    pub fn year_of(self, day: NaiveDate) -> i32 {
        match self {
            Hemisphere::South if day.month() >= 7 => day.year() + 1,
            _ => day.year(),
        }
    }
}

/// What is known of the turnover of each year; years without a stratification are not there. Days stand in the order of time. Of a year that was
/// not seen to end its own days count alone: what is layered in the next may be the next summer.
pub fn autumns(columns: &[MixDay], hemisphere: Hemisphere) -> Vec<(i32, Autumn)> {
    columns
        .chunk_by(move |a, b| hemisphere.year_of(a.day) == hemisphere.year_of(b.day))
        .filter_map(|year| {
            let peak = most_stable(year)?;
            let found = match mixing_after(columns, peak) {
                Some(mixing) => Autumn {
                    last_stratified: mixing.last_stratified,
                    first_mixed: Some(mixing.first_mixed),
                },
                None => Autumn {
                    last_stratified: last_layered(year, peak)?,
                    first_mixed: None,
                },
            };
            Some((hemisphere.year_of(year[0].day), found))
        })
        .collect()
}

/// The turnovers of the years whose record shows one.
pub fn mixings(columns: &[MixDay], hemisphere: Hemisphere) -> Vec<(i32, Mixing)> {
    let seen = |(year, autumn): (i32, Autumn)| {
        let mixing = autumn.first_mixed.map(|first_mixed| Mixing {
            last_stratified: autumn.last_stratified,
            first_mixed,
        });
        Some((year, mixing?))
    };
    autumns(columns, hemisphere)
        .into_iter()
        .filter_map(seen)
        .collect()
}

/// Columns of the profiles that reach near the bottom. A profile is its day, depths (m, increasing) and temperatures (degC), both of shape
/// `[depth]`.
pub fn deep_columns<'p>(
    profiles: impl Iterator<Item = (NaiveDate, &'p [f64], &'p [f64])> + Clone,
) -> Vec<MixDay> {
    let deepest = |(_, depth_m, _): (NaiveDate, &[f64], &[f64])| depth_m.last().copied();
    let all_m: Vec<f64> = profiles.clone().filter_map(deepest).collect();
    let Some(usual_m) = median(&all_m) else {
        return Vec::new();
    };
    profiles
        .filter(|profile| deepest(*profile).is_some_and(|z| z >= DEEP_ENOUGH_FRAC * usual_m))
        .filter_map(|(day, depth_m, temp_degc)| MixDay::of(day, depth_m, temp_degc))
        .collect()
}
