//! The report of a lake from observations and modelled days.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};

use super::climatology::{ClimatologyRule, climatology};
use super::figures::{Figure, SURFACE_DEPTH_M, days_left_out, places};
use super::observed::{Observed, Profiles, daily_profiles};
use super::pairs::{Compared, ModelledDay, Pair, Paired, pair_up};
use super::persistence::persistence;
use super::quick::QuickSurface;
use super::report::{FigureRow, HindcastNote, HindcastPart, HindcastReport, Reference, ReferenceRow};
use super::statistics::error_figures;
use super::thermocline::{observed_thermoclines_m, thermocline_report};
use super::turnover::{Hemisphere, turnover_report};
use super::years::rmse_interval;

/// How old a profile may be to stand for today, days (project choice: a year, or what persists is another season).
const OLDEST_DAYS: u64 = 365;

/// How a hindcast is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judging {
    /// Depth down to which the shallowest observation counts as the surface.
    pub surface_depth_m: f64,
    /// How the climatology is taken.
    pub climatology: ClimatologyRule,
    /// Least ages of the profile that persists, days.
    pub persistence_days: Vec<u64>,
    /// Which months a year of stratification has.
    pub hemisphere: Hemisphere,
}

impl Default for Judging {
    /// Surface to 1 m, persistence of 1 and 14 days (project choice), the north.
    fn default() -> Self {
        Judging {
            surface_depth_m: SURFACE_DEPTH_M,
            climatology: ClimatologyRule::default(),
            persistence_days: vec![1, 14],
            hemisphere: Hemisphere::North,
        }
    }
}

/// What a report is made of.
pub struct Comparison<'a> {
    /// Lake.
    pub lake: &'a str,
    /// Whether parameters of the model were fitted to these observations.
    pub fitted: bool,
    /// Observed temperatures, in any order.
    pub temperature: &'a [Observed],
    /// Observed oxygen, in any order.
    pub oxygen: &'a [Observed],
    /// Modelled days, in the order of time.
    pub days: &'a [ModelledDay],
    /// The day that an instant belongs to, as the model's daily means have it.
    pub day_of: &'a dyn Fn(DateTime<Utc>) -> NaiveDate,
    /// The surface from air temperature alone, and whether it was fitted ([`super::quick::quick_surface`]).
    pub quick: Option<&'a QuickSurface>,
    /// How it is judged.
    pub judging: Judging,
}

/// A report and what it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Hindcast {
    /// The report.
    pub report: HindcastReport,
    /// Observed profiles of temperature.
    pub temperature: Profiles,
    /// Pairs of temperature.
    pub temperature_pairs: Paired,
    /// Pairs of oxygen; empty where it was not modelled or not observed.
    pub oxygen_pairs: Paired,
}

/// Compares modelled days with observations.
pub fn assemble_hindcast(input: &Comparison) -> Hindcast {
    let temperature = daily_profiles(input.temperature, input.day_of);
    let oxygen = daily_profiles(input.oxygen, input.day_of);
    let temperature_pairs = pair_up(&temperature, input.days, Compared::Temperature);
    let oxygen_modelled = input.days.iter().any(|d| d.oxygen_mg_l.is_some());
    let oxygen_pairs = match oxygen_modelled {
        true => pair_up(&oxygen, input.days, Compared::Oxygen),
        false => Paired::default(),
    };
    let thermocline_m = observed_thermoclines_m(&temperature.profiles);
    let part = |compared, profiles: &Profiles, paired: &Paired| HindcastPart {
        compared,
        observed: profiles.counts,
        pairs: paired.counts,
        figures: figure_rows(input, compared, profiles, &paired.pairs, &thermocline_m),
    };
    let mut parts = vec![part(Compared::Temperature, &temperature, &temperature_pairs)];
    if !oxygen_pairs.pairs.is_empty() {
        parts.push(part(Compared::Oxygen, &oxygen, &oxygen_pairs));
    }
    let report = HindcastReport {
        lake: input.lake.to_owned(),
        fitted: input.fitted,
        modelled: input
            .days
            .first()
            .map(|d| d.day)
            .zip(input.days.last().map(|d| d.day)),
        surface_depth_m: input.judging.surface_depth_m,
        parts,
        thermocline: thermocline_report(&temperature_pairs.pairs),
        turnover: turnover_report(&temperature.profiles, input.days, input.judging.hemisphere),
        notes: notes(input, oxygen_modelled),
    };
    Hindcast {
        report,
        temperature,
        temperature_pairs,
        oxygen_pairs,
    }
}

fn figure_rows(
    input: &Comparison,
    compared: Compared,
    profiles: &Profiles,
    pairs: &[Pair],
    thermocline_m: &BTreeMap<NaiveDate, f64>,
) -> Vec<FigureRow> {
    let references = references(input, compared, profiles, pairs);
    Figure::ALL
        .into_iter()
        .map(|figure| {
            let at = places(figure, pairs, thermocline_m, input.judging.surface_depth_m);
            let differences: Vec<f64> = at.iter().map(|i| pairs[*i].difference()).collect();
            let of_water = |r: &&(Reference, Vec<Option<f64>>)| {
                r.0 != Reference::QuickSurface || figure == Figure::Surface
            };
            FigureRow {
                figure,
                model: error_figures(&differences),
                interval: rmse_interval(pairs, &at),
                days_left_out: days_left_out(pairs, &at),
                references: references
                    .iter()
                    .filter(of_water)
                    .map(|(reference, value)| reference_row(*reference, value, pairs, &at))
                    .collect(),
            }
        })
        .collect()
}

