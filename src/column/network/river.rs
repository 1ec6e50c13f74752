//! A river's way into the lake: through the reaches that it fills, under the lake's water, down the bed, to the layer of
//! its own density.

use super::flow::{Flow, Lake};
use super::plunge::{PlungeLine, plunge_line};
use super::rest::{Carried, floating_m, insert, intrusion_m, layer_at, source};
use crate::column::layered::{Column, Lanes, Water};
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::TriangularChannel;
use crate::physics::water::water_density_kg_m3;

/// Half width over depth of a valley that is not known (project choice).
const UNKNOWN_HALF_ANGLE_TAN: f64 = 10.0;

/// A river for one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct River<const L: usize> {
    /// The column at whose head it enters.
    pub column: usize,
    /// Discharge, m3/s.
    pub discharge_m3s: Lanes<L>,
    /// Its water; `river_frac` is 1 unless one wants to follow a single river.
    pub water: [Water; L],
}

/// How rivers sink.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiverOptions {
    /// Densimetric Froude number of the plunge: 0.5 (Ford & Johnson 1983).
    pub plunge_froude: f64,
    /// The numbers between which the plunge line is drawn as a band: 0.3 and 0.7, of 0.1 to 0.7 in the field.
    pub band_froude: [f64; 2],
    /// Lake water that the plunge itself takes in, of the river's: 0.15, of 0 to 0.3 (Akiyama & Stefan 1984, from memory).
    pub plunge_takes_frac: f64,
    /// Drag coefficient of the bed: 0.015 (Imberger & Patterson 1981).
    pub drag_coefficient: f64,
}

impl Default for RiverOptions {
    fn default() -> Self {
        RiverOptions {
            plunge_froude: 0.5,
            band_froude: [0.3, 0.7],
            plunge_takes_frac: 0.15,
            drag_coefficient: 0.015,
        }
    }
}

/// Where a river went in the last step, in one lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiverPath {
    /// Where it left the surface.
    pub line: PlungeLine,
    /// The same for the two numbers of the band: toward the lake, toward the head.
    pub band: [PlungeLine; 2],
    /// Column and elevation at which it came to rest, m.
    pub rests_at: (usize, f64),
    /// Whether that is the lowest layer there.
    pub on_the_bed: bool,
    /// Water that came to rest over the river's own: 1 and what it took in.
    pub dilution: f64,
}

impl RiverPath {
    /// Share of a column's surface that lies above the plunge line and holds river water, 0 to 1; `columns` lead from the
    /// river's entry toward the lake.
    pub fn river_share_frac<const L: usize>(
        &self,
        lake: (&super::Layout, &[Column<L>]),
        lane: usize,
        column: usize,
        entry: usize,
    ) -> f64 {
        let (layout, columns) = lake;
        let mut at = entry;
        while at != self.line.column() {
            if at == column {
                return 1.0;
            }
            match &layout.places[at].toward_lake {
                Some((next, _)) => at = *next,
                None => return 0.0,
            }
        }
        let piece = layout.places[column].valley.as_ref();
        match (at == column, piece, self.line.distance_m()) {
            (true, Some(valley), Some(distance_m)) => {
                let level_m = columns[column].surface_elevation_m[lane];
                let whole_m2 = valley.surface_m2(level_m);
                if whole_m2 > 0.0 {
                    valley.piece(distance_m, valley.to_m).surface_m2(level_m) / whole_m2
                } else {
                    0.0
                }
            }
            _ => 0.0,
        }
    }
}

