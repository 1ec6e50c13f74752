//! Panels of a hindcast: the modelled lake by depth and day, the observations on the same colours.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use super::colour::{ColourScale, Palette};
use super::panel::{Axis, AxisKind, FieldColumn, FieldDot, FieldLine, FieldPanel};
use crate::hindcast::thermocline::modelled_thermoclines_m;
use crate::hindcast::{Compared, ModelledDay, Pair};

/// Most profiles along the axis of time.
const MOST_PROFILES: i64 = 120;

/// What is shown up and down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YAxis {
    /// Depth below the surface of the day.
    Depth,
    /// Elevation: shows a level that moves.
    Elevation,
}

/// What is to be drawn.
#[derive(Debug, Clone, Copy)]
pub struct HindcastPicture<'a> {
    /// Modelled days, in the order of time.
    pub days: &'a [ModelledDay],
    /// Observations, of what is `compared`.
    pub pairs: &'a [Pair],
    /// What is shown.
    pub compared: Compared,
    /// What is shown up and down.
    pub y_axis: YAxis,
    /// Whether the modelled thermocline is drawn.
    pub thermocline: bool,
}

/// Longest gap that a line is drawn over, days.
const LINE_GAP_DAYS: i64 = 2;

fn ce(day: NaiveDate) -> f64 {
    f64::from(day.num_days_from_ce())
}

/// One panel of the whole run. `None` without a day on which it was modelled.
pub fn hindcast_panel(picture: &HindcastPicture) -> Option<FieldPanel> {
    let days = picture.days;
    let (first, last) = (days.first()?, days.last()?);
    let columns: Vec<FieldColumn> = days.iter().filter_map(|d| column(picture, d)).collect();
    if columns.is_empty() {
        return None;
    }
    let surface_m: BTreeMap<NaiveDate, f64> = days.iter().map(|d| (d.day, d.surface_elevation_m)).collect();
    let y_of = |day: NaiveDate, depth_m: f64| match picture.y_axis {
        YAxis::Depth => Some(depth_m),
        YAxis::Elevation => Some(surface_m.get(&day)? - depth_m),
    };
    let drawn = profile_days(picture.pairs, (last.day - first.day).num_days());
    let dots: Vec<FieldDot> = picture
        .pairs
        .iter()
        .filter(|p| drawn.contains(&p.day))
        .filter_map(|p| {
            Some(FieldDot {
                x: ce(p.day) + 0.5,
                y: y_of(p.day, p.depth_m)?,
                value: p.observed,
            })
        })
        .collect();
    let values = columns.iter().flat_map(|c| c.value.iter().copied());
    let scale = {
        let (palette, label) = match picture.compared {
            Compared::Temperature => (Palette::Viridis, "water temperature, °C"),
            Compared::Oxygen => (Palette::Cividis, "dissolved oxygen, mg/L"),
        };
        ColourScale::over(palette, label, values.chain(dots.iter().map(|d| d.value)))
    };
    let lines = match picture.thermocline {
        true => vec![line(&modelled_thermoclines_m(days), &y_of)],
        false => Vec::new(),
    };
    Some(FieldPanel {
        title: String::new(),
        y_axis: y_axis(picture.y_axis, &columns),
        columns,
        dots,
        lines,
        ice: ice(days),
        scale,
        x_axis: Axis {
            label: String::new(),
            kind: AxisKind::Day,
            from: ce(first.day),
            to: ce(last.day) + 1.0,
        },
        width_share: 1.0,
    })
}

/// Days whose observations are drawn: in a long or dense record not every day, or dots would hide each other.
fn profile_days(pairs: &[Pair], span_days: i64) -> BTreeSet<NaiveDate> {
    let mut kept: BTreeSet<NaiveDate> = BTreeSet::new();
    for pair in pairs {
        let is_near = |last: &NaiveDate| (pair.day - *last).num_days() * MOST_PROFILES < span_days;
        if !kept.last().is_some_and(is_near) {
            kept.insert(pair.day);
        }
    }
    kept
}

fn column(picture: &HindcastPicture, day: &ModelledDay) -> Option<FieldColumn> {
    let mut value = picture.compared.of(day)?.to_vec();
    let bed_m = *day.depth_m.last()?;
    let mut y = day.depth_m.clone();
    let (mut top, mut bed) = (0.0, bed_m);
    if picture.y_axis == YAxis::Elevation {
        y = y.iter().rev().map(|z| day.surface_elevation_m - z).collect();
        value.reverse();
        (top, bed) = (day.surface_elevation_m, day.surface_elevation_m - bed_m);
    }
    Some(FieldColumn {
        from: ce(day.day),
        to: ce(day.day) + 1.0,
        top,
        bed,
        y,
        value,
    })
}

fn y_axis(kind: YAxis, columns: &[FieldColumn]) -> Axis {
    let ends = || columns.iter().flat_map(|c| [c.top, c.bed]);
    let least = ends().fold(f64::INFINITY, f64::min);
    let greatest = ends().fold(f64::NEG_INFINITY, f64::max);
    let (label, from, to) = match kind {
        YAxis::Depth => ("depth, m", 0.0, greatest),
        YAxis::Elevation => ("elevation, m", greatest, least),
    };
    Axis {
        label: label.to_owned(),
        kind: AxisKind::Number,
        from,
        to,
    }
}

fn line(depth_m: &BTreeMap<NaiveDate, f64>, y_of: &dyn Fn(NaiveDate, f64) -> Option<f64>) -> FieldLine {
    let points: Vec<(NaiveDate, f64)> = depth_m
        .iter()
        .filter_map(|(day, depth_m)| Some((*day, y_of(*day, *depth_m)?)))
        .collect();
    let runs = points.chunk_by(|a, b| (b.0 - a.0).num_days() <= LINE_GAP_DAYS);
    FieldLine {
        runs: runs
            .map(|run| run.iter().map(|(day, y)| (ce(*day) + 0.5, *y)).collect())
            .collect(),
    }
}

/// Stretches of days with ice.
fn ice(days: &[ModelledDay]) -> Vec<(f64, f64)> {
    days.chunk_by(|a, b| (a.ice_m > 0.0) == (b.ice_m > 0.0))
        .filter(|run| run[0].ice_m > 0.0)
        .map(|run| (ce(run[0].day), ce(run[run.len() - 1].day) + 1.0))
        .collect()
}
