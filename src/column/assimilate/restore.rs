//! Water that no lake can hold, set right: bounds, and heavy water over light, with nothing lost.

use super::observation::WaterField;
use crate::column::layered::{Column, Convection};

/// How often something had to be set right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Restored {
    /// Layers of lanes whose temperature was below 0 degC.
    pub frozen: usize,
    /// Layers of lanes whose oxygen was below 0.
    pub oxygen: usize,
    /// Layers of lanes whose share of river water was outside 0 to 1.
    pub river: usize,
    /// Layers of lanes that were mixed because heavy water lay over light.
    pub mixed: usize,
    /// Lanes and fields whose whole content was beyond the bound, so that it could not be kept: set to the bound.
    pub not_kept: usize,
    /// Factors of members that had gone too far from 1 and were held.
    pub factors: usize,
}

/// Brings every lane within its bounds and makes it stable. What is cut off is taken from, or given to, the other layers
/// of the lane by how much room they have, so that heat, oxygen and river water of a lane stay; where a lane as
/// a whole lies beyond a bound, it is set to it and counted. Exact at the bounds.
pub fn restore_water<const L: usize>(column: &mut Column<L>, convection: &mut Convection) -> Restored {
    let mut restored = Restored::default();
    for lane in 0..L {
        let bounds = [
            (WaterField::Temp, f64::INFINITY),
            (WaterField::Oxygen, f64::INFINITY),
            (WaterField::River, 1.0),
        ];
        for (field, high) in bounds {
            let (cut, kept) = bring_within(column, lane, (field, high));
            match field {
                WaterField::Temp => restored.frozen += cut,
                WaterField::Oxygen => restored.oxygen += cut,
                WaterField::River => restored.river += cut,
            }
            restored.not_kept += usize::from(!kept);
        }
    }
    let before = column.temp_degc.clone();
    convection.step(column);
    for (lane, top) in column.top.into_iter().enumerate() {
        let changed = |layer: &usize| before[*layer][lane] != column.temp_degc[*layer][lane];
        restored.mixed += (0..=top).filter(changed).count();
    }
    restored
}

/// Brings a field of a lane between 0 and `high`. How many layers were outside, and whether the content could be kept.
fn bring_within<const L: usize>(
    column: &mut Column<L>,
    lane: usize,
    (field, high): (WaterField, f64),
) -> (usize, bool) {
    let volumes: Vec<f64> = column.volume_m3[..=column.top[lane]]
        .iter()
        .map(|v| v[lane])
        .collect();
    let rows = field.of_mut(column);
    let (mut outside, mut excess) = (0, 0.0);
    for (row, volume) in rows.iter_mut().zip(&volumes) {
        let held = row[lane];
        let within = held.clamp(0.0, high);
        if within != held {
            outside += 1;
            excess += volume * (held - within);
            row[lane] = within;
        }
    }
    if excess == 0.0 {
        return (outside, true);
    }
    // Too much was there: fill the room up to `high`. Too little: take from what is above 0.
    let room = |x: f64| if excess > 0.0 { high - x } else { x };
    let whole: f64 = rows
        .iter()
        .zip(&volumes)
        .map(|(row, v)| v * room(row[lane]))
        .sum();
    let share = (excess.abs() / whole).min(1.0);
    if share.is_nan() {
        return (outside, false);
    }
    for row in rows.iter_mut().take(volumes.len()) {
        let x = row[lane];
        row[lane] = if excess > 0.0 {
            high - (high - x) * (1.0 - share)
        } else {
            x * (1.0 - share)
        };
    }
    (outside, excess.abs() <= whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::layered::{Grid, Water};
    use crate::lake::Hypsography;
    use crate::physics::water::water_density_kg_m3;
    use proptest::prelude::*;

    fn grid() -> Grid {
        let table = Hypsography::from_areas(vec![0.0, 20.0], vec![1e5, 1e6]);
        Grid::new(table, (0..=10).map(|i| 2.0 * f64::from(i)).collect()).unwrap()
    }

    fn filled(rows: &[(f64, f64, f64)]) -> Column<1> {
        Column::filled(&grid(), [17.0], |elevation_m, _| {
            let (temp_degc, oxygen_mg_l, river_frac) = rows[(elevation_m / 2.0) as usize];
            Water {
                temp_degc,
                oxygen_mg_l,
                river_frac,
            }
        })
        .unwrap()
    }

    proptest! {
        #[test]
        fn what_is_restored_is_within_bounds_and_stable_and_nothing_is_lost(
            rows in proptest::collection::vec((-1.0..25.0f64, -2.0..12.0f64, -0.3..1.3f64), 10),
        ) {
            let mut column = filled(&rows);
            let (heat, oxygen, river) = (column.heat_j(0), column.oxygen_g(0), column.river_m3(0));
            let whole = column.whole_m3(0);
            let restored = restore_water(&mut column, &mut Convection::new(10));
            for layer in 0..=column.top[0] {
                let water = column.water(layer, 0);
                prop_assert!(water.temp_degc >= 0.0 && water.oxygen_mg_l >= 0.0);
                prop_assert!((0.0..=1.0).contains(&water.river_frac));
                if layer > 0 {
                    let below = column.temp_degc[layer - 1][0];
                    prop_assert!(water_density_kg_m3(below) >= water_density_kg_m3(water.temp_degc));
                }
            }
            if restored.not_kept == 0 {
                // Rounding of sums over nine layers.
                prop_assert!((column.heat_j(0) - heat).abs() < 1e-12 * heat.abs().max(4e6 * whole));
                prop_assert!((column.oxygen_g(0) - oxygen).abs() < 1e-12 * (10.0 * whole));
                prop_assert!((column.river_m3(0) - river).abs() < 1e-12 * whole);
            }
            prop_assert_eq!(column.whole_m3(0), whole);
        }
    }

    #[test]
    fn a_lane_without_any_oxygen_left_is_set_to_none_and_counted() {
        let mut column = filled(&[(10.0, -1.0, 0.5); 10]);
        let restored = restore_water(&mut column, &mut Convection::new(10));
        assert_eq!((restored.not_kept, restored.oxygen, restored.mixed), (1, 9, 0));
        assert_eq!(column.oxygen_g(0), 0.0);
    }

    #[test]
    fn water_that_is_right_is_left_as_it_is() {
        let mut column = filled(&[(8.0, 9.0, 1.0); 10]);
        let before = column.clone();
        assert_eq!(
            restore_water(&mut column, &mut Convection::new(10)),
            Restored::default()
        );
        assert_eq!(column, before);
    }
}