/// Lets a river into a lane from column `entry`; what it takes on its way leaves the layers at once, what comes to rest
/// is among the flow's sources. `None` where a layer has too little to give.
pub(super) fn enter<const L: usize>(
    flow: &mut Flow,
    lake: &mut Lake<'_, L>,
    (river, entry): (&River<L>, usize),
    options: &RiverOptions,
    step_s: f64,
) -> Option<RiverPath> {
    let lane = lake.lane;
    let flow_m3s = river.discharge_m3s[lane];
    let mut carried = Carried {
        volume_m3: flow_m3s * step_s,
        water: river.water[lane],
    };
    let river_m3 = carried.volume_m3;
    let density = carried.density_kg_m3();
    let line_of = |lake: &Lake<'_, L>, froude: f64| {
        plunge_line(
            (lake.places, lake.columns),
            lane,
            entry,
            (flow_m3s, density),
            froude,
        )
    };
    let line = line_of(lake, options.plunge_froude);
    let band = options.band_froude.map(|froude| line_of(lake, froude));
    let mut column = entry;
    while column != line.column() {
        fill_reach(&mut lake.columns[column], lane, &mut carried);
        match &lake.places[column].toward_lake {
            Some((next, _)) => column = *next,
            None => break,
        }
    }
    let sinks = matches!(line, PlungeLine::Sinks { .. });
    let rest = if sinks {
        let begin_m = plunge_bed_m(lake, column, line);
        take_at_plunge(flow, lake, (column, begin_m), &mut carried, options)?;
        go_down(flow, lake, (column, begin_m), &mut carried, (options, step_s))?
    } else {
        (column, lake.columns[column].top[lane])
    };
    let on_the_bed = sinks && rest.1 == 0;
    let band_m = if sinks {
        intrusion_m(lake, rest, carried.volume_m3 / step_s)
    } else {
        floating_m(lake, rest, (&carried, line), step_s)
    };
    let elevation_m = insert(flow, lake, rest, &carried, band_m);
    Some(RiverPath {
        line,
        band,
        rests_at: (rest.0, elevation_m),
        on_the_bed,
        dilution: if river_m3 > 0.0 {
            carried.volume_m3 / river_m3
        } else {
            1.0
        },
    })
}

/// A river that fills a reach pushes water out of it: of a reach of volume V and Q dt of river, `V (1 - exp(-Q dt/V))`
/// goes on in the river's stead, every layer giving alike. Exact: what is put in and what is taken out are one volume.
fn fill_reach<const L: usize>(column: &mut Column<L>, lane: usize, carried: &mut Carried) {
    let whole_m3 = column.whole_m3(lane);
    let share = -(-carried.volume_m3 / whole_m3).exp_m1();
    let mut pushed = Carried {
        volume_m3: 0.0,
        water: carried.water,
    };
    for layer in 0..=column.top[lane] {
        let (held, new) = (column.water(layer, lane), carried.water);
        pushed.mix(share * column.volume_m3[layer][lane], held);
        let toward = |held: f64, new: f64| held + share * (new - held);
        column.set(
            layer,
            lane,
            Water {
                temp_degc: toward(held.temp_degc, new.temp_degc),
                oxygen_mg_l: toward(held.oxygen_mg_l, new.oxygen_mg_l),
                river_frac: toward(held.river_frac, new.river_frac),
            },
        );
    }
    carried.volume_m3 -= pushed.volume_m3;
    carried.mix(pushed.volume_m3, pushed.water);
}

/// Elevation of the bed under the plunge line, m; the surface where the line is not known.
fn plunge_bed_m<const L: usize>(lake: &Lake<'_, L>, column: usize, line: PlungeLine) -> f64 {
    let level_m = lake.columns[column].surface_elevation_m[lake.lane];
    let valley = lake.places[column].valley.as_ref();
    match (valley, line.distance_m()) {
        (Some(valley), Some(distance_m)) => valley.bed_m(distance_m),
        _ => level_m,
    }
}

/// What the plunge takes in, from the layers between the surface and the bed under the line.
fn take_at_plunge<const L: usize>(
    flow: &mut Flow,
    lake: &mut Lake<'_, L>,
    (column, begin_m): (usize, f64),
    carried: &mut Carried,
    options: &RiverOptions,
) -> Option<()> {
    let lowest = layer_at(lake, column, begin_m);
    let held = &lake.columns[column];
    let layers = lowest..=held.top[lake.lane];
    let there_m3: f64 = layers.clone().map(|i| held.volume_m3[i][lake.lane]).sum();
    let taken_m3 = eased_m3(options.plunge_takes_frac * carried.volume_m3, there_m3);
    flow.takes.clear();
    for layer in layers {
        let volume_m3 = taken_m3 * held.volume_m3[layer][lake.lane] / there_m3;
        flow.takes.push(source(layer, -volume_m3, carried.water));
    }
    take(flow, lake, column, carried)
}

/// No more than half of what is there, and that by relaxation.
fn eased_m3(wanted_m3: f64, there_m3: f64) -> f64 {
    -0.5 * there_m3 * (-2.0 * wanted_m3 / there_m3).exp_m1()
}