/// Every reference with its value for each pair.
fn references(
    input: &Comparison,
    compared: Compared,
    profiles: &Profiles,
    pairs: &[Pair],
) -> Vec<(Reference, Vec<Option<f64>>)> {
    let profiles = &profiles.profiles;
    let rule = input.judging.climatology;
    let mut found = vec![(Reference::Climatology, climatology(profiles, pairs, rule))];
    for days in &input.judging.persistence_days {
        let values = persistence(profiles, pairs, *days, OLDEST_DAYS);
        found.push((Reference::Persistence { days: *days }, values));
    }
    if let Some(quick) = input.quick.filter(|_| compared == Compared::Temperature) {
        found.push((Reference::QuickSurface, quick.of_pairs(pairs)));
    }
    found
}

fn reference_row(reference: Reference, value: &[Option<f64>], pairs: &[Pair], at: &[usize]) -> ReferenceRow {
    let both: Vec<(f64, f64)> = at
        .iter()
        .filter_map(|i| Some((value[*i]? - pairs[*i].observed, pairs[*i].difference())))
        .collect();
    let (of_reference, of_model): (Vec<f64>, Vec<f64>) = both.into_iter().unzip();
    ReferenceRow {
        reference,
        left_out: at.len() - of_reference.len(),
        model_rmse: error_figures(&of_model).map(|f| f.rmse),
        figures: error_figures(&of_reference),
    }
}

fn notes(input: &Comparison, oxygen_modelled: bool) -> Vec<HindcastNote> {
    let quick_fitted = input.quick.is_some_and(|q| q.fit.days > 0);
    [
        (input.fitted, HindcastNote::FittedInSample),
        (input.quick.is_none(), HindcastNote::NoQuickSurface),
        (quick_fitted, HindcastNote::QuickFittedInSample),
        (
            !input.oxygen.is_empty() && !oxygen_modelled,
            HindcastNote::OxygenNotModelled,
        ),
    ]
    .into_iter()
    .filter_map(|(is, note)| is.then_some(note))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, 7, 1).unwrap()
    }

    /// Six years, each with one profile of `20 + i`, 12 and 10 degC at 0, 5 and 10 m.
    fn observed() -> Vec<Observed> {
        let mut rows = Vec::new();
        for i in 0..6 {
            let time = day(2000 + i).and_hms_opt(12, 0, 0).unwrap().and_utc();
            for (depth_m, value) in [(0.0, 20.0 + f64::from(i)), (5.0, 12.0), (10.0, 10.0)] {
                rows.push(Observed { time, depth_m, value });
            }
        }
        rows
    }

    fn modelled(warmer: f64) -> Vec<ModelledDay> {
        (0..6)
            .map(|i| ModelledDay {
                day: day(2000 + i),
                depth_m: vec![0.0, 5.0, 10.0],
                temp_degc: vec![20.0 + f64::from(i) + warmer, 12.0 + warmer, 10.0 + warmer],
                oxygen_mg_l: None,
                surface_elevation_m: 0.0,
                ice_m: 0.0,
            })
            .collect()
    }

    fn hindcast(warmer: f64) -> Hindcast {
        assemble_hindcast(&Comparison {
            lake: "invented",
            fitted: false,
            temperature: &observed(),
            oxygen: &[],
            days: &modelled(warmer),
            day_of: &|t| t.date_naive(),
            quick: None,
            judging: Judging::default(),
        })
    }

    #[test]
    fn a_model_half_a_degree_too_warm_has_that_error_everywhere() {
        let report = hindcast(0.5).report;
        for figure in [
            Figure::Surface,
            Figure::UpperFive,
            Figure::WholeProfile,
            Figure::BelowThermocline,
        ] {
            let row = report.row(Compared::Temperature, figure).unwrap();
            let model = row.model.unwrap();
            assert!(
                (model.rmse - 0.5).abs() < 1e-12 && (model.bias - 0.5).abs() < 1e-12,
                "{row:?}"
            );
        }
        assert_eq!(report.notes, [HindcastNote::NoQuickSurface]);
    }

    #[test]
    fn references_are_computed_on_the_points_of_the_figure() {
        let report = hindcast(0.0).report;
        let row = report.row(Compared::Temperature, Figure::Surface).unwrap();
        let climatology = &row.references[0];
        // By hand: surfaces 20 to 25; the mean of the other five is (135 - x)/5, so off by (135 - 6x)/5: 3, 1.8, 0.6 and
        // their opposites; squares 2 (9 + 3.24 + 0.36) / 6 = 4.2.
        assert!((climatology.figures.unwrap().rmse - 4.2f64.sqrt()).abs() < 1e-9);
        assert_eq!((climatology.left_out, climatology.model_rmse), (0, Some(0.0)));
        // A year before, each surface was 1 degC lower; the first has none before it, and 366 days are too many once.
        let persistence = &row.references[1];
        assert_eq!(persistence.left_out, 2);
        assert!((persistence.figures.unwrap().rmse - 1.0).abs() < 1e-12);
    }
}
