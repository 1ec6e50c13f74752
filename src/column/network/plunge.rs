//! Where along its arm a river sinks under the lake's water.

use super::layout::Place;
use super::valley::Valley;
use crate::column::layered::Column;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::WEAK_DIFFERENCE_KG_M3;
use crate::physics::water::water_density_kg_m3;

/// How near the place of a plunge line is sought, m, and in how many tries at most.
const PLACE_M: f64 = 0.01;
const MOST_TRIES: usize = 40;

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
    lake: (&[Place], &[Column<L>]),
    lane: usize,
    entry: usize,
    river: (f64, f64),
    plunge_froude: f64,
) -> PlungeLine {
    let [line] = plunge_lines(lake, lane, entry, river, [plunge_froude]);
    line
}

/// [`plunge_line`] for several Froude numbers in one walk.
pub(super) fn plunge_lines<const L: usize, const N: usize>(
    (places, columns): (&[Place], &[Column<L>]),
    lane: usize,
    entry: usize,
    (flow_m3s, river_kg_m3): (f64, f64),
    froudes: [f64; N],
) -> [PlungeLine; N] {
    let mut lines = [None; N];
    let mut column = entry;
    loop {
        let held = &columns[column];
        let surface_kg_m3 = water_density_kg_m3(held.temp_degc[held.top[lane]][lane]);
        let apart = river_kg_m3 - surface_kg_m3;
        if apart <= -WEAK_DIFFERENCE_KG_M3 {
            return lines.map(|line| line.unwrap_or(PlungeLine::Floats { column }));
        }
        let place = &places[column];
        let next = place.toward_lake.as_ref().map(|(next, _)| *next);
        // In the main body an arm's river comes in from the side, so the thalweg there says nothing of it.
        let valley = place
            .valley
            .as_ref()
            .filter(|_| next.is_some() || column == entry);
        let reduced_m_s2 = GRAVITY_M_S2 * apart.abs() / surface_kg_m3;
        let found = valley.map(|valley| {
            let river = River {
                flow_m3s,
                reduced_m_s2,
                level_m: held.surface_elevation_m[lane],
            };
            (valley, river.slows_at_m(valley, &froudes))
        });
        for (i, line) in lines.iter_mut().enumerate().filter(|(_, line)| line.is_none()) {
            let distance_m = match (&found, next) {
                (Some((valley, at_m)), _) => match (at_m[i], next) {
                    (Some(at_m), _) => Some(at_m),
                    (None, Some(_)) => continue,
                    // It runs as far as the dam.
                    (None, None) => Some(valley.from_m),
                },
                (None, _) => None,
            };
            *line = Some(if apart.abs() < WEAK_DIFFERENCE_KG_M3 {
                PlungeLine::Weak { column, distance_m }
            } else {
                PlungeLine::Sinks { column, distance_m }
            });
        }
        match next.filter(|_| lines.contains(&None)) {
            Some(next) => column = next,
            None => return lines.map(|line| line.unwrap_or(PlungeLine::Floats { column })),
        }
    }
}

/// A river in a valley at today's level.
struct River {
    flow_m3s: f64,
    reduced_m_s2: f64,
    level_m: f64,
}

impl River {
    /// `Q^2 W - F^2 g' A^3` of a section: positive where the river is still faster than the Froude number; infinite on dry land.
    #[inline]
    fn over(&self, (section_m2, width_m): (f64, f64), plunge_froude: f64) -> f64 {
        if width_m <= 0.0 {
            return f64::INFINITY;
        }
        let holds = plunge_froude * plunge_froude * self.reduced_m_s2 * section_m2 * section_m2 * section_m2;
        self.flow_m3s * self.flow_m3s * width_m - holds
    }

    /// The first place from the head down at which it is no faster than each Froude number, m from the mouth.
    fn slows_at_m<const N: usize>(&self, valley: &Valley, froudes: &[f64; N]) -> [Option<f64>; N] {
        let mut at_m = [None; N];
        for (look, section) in valley.sections(self.level_m).enumerate() {
            for (at_m, froude) in at_m.iter_mut().zip(froudes).filter(|(at_m, _)| at_m.is_none()) {
                if self.over(section, *froude) <= 0.0 {
                    *at_m = Some(self.between_m(valley, look, *froude));
                }
            }
            if !at_m.contains(&None) {
                break;
            }
        }
        at_m
    }

    /// The place between a look, at which it is slow enough, and the one before, by false position (Illinois; by halving next to
    /// dry land), to a centimetre.
    fn between_m(&self, valley: &Valley, look: usize, plunge_froude: f64) -> f64 {
        let over = |at_m: f64| self.over(valley.section_at(at_m, self.level_m), plunge_froude);
        let mut low = (valley.look_m(look), 0.0);
        low.1 = over(low.0);
        if look == 0 {
            return low.0;
        }
        let mut high = (valley.look_m(look - 1), f64::INFINITY);
        high.1 = over(high.0);
        let (mut before, mut at_m) = (0.0, low.0);
        for _ in 0..MOST_TRIES {
            let share = if high.1.is_finite() {
                (low.1 / (low.1 - high.1)).clamp(0.0, 1.0)
            } else {
                0.5
            };
            let middle_m = low.0 + share * (high.0 - low.0);
            if (middle_m - at_m).abs() <= PLACE_M {
                return middle_m;
            }
            at_m = middle_m;
            let found = over(middle_m);
            // An end that stays twice weighs half.
            if found <= 0.0 {
                low = (middle_m, found);
                high.1 *= if before < 0.0 { 0.5 } else { 1.0 };
                before = -1.0;
            } else {
                high = (middle_m, found);
                low.1 *= if before > 0.0 { 0.5 } else { 1.0 };
                before = 1.0;
            }
        }
        at_m
    }
}
