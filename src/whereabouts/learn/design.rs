//! From rows to what the search sums over.

use std::collections::BTreeMap;

use chrono::Datelike;

use super::FitError;
use super::layout::Layout;
use super::options::{FitOptions, MARKS_K};
use super::rows::{Effort, LeftOut, LeftOutReason, Morning, SpeciesRows, TripRows};
use super::share::ShareDesign;
use crate::species::Species;
use crate::trips::Reason;

/// One count: `ln mu = offset + sum x z + ln share`.
#[derive(Debug, Clone, PartialEq)]
pub struct CountRow {
    /// Index of the zone among the open ones of its morning.
    pub zone: usize,
    /// Fish or marks.
    pub count: f64,
    /// Logarithm of hours, and of what is at its prior mean.
    pub offset: f64,
    /// Scaled numbers by place, but for the rules, which act through the share.
    pub by_place: Vec<(usize, f64)>,
    /// Places whose scale is the spread of places.
    pub places: Vec<usize>,
    /// Dispersion.
    pub k: RowK,
}

/// The dispersion of a count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RowK {
    /// Held at this.
    Held(f64),
    /// `exp(mean + scale z)` of the parameter there.
    Fitted {
        /// Place.
        place: usize,
        /// Prior mean of its logarithm.
        mean: f64,
        /// Scale.
        scale: f64,
    },
}

/// One trip of one species.
#[derive(Debug, Clone, PartialEq)]
pub struct TripDesign {
    /// Index of the trip among the rows given.
    pub trip: usize,
    /// Weight by age.
    pub weight: f64,
    /// Part of the trip's curvature that counts beside the other trips of its week.
    pub week_weight: f64,
    /// Shares of the morning.
    pub share: ShareDesign,
    /// Counts.
    pub rows: Vec<CountRow>,
}

/// What a species brings to a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeciesDesign {
    /// Trips with a part in it.
    pub trips: Vec<TripDesign>,
    /// Rows without.
    pub left_out: Vec<LeftOut>,
}

/// Where the parameters of a species stand among all, with what is known of them before.
pub struct Frame<'a> {
    /// Parameters of the species.
    pub layout: &'a Layout,
    /// Place of each among all.
    pub place: &'a [usize],
    /// Prior mean and scale of each.
    pub priors: &'a [(f64, f64)],
    /// Dispersion of catches.
    pub dispersion: RowK,
}

/// The design of one species; `frame` says where its parameters stand.
pub fn species_design(
    rows: &SpeciesRows<'_>,
    frame: &Frame<'_>,
    options: &FitOptions,
) -> Result<SpeciesDesign, FitError> {
    let mut design = SpeciesDesign {
        trips: Vec::new(),
        left_out: Vec::new(),
    };
    for (index, trip) in rows.trips.iter().enumerate() {
        check_trip(rows.species, trip)?;
        let counts = count_rows(rows.species, trip, frame, options, &mut design.left_out);
        if counts.is_empty() {
            continue;
        }
        let age_days = (options.as_of - trip.date).num_days().max(0) as f64;
        design.trips.push(TripDesign {
            trip: index,
            weight: options
                .half_life_days
                .map_or(1.0, |half| 0.5_f64.powf(age_days / half)),
            week_weight: 1.0,
            share: share_design(rows, &trip.morning, frame),
            rows: counts,
        });
    }
    let week = |d: &TripDesign| {
        let week = rows.trips[d.trip].date.iso_week();
        (week.year(), week.week())
    };
    let mut trips_of: BTreeMap<(i32, u32), f64> = BTreeMap::new();
    design
        .trips
        .iter()
        .for_each(|d| *trips_of.entry(week(d)).or_default() += 1.0);
    for trip in &mut design.trips {
        trip.week_weight = 1.0 / (1.0 + (trips_of[&week(trip)] - 1.0) * options.week_correlation);
    }
    Ok(design)
}

/// The shares of a morning for the parameters of `frame`.
pub fn share_design(rows: &SpeciesRows<'_>, morning: &Morning, frame: &Frame<'_>) -> ShareDesign {
    let species = rows.species;
    let open: Vec<&[f64]> = morning
        .zones
        .iter()
        .filter(|z| !z.closed)
        .map(|z| &z.response[..])
        .collect();
    let speaking: Vec<usize> = (0..species.rules.len())
        .filter(|k| open.iter().any(|r| r[*k] != 0.0))
        .collect();
    let scaled = |r: &[f64]| -> Vec<f64> { speaking.iter().map(|k| r[*k] * frame.priors[*k].1).collect() };
    let at_prior = |r: &[f64], rest: bool| -> f64 {
        let follows = |k: &&usize| !(rest && species.rules[**k].mature_only);
        speaking
            .iter()
            .filter(follows)
            .map(|k| r[*k] * frame.priors[*k].0)
            .sum()
    };
    let main = vec![0.0; speaking.len()];
    let differs = speaking.iter().any(|k| species.rules[*k].mature_only);
    ShareDesign {
        response: std::iter::once(main)
            .chain(open.iter().map(|r| scaled(r)))
            .flatten()
            .collect(),
        offset: std::iter::once(0.0)
            .chain(open.iter().map(|r| at_prior(r, false)))
            .collect(),
        rest_offset: std::iter::once(0.0)
            .chain(open.iter().map(|r| at_prior(r, true)))
            .collect(),
        mature_only: speaking.iter().map(|k| species.rules[*k].mature_only).collect(),
        mature_frac: rows.mature_frac.filter(|_| differs),
        speaks: speaking.iter().map(|k| frame.place[*k]).collect(),
    }
}

