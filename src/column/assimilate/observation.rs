//! What was measured in the water, and what a member says it should have been.

use chrono::{DateTime, Utc};

use crate::column::layered::{Column, Grid};

/// What rides in the layers of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WaterField {
    /// Temperature, degC.
    Temp,
    /// Dissolved oxygen, mg/L.
    Oxygen,
    /// Share of river water, 0 to 1.
    River,
}

impl WaterField {
    /// All of them.
    pub const ALL: [WaterField; 3] = [WaterField::Temp, WaterField::Oxygen, WaterField::River];

    /// The rows of a column, shape `[layer][lane]`.
    pub fn of<const L: usize>(self, column: &Column<L>) -> &[[f64; L]] {
        match self {
            WaterField::Temp => &column.temp_degc,
            WaterField::Oxygen => &column.oxygen_mg_l,
            WaterField::River => &column.river_frac,
        }
    }

    /// The rows of a column, to be changed.
    pub fn of_mut<const L: usize>(self, column: &mut Column<L>) -> &mut [[f64; L]] {
        match self {
            WaterField::Temp => &mut column.temp_degc,
            WaterField::Oxygen => &mut column.oxygen_mg_l,
            WaterField::River => &mut column.river_frac,
        }
    }
}

/// One number measured in the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterObservation {
    /// When.
    pub time: DateTime<Utc>,
    /// Which column of the lake, counted as its columns are; 0 in a lake of one.
    pub place: usize,
    /// Depth below the surface of that time, m.
    pub depth_m: f64,
    /// What was measured.
    pub field: WaterField,
    /// The number, in the unit of the field.
    pub value: f64,
    /// Its standard error, in the same unit: of the instrument, and of how far one place stands for the column.
    pub error: f64,
}

/// What a lane holds at a depth below its own surface: linear between the middles of layers, constant above the highest and below
/// the lowest of them. `None` above the surface and below the bed.
pub fn value_at_depth<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    lane: usize,
    (field, depth_m): (WaterField, f64),
) -> Option<f64> {
    let elevation_m = column.surface_elevation_m[lane] - depth_m;
    if !(depth_m >= 0.0 && elevation_m >= grid.face_elevation_m()[0]) {
        return None;
    }
    let rows = field.of(column);
    let mut above = (
        column.middle_m(grid, column.top[lane], lane),
        rows[column.top[lane]][lane],
    );
    if elevation_m >= above.0 {
        return Some(above.1);
    }
    for layer in (0..column.top[lane]).rev() {
        let here = (column.middle_m(grid, layer, lane), rows[layer][lane]);
        if elevation_m >= here.0 {
            let share = (elevation_m - here.0) / (above.0 - here.0);
            return Some(here.1 + share * (above.1 - here.1));
        }
        above = here;
    }
    Some(above.1)
}
