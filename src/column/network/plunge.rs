//! Where along its arm a river sinks under the lake's water.

use super::layout::Place;
use super::valley::Valley;
use crate::column::layered::Column;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::WEAK_DIFFERENCE_KG_M3;
use crate::physics::water::water_density_kg_m3;

/// Places at which a reach is looked at.
const LOOKS: usize = 48;

/// Where a river leaves the surface, or does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlungeLine {
    /// It is lighter than the lake's surface in this column and spreads over it.
    Floats {
        /// Column.
        column: usize,
    },
    /// It is so near to the density of the surface that the wind decides; it stays at the surface of this column.
    Weak {
        /// Column.
        column: usize,
        /// Distance from the zone's mouth at which it slows down enough, m; `None` without a thalweg.
        distance_m: Option<f64>,
    },
    /// It sinks.
    Sinks {
        /// Column.
        column: usize,
        /// Distance of the line from the mouth of the column's zone, m; `None` without a thalweg, and in the main body
        /// for a river that has filled its arm: the line is at the arm's mouth.
        distance_m: Option<f64>,
    },
}

impl PlungeLine {
    /// The column.
    pub fn column(&self) -> usize {
        match *self {
            PlungeLine::Floats { column }
            | PlungeLine::Weak { column, .. }
            | PlungeLine::Sinks { column, .. } => column,
        }
    }

    /// Distance from the mouth of the column's zone, m.
    pub fn distance_m(&self) -> Option<f64> {
        match *self {
            PlungeLine::Floats { .. } => None,
            PlungeLine::Weak { distance_m, .. } | PlungeLine::Sinks { distance_m, .. } => distance_m,
        }
    }
}

/// Follows a river of a density from column `entry` toward the lake, at today's level, to the place where its densimetric
/// Froude number falls to `plunge_froude`:
///
/// ```text
/// F = (Q/A) / sqrt(g' A/W),  g' = g |rho_river - rho_surface| / rho_surface
/// ```
///
/// A and W section and width of the valley there, rho_surface of the column. Of a triangular section this is the depth of
/// Hebbert et al. 1979, of an upright one that of Ford & Johnson 1983. Columns that it fills as far as their ends are
/// passed. Source of the rule: F 0.5, in the field 0.1-0.7 (Ford & Johnson 1983).
pub fn plunge_line<const L: usize>(
    (places, columns): (&[Place], &[Column<L>]),
    lane: usize,
    entry: usize,
    (flow_m3s, river_kg_m3): (f64, f64),
    plunge_froude: f64,
) -> PlungeLine {
    let mut column = entry;
    loop {
        let held = &columns[column];
        let surface_kg_m3 = water_density_kg_m3(held.temp_degc[held.top[lane]][lane]);
        let apart = river_kg_m3 - surface_kg_m3;
        if apart <= -WEAK_DIFFERENCE_KG_M3 {
            return PlungeLine::Floats { column };
        }
        let place = &places[column];
        let next = place.toward_lake.as_ref().map(|(next, _)| *next);
        // In the main body an arm's river comes in from the side, so the thalweg there says nothing of it.
        let valley = place
            .valley
            .as_ref()
            .filter(|_| next.is_some() || column == entry);
        let reduced_m_s2 = GRAVITY_M_S2 * apart.abs() / surface_kg_m3;
        let slow = |valley: &Valley, distance_m: f64| {
            let level_m = held.surface_elevation_m[lane];
            let (section_m2, width_m) = (
                valley.section_m2(distance_m, level_m),
                valley.width_m(distance_m, level_m),
            );
            let speed_m_s = flow_m3s / section_m2;
            let most = plunge_froude * plunge_froude * reduced_m_s2 * section_m2;
            width_m > 0.0 && speed_m_s * speed_m_s * width_m <= most
        };
        let found = valley.map(|v| (v, first_m(v, |distance_m| slow(v, distance_m))));
        let distance_m = match (found, next) {
            (Some((_, Some(distance_m))), _) => Some(distance_m),
            (Some((_, None)), Some(next)) => {
                column = next;
                continue;
            }
            // It runs as far as the dam.
            (Some((valley, None)), None) => Some(valley.from_m),
            (None, _) => None,
        };
        return if apart.abs() < WEAK_DIFFERENCE_KG_M3 {
            PlungeLine::Weak { column, distance_m }
        } else {
            PlungeLine::Sinks { column, distance_m }
        };
    }
}

/// The first place from the head down at which something holds, m from the mouth.
fn first_m(valley: &Valley, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let at = |i: usize| valley.to_m - valley.length_m() * i as f64 / LOOKS as f64;
    let i = (0..=LOOKS).find(|i| holds(at(*i)))?;
    let (mut low_m, mut high_m) = (at(i), at(i.saturating_sub(1)));
    // Twenty halvings of a reach: millimetres.
    for _ in 0..20 {
        let middle_m = 0.5 * (low_m + high_m);
        if holds(middle_m) {
            low_m = middle_m;
        } else {
            high_m = middle_m;
        }
    }
    Some(low_m)
}