fn count_rows(
    species: &Species,
    trip: &TripRows,
    frame: &Frame<'_>,
    options: &FitOptions,
    left_out: &mut Vec<LeftOut>,
) -> Vec<CountRow> {
    let mut found = Vec::new();
    let open: Vec<_> = trip.morning.open_zones().collect();
    let mut place_of = |zone: &crate::lake::ZoneId, by_report: bool| {
        let at = open.iter().position(|z| *z == zone).filter(|_| !by_report);
        if at.is_none() {
            let closed = trip.morning.zones.iter().any(|z| &z.zone == zone && z.closed);
            left_out.push(LeftOut {
                trip: trip.trip.clone(),
                zone: zone.clone(),
                reason: match (by_report, closed) {
                    (true, _) => LeftOutReason::ReportDriven,
                    (false, true) => LeftOutReason::ClosedZone,
                    (false, false) => LeftOutReason::UnknownZone,
                },
            });
        }
        at
    };
    for effort in &trip.efforts {
        let by_report = !options.with_reports && effort.reason == Some(Reason::Report);
        let Some(zone) = place_of(&effort.zone, by_report) else {
            continue;
        };
        found.push(catch_row(species, effort, zone, frame));
    }
    for marks in trip.marks.iter().filter(|_| options.with_marks) {
        let Some(zone) = place_of(&marks.zone, false) else {
            continue;
        };
        let Some(rate) = frame.layout.marks(marks.kind) else {
            continue;
        };
        let (mean, scale) = frame.priors[rate];
        found.push(CountRow {
            zone,
            count: f64::from(marks.count),
            offset: marks.watched_h.ln() + mean,
            by_place: vec![(frame.place[rate], scale)],
            places: Vec::new(),
            k: RowK::Held(MARKS_K),
        });
    }
    found
}

fn catch_row(species: &Species, effort: &Effort, zone: usize, frame: &Frame<'_>) -> CountRow {
    let layout = frame.layout;
    let rate = layout.rate();
    let mut offset = effort.effort_h.ln() + frame.priors[rate].0;
    let mut by_place = vec![(frame.place[rate], frame.priors[rate].1)];
    for (term, response) in effort
        .catch_response
        .iter()
        .enumerate()
        .filter(|(_, x)| **x != 0.0)
    {
        let at = species.rules.len() + term;
        let (mean, scale) = frame.priors[at];
        offset += response * mean;
        by_place.push((frame.place[at], response * scale));
    }
    let stretch = effort
        .stretch
        .as_ref()
        .and_then(|s| layout.stretch(&effort.zone, s));
    let places = layout.zone(&effort.zone).into_iter().chain(stretch);
    CountRow {
        zone,
        count: f64::from(effort.catch),
        offset,
        by_place,
        places: places.map(|p| frame.place[p]).collect(),
        k: frame.dispersion,
    }
}

fn check_trip(species: &Species, trip: &TripRows) -> Result<(), FitError> {
    let shape = |what: &'static str, found: usize, wanted: usize| {
        (found != wanted).then(|| FitError::Shape {
            species: species.id.clone(),
            trip: trip.trip.clone(),
            what,
            found,
            wanted,
        })
    };
    let number = |what: &'static str, value: f64, fits: bool, wanted: &'static str| {
        (!fits).then(|| FitError::Number {
            species: species.id.clone(),
            trip: trip.trip.clone(),
            what,
            value,
            wanted,
        })
    };
    let hours = |what, h: f64| number(what, h, h > 0.0 && h.is_finite(), "a number above 0");
    let response = |x: &f64| number("a response", *x, x.is_finite(), "a finite number");
    let zones = trip.morning.zones.iter();
    let faults = zones.flat_map(|z| {
        let of_shape = shape("responses of rules", z.response.len(), species.rules.len());
        of_shape.into_iter().chain(z.response.iter().filter_map(response))
    });
    let of_efforts = trip.efforts.iter().flat_map(|e| {
        let of_shape = shape(
            "responses of catchability",
            e.catch_response.len(),
            species.catchability.len(),
        );
        let of_hours = hours("rod-hours", e.effort_h);
        of_shape
            .into_iter()
            .chain(of_hours)
            .chain(e.catch_response.iter().filter_map(response))
    });
    let of_marks = trip
        .marks
        .iter()
        .filter_map(|m| hours("hours of sonar", m.watched_h));
    match faults.chain(of_efforts).chain(of_marks).next() {
        Some(fault) => Err(fault),
        None => Ok(()),
    }
}