/// Takes the listed water out of a column and into the river.
fn take<const L: usize>(
    flow: &mut Flow,
    lake: &mut Lake<'_, L>,
    column: usize,
    carried: &mut Carried,
) -> Option<()> {
    let place = &lake.places[column];
    flow.taken.clear();
    flow.taken.resize(flow.takes.len(), carried.water);
    let held = &mut lake.columns[column];
    let fine =
        flow.transports[column].step_recording(&place.grid, held, lake.lane, &flow.takes, &mut flow.taken);
    for (take, water) in flow.takes.iter().zip(&flow.taken) {
        carried.mix(-take.volume_m3, *water);
        flow.slots[column].net_m3[take.layer + place.first_layer] += take.volume_m3;
    }
    fine.then_some(())
}

/// Down the bed from an elevation, column by column, taking in water of the layers passed, to the layer above one that is
/// at least as dense. Gives column and layer.
fn go_down<const L: usize>(
    flow: &mut Flow,
    lake: &mut Lake<'_, L>,
    (mut column, begin_m): (usize, f64),
    carried: &mut Carried,
    (options, step_s): (&RiverOptions, f64),
) -> Option<(usize, usize)> {
    let mut layer = layer_at(lake, column, begin_m);
    loop {
        let rests = pass_column(flow, lake, (column, layer), *carried, (options, step_s));
        take(flow, lake, column, carried)?;
        if let Some(rests) = rests {
            return Some((column, rests.min(lake.columns[column].top[lake.lane])));
        }
        let place = &lake.places[column];
        match &place.toward_lake {
            Some((next, _)) if lake.places[*next].first_layer <= place.first_layer => {
                layer = place.first_layer - lake.places[*next].first_layer;
                layer = layer.min(lake.columns[*next].top[lake.lane]);
                column = *next;
            }
            _ => return Some((column, 0)),
        }
    }
}

/// Lists what a river takes in on its way down one column; gives the layer where it comes to rest, if it does before
/// the lowest.
fn pass_column<const L: usize>(
    flow: &mut Flow,
    lake: &Lake<'_, L>,
    (column, from): (usize, usize),
    mut carried: Carried,
    (options, step_s): (&RiverOptions, f64),
) -> Option<usize> {
    let (held, place) = (&lake.columns[column], &lake.places[column]);
    let channel = channel(lake, column, options.drag_coefficient);
    flow.takes.clear();
    for layer in (0..=from).rev() {
        let ambient = held.water(layer, lake.lane);
        let apart = carried.density_kg_m3() - water_density_kg_m3(ambient.temp_degc);
        if apart <= 0.0 {
            // Lighter than this layer: it rests on it. In the first layer looked at it stays where it is.
            return Some((layer + 1).min(from));
        }
        let reduced_m_s2 = GRAVITY_M_S2 * apart / water_density_kg_m3(ambient.temp_degc);
        let Some(channel) = channel else { continue };
        let way_m = place.grid.thickness_m(layer) / channel.slope;
        let Some(underflow) = channel.underflow(carried.volume_m3 / step_s, reduced_m_s2) else {
            continue;
        };
        let wanted_m3 = carried.volume_m3 * (underflow.dilution(way_m) - 1.0);
        let taken_m3 = eased_m3(wanted_m3, held.volume_m3[layer][lake.lane]);
        carried.mix(taken_m3, ambient);
        flow.takes.push(source(layer, -taken_m3, ambient));
    }
    None
}

/// The channel down a column's piece of the valley, as it is at its middle; `None` where the bed does not fall, and then
/// nothing is taken in. Without a thalweg it is ten times as wide as deep to each side, and falls to the deepest place over
/// the side of a square as large as the surface (project choices).
fn channel<const L: usize>(
    lake: &Lake<'_, L>,
    column: usize,
    drag_coefficient: f64,
) -> Option<TriangularChannel> {
    let held = &lake.columns[column];
    let level_m = held.surface_elevation_m[lake.lane];
    let (depth_m, half_width_m, slope) = match &lake.places[column].valley {
        Some(valley) => {
            let middle_m = 0.5 * (valley.from_m + valley.to_m);
            let fall_m = valley.bed_m(valley.to_m) - valley.bed_m(valley.from_m);
            (
                level_m - valley.bed_m(middle_m),
                0.5 * valley.width_m(middle_m, level_m),
                fall_m / valley.length_m(),
            )
        }
        None => {
            let depth_m = level_m - lake.places[column].bed_elevation_m;
            let length_m = held.surface_area_m2[lake.lane].sqrt();
            (depth_m, UNKNOWN_HALF_ANGLE_TAN * depth_m, depth_m / length_m)
        }
    };
    (depth_m > 0.0 && slope > 0.0).then(|| TriangularChannel {
        half_angle_tan: half_width_m / depth_m,
        slope,
        drag_coefficient,
    })
}
