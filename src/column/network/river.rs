//! A river's way into the lake: through the reaches that it fills, under the lake's water, down the bed, to the layer of
//! its own density.

use super::flow::{Flow, Lake};
use super::plunge::{PlungeLine, plunge_lines};
use super::rest::{Carried, floating_m, insert, intrusion_m, layer_at};
use super::underflow::{eased_m3, go_down};
use crate::column::layered::{Column, Lanes, Water};

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

/// Lets a river in, each lane from the column `entry`. What it takes on its way is missing in the layers until the
/// transport fills them up again; what comes to rest is among the flows. Says where it went.
pub(super) fn enter<const L: usize>(
    flow: &mut Flow<L>,
    lake: &mut Lake<'_, L>,
    (river, entry): (&River<L>, [usize; L]),
    options: &RiverOptions,
    step_s: f64,
) -> [Option<RiverPath>; L] {
    let mut carried: [Carried; L] = std::array::from_fn(|lane| Carried {
        volume_m3: river.discharge_m3s[lane].max(0.0) * step_s,
        water: river.water[lane],
    });
    let mut lines = [None; L];
    let mut rests = [(0, 0); L];
    let mut begins = [None; L];
    for lane in (0..L).filter(|lane| river.discharge_m3s[*lane] > 0.0) {
        let carried = &mut carried[lane];
        let [near, far] = options.band_froude;
        let [line, near, far] = plunge_lines(
            (lake.places, lake.columns),
            lane,
            entry[lane],
            (river.discharge_m3s[lane], carried.density_kg_m3()),
            [options.plunge_froude, near, far],
        );
        lines[lane] = Some((line, [near, far]));
        let mut column = entry[lane];
        while column != line.column() {
            fill_reach(&mut lake.columns[column], lane, carried);
            flow.renew_density(&lake.columns[column], (column, lane));
            match &lake.places[column].toward_lake {
                Some((next, _)) => column = *next,
                None => break,
            }
        }
        rests[lane] = (column, lake.columns[column].top[lane]);
        if matches!(line, PlungeLine::Sinks { .. }) {
            let lowest = layer_at(lake, (column, lane), plunge_bed_m(lake, (column, lane), line));
            take_at_plunge(flow, lake, (column, lowest, lane), carried, options);
            begins[lane] = Some((column, lowest));
        }
    }
    if begins.iter().any(Option::is_some) {
        let way = (river.column, begins);
        go_down(flow, lake, way, (&mut carried, &mut rests), (options, step_s));
    }
    std::array::from_fn(|lane| {
        let (line, band) = lines[lane]?;
        let (carried, rest) = (&carried[lane], rests[lane]);
        let sinks = matches!(line, PlungeLine::Sinks { .. });
        let band_m = if sinks {
            intrusion_m(flow, lake, (lane, rest), carried.volume_m3 / step_s)
        } else {
            floating_m(flow, lake, (lane, rest), (carried, line), step_s)
        };
        Some(RiverPath {
            line,
            band,
            rests_at: (rest.0, insert(flow, lake, (lane, rest), carried, band_m)),
            on_the_bed: sinks && rest.1 == 0,
            dilution: carried.volume_m3 / (river.discharge_m3s[lane] * step_s),
        })
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
fn plunge_bed_m<const L: usize>(lake: &Lake<'_, L>, (column, lane): (usize, usize), line: PlungeLine) -> f64 {
    let level_m = lake.columns[column].surface_elevation_m[lane];
    let valley = lake.places[column].valley.as_ref();
    match (valley, line.distance_m()) {
        (Some(valley), Some(distance_m)) => valley.bed_m(distance_m),
        _ => level_m,
    }
}

/// What the plunge takes in, from the layers between the surface and the bed under the line.
fn take_at_plunge<const L: usize>(
    flow: &mut Flow<L>,
    lake: &mut Lake<'_, L>,
    (column, lowest, lane): (usize, usize, usize),
    carried: &mut Carried,
    options: &RiverOptions,
) {
    let held = &mut lake.columns[column];
    let layers = lowest..=held.top[lane];
    let there_m3: f64 = layers.clone().map(|i| held.volume_m3[i][lane]).sum();
    let share = eased_m3(options.plunge_takes_frac * carried.volume_m3, there_m3) / there_m3;
    for layer in layers {
        let volume_m3 = share * held.volume_m3[layer][lane];
        carried.mix(volume_m3, held.water(layer, lane));
        held.volume_m3[layer][lane] -= volume_m3;
        flow.slots[column].count(layer + lake.places[column].first_layer, lane, -volume_m3);
    }
}
