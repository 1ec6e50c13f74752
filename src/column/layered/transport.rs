//! The flow up or down that follows from water coming into layers and going out of them, all lanes in one pass.

// Lanes and layers are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::flows::{LayerFlows, RIDERS};
use super::grid::Grid;
use super::state::{Column, Lanes, any};
use crate::math::wide::wide;

/// Largest share of a layer that leaves it in one substep.
const MOST_LEAVES: f64 = 0.5;
/// Largest share of the surface layer by which the surface falls in one part of a step: what is left of it is water yet.
const MOST_SINKS: f64 = 0.95;
/// Least part of a step in which a falling surface is followed.
const LEAST_PART: f64 = 1e-4;
/// More substeps than this mean that the lake is emptied within the step.
const MOST_SUBSTEPS: f64 = 10_000.0;

/// The transport, with its working memory.
#[derive(Debug, Clone)]
pub struct Transport<const L: usize> {
    /// Net volume into each layer in a part of the step, m3.
    net_m3: Vec<Lanes<L>>,
    /// Volume times what rides along that went out of each layer; after the step their means.
    taken: [Vec<Lanes<L>>; RIDERS],
    /// The surface layer to which flows from above it went, in lanes where some did.
    folded: [Option<usize>; L],
}

/// A part of a step, lane by lane.
#[derive(Clone, Copy)]
struct Part<const L: usize> {
    /// Of the whole step; 0 where a lane does not move.
    of_step: Lanes<L>,
    /// Of what was left of the step: 1 at last.
    of_rest: Lanes<L>,
    /// Layers under this one are full and stay as they are.
    first: usize,
}

/// What a part of a step asks of the layers.
struct Asked<const L: usize> {
    /// By what volume the surface rises, m3: what comes in less what goes out, and less what fills up the layers under it.
    rise_m3: Lanes<L>,
    /// Whether a layer would give more than a substep lets it.
    is_much: [bool; L],
}

impl<const L: usize> Transport<L> {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Transport {
            net_m3: vec![[0.0; L]; layers],
            taken: std::array::from_fn(|_| vec![[0.0; L]; layers]),
            folded: [None; L],
        }
    }

    /// Lets water in and out of the layers of the lanes that are to be moved; the others stay as they are to the last bit.
    ///
    /// Layers under the surface keep their volume: what comes in at the bottom lifts what is above it through the faces,
    /// donor cell by donor cell, in as many substeps as keep a layer from giving more than half of itself; a layer that is
    /// short of its volume is filled from above. The surface rises or falls; where it falls by more than a layer the step
    /// goes in parts, and the surface layer is merged between them. With f through faces and sources and V' the volume after,
    ///
    /// ```text
    /// x' = x + sum f_in (x_in - x) / V'
    /// ```
    ///
    /// which leaves uniform water as it is, and is exact in volume, heat and what rides along, as what goes out is x.
    ///
    /// # Errors
    /// A lane in which a layer would have to give more than it has or whose surface leaves the hypsography: the column is
    /// then not to be used.
    pub fn step(
        &mut self,
        grid: &Grid,
        column: &mut Column<L>,
        flows: &mut LayerFlows<L>,
        moving: [bool; L],
    ) -> Result<(), usize> {
        let mut remaining = moving.map(|moving| if moving { 1.0 } else { 0.0 });
        let (first, end) = flows.span();
        for rows in &mut self.taken {
            if let Some(rows) = rows.get_mut(first..end) {
                rows.fill([0.0; L]);
            }
        }
        self.folded = [None; L];
        while remaining.iter().any(|remaining| *remaining > 0.0) {
            for lane in (0..L).filter(|lane| moving[*lane]) {
                self.fold(flows, column.top[lane], lane);
            }
            // Of what is left of the step: how much now.
            let mut part = Part {
                of_step: remaining,
                of_rest: [1.0; L],
                first: first_moved(grid, column, flows),
            };
            let mut asked = self.ask(grid, column, flows, &part);
            let held_m3: Lanes<L> = std::array::from_fn(|lane| column.volume_m3[column.top[lane]][lane]);
            let sinks = |lane: usize| -asked.rise_m3[lane] > MOST_SINKS * held_m3[lane];
            if (0..L).any(|lane| remaining[lane] > 0.0 && sinks(lane)) {
                for lane in (0..L).filter(|lane| sinks(*lane)) {
                    part.of_rest[lane] = -MOST_LEAVES * held_m3[lane] / asked.rise_m3[lane];
                    part.of_step[lane] = part.of_rest[lane] * remaining[lane];
                    // So small a part of a lake that is left is none; not a number neither.
                    if remaining[lane] > 0.0
                        && (part.of_step[lane].is_nan() || part.of_step[lane] <= LEAST_PART)
                    {
                        return Err(lane);
                    }
                }
                asked = self.ask(grid, column, flows, &part);
            }
            let whole_m3 = self.substeps((grid, column), flows, &part, &asked)?;
            for lane in (0..L).filter(|lane| part.of_step[*lane] > 0.0) {
                if !column.settle_surface_of(grid, lane, whole_m3[lane]) {
                    return Err(lane);
                }
                remaining[lane] -= part.of_step[lane];
            }
        }
        wide(
            #[inline(always)]
            || self.find_means(flows),
        );
        Ok(())
    }

    /// The mean water that went out of a layer in the last step, where some did: temperature, oxygen, river water. Of a
    /// layer that the falling surface has left that of the surface layer.
    #[inline]
    pub fn taken(&self, layer: usize) -> [&Lanes<L>; RIDERS] {
        std::array::from_fn(|rider| &self.taken[rider][layer])
    }

    /// What is above the surface layer of a lane goes to it.
    fn fold(&mut self, flows: &mut LayerFlows<L>, top: usize, lane: usize) {
        let (first, end) = flows.span();
        if end > top + 1 && flows.fold(top, lane) {
            self.folded[lane] = Some(top);
            for rows in &mut self.taken {
                // A surface layer that had no flow of its own.
                rows[top.min(first)..first].fill([0.0; L]);
            }
            for rows in &mut self.taken {
                for layer in top + 1..end {
                    rows[top][lane] += rows[layer][lane];
                    rows[layer][lane] = 0.0;
                }
            }
        }
    }

    fn ask(&mut self, grid: &Grid, column: &Column<L>, flows: &LayerFlows<L>, part: &Part<L>) -> Asked<L> {
        wide(
            #[inline(always)]
            || self.find_net(grid, column, flows, part),
        )
    }

    /// What each layer gains in a part of the step, with the same part of what it is short of.
    #[inline(always)]
    fn find_net(
        &mut self,
        grid: &Grid,
        column: &Column<L>,
        flows: &LayerFlows<L>,
        part: &Part<L>,
    ) -> Asked<L> {
        let Part {
            of_step: part,
            of_rest: share,
            first,
        } = *part;
        let (lowest, highest) = column.tops();
        let (mut up, mut rise_m3, mut over_m3) = ([0.0; L], [0.0; L], [0.0; L]);
        for layer in first..=highest {
            let (full_m3, flow) = (grid.full_volume_m3(layer), flows.row(layer));
            let (volume_m3, into) = (&column.volume_m3[layer], &mut self.net_m3[layer]);
            let (under, at_surface) = masks(&column.top, lowest, layer);
            let (mut gain_m3, mut net_m3) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                gain_m3[lane] = part[lane] * (flow.in_m3[lane] - flow.out_m3[lane]);
                let short_m3 = share[lane] * (volume_m3[lane] - full_m3);
                net_m3[lane] = under[lane] * (short_m3 + gain_m3[lane]);
                rise_m3[lane] += net_m3[lane] + at_surface[lane] * gain_m3[lane];
            }
            for lane in 0..L {
                let through = under[lane] * up[lane] + net_m3[lane];
                let down = f64::max(-up[lane], 0.0);
                let leaves_m3 = part[lane] * flow.out_m3[lane] + down + f64::max(through, 0.0);
                over_m3[lane] = f64::max(over_m3[lane], leaves_m3 - MOST_LEAVES * volume_m3[lane]);
                up[lane] = through;
            }
            *into = net_m3;
        }
        Asked {
            rise_m3,
            is_much: over_m3.map(|over_m3| over_m3 > 0.0),
        }
    }

    /// How many substeps keep every layer of a lane from losing too much; `None` where none would.
    fn count(
        &self,
        column: &Column<L>,
        flows: &LayerFlows<L>,
        (lane, part): (usize, &Part<L>),
    ) -> Option<usize> {
        let mut most: f64 = 0.0;
        let mut up_m3 = 0.0;
        for layer in part.first..=column.top[lane] {
            let down_m3 = f64::max(-up_m3, 0.0);
            // Nothing goes through the surface.
            up_m3 = if layer < column.top[lane] {
                up_m3 + self.net_m3[layer][lane]
            } else {
                0.0
            };
            let leaves_m3 =
                part.of_step[lane] * flows.row(layer).out_m3[lane] + down_m3 + f64::max(up_m3, 0.0);
            let share = leaves_m3 / column.volume_m3[layer][lane];
            if share.is_nan() {
                return None;
            }
            most = most.max(share);
        }
        let count = (most / MOST_LEAVES).ceil().max(1.0);
        (count <= MOST_SUBSTEPS).then_some(count as usize)
    }

    /// A part of the step in its substeps, counted lane by lane; returns the volume of each lane after it, m3.
    fn substeps(
        &mut self,
        (grid, column): (&Grid, &mut Column<L>),
        flows: &LayerFlows<L>,
        part: &Part<L>,
        asked: &Asked<L>,
    ) -> Result<Lanes<L>, usize> {
        let mut counts = part.of_step.map(|part| usize::from(part > 0.0));
        for lane in (0..L).filter(|lane| asked.is_much[*lane] && part.of_step[*lane] > 0.0) {
            counts[lane] = self.count(column, flows, (lane, part)).ok_or(lane)?;
        }
        let mut whole_m3 = [0.0; L];
        for substep in 0..counts.iter().max().copied().unwrap_or(0) {
            let of_part = counts.map(|count| if substep < count { 1.0 / count as f64 } else { 0.0 });
            let mut is_last = [0.0; L];
            for lane in 0..L {
                let ends = substep + 1 == counts[lane] && part.of_rest[lane] >= 1.0;
                is_last[lane] = if ends { 1.0 } else { 0.0 };
            }
            whole_m3 = wide(
                #[inline(always)]
                || self.lift((grid, column), flows, part, (of_part, is_last)),
            );
        }
        Ok(whole_m3)
    }

    /// One substep: gives the layers what comes in and moves the flow through the faces, each with the water that its donor
    /// had before; returns the volume of each lane, m3. Of lanes that do not move nothing changes.
    #[inline(always)]
    fn lift(
        &mut self,
        (grid, column): (&Grid, &mut Column<L>),
        flows: &LayerFlows<L>,
        part: &Part<L>,
        (of_part, is_last): (Lanes<L>, Lanes<L>),
    ) -> Lanes<L> {
        let (lowest, highest) = column.tops();
        let (first, last) = (part.first, column.layers() - 1);
        let share: Lanes<L> = std::array::from_fn(|lane| part.of_step[lane] * of_part[lane]);
        let (mut whole_m3, mut up_m3) = ([0.0; L], [0.0; L]);
        for volume_m3 in &column.volume_m3[..first] {
            for lane in 0..L {
                whole_m3[lane] += volume_m3[lane];
            }
        }
        // Nothing rises into the first.
        let mut below = [
            column.temp_degc[first],
            column.oxygen_mg_l[first],
            column.river_frac[first],
        ];
        let moves = of_part.map(|of_part| if of_part > 0.0 { 1.0 } else { 0.0 });
        for layer in first..=highest {
            let (full_m3, flow) = (grid.full_volume_m3(layer), flows.row(layer));
            let (net_m3, volume_m3) = (&self.net_m3[layer], &mut column.volume_m3[layer]);
            let (under, _) = masks(&column.top, lowest, layer);
            let (mut up, mut after_m3, mut per_m3) = ([0.0; L], [0.0; L], [0.0; L]);
            for lane in 0..L {
                up[lane] = under[lane] * up_m3[lane] + of_part[lane] * net_m3[lane];
                let gain_m3 = share[lane] * (flow.in_m3[lane] - flow.out_m3[lane]);
                after_m3[lane] = volume_m3[lane] + (gain_m3 + (up_m3[lane] - up[lane]));
            }
            for lane in 0..L {
                // In the end a layer under the surface is full: what is missing in the sum is rounding.
                let is_full = under[lane] * is_last[lane] > 0.0;
                after_m3[lane] = if is_full { full_m3 } else { after_m3[lane] };
            }
            for lane in 0..L {
                let is_water = after_m3[lane] > 0.0;
                per_m3[lane] = if is_water {
                    moves[lane] / after_m3[lane]
                } else {
                    0.0
                };
                whole_m3[lane] += after_m3[lane];
            }
            let (mut rising, mut sinking) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                rising[lane] = f64::max(up_m3[lane], 0.0);
                sinking[lane] = f64::max(-up[lane], 0.0);
            }
            (*volume_m3, up_m3) = (after_m3, up);
            let (comes_in, goes_out) = (any(&flow.in_m3), any(&flow.out_m3));
            let above = (layer + 1).min(last);
            let fields = [
                &mut column.temp_degc,
                &mut column.oxygen_mg_l,
                &mut column.river_frac,
            ];
            for (rider, field) in fields.into_iter().enumerate() {
                let (held, over) = (field[layer], field[above]);
                let mut gain = [0.0; L];
                for lane in 0..L {
                    gain[lane] = rising[lane] * (below[rider][lane] - held[lane])
                        + sinking[lane] * (over[lane] - held[lane]);
                }
                if comes_in {
                    let carried = &flow.carried[rider];
                    for lane in 0..L {
                        gain[lane] += share[lane] * (carried[lane] - flow.in_m3[lane] * held[lane]);
                    }
                }
                if goes_out {
                    let taken = &mut self.taken[rider][layer];
                    for lane in 0..L {
                        taken[lane] += share[lane] * flow.out_m3[lane] * held[lane];
                    }
                }
                let values = &mut field[layer];
                for lane in 0..L {
                    let after = held[lane] + gain[lane] * per_m3[lane];
                    values[lane] = if per_m3[lane] > 0.0 { after } else { held[lane] };
                }
                below[rider] = held;
            }
        }
        whole_m3
    }

    /// From sums of what went out to means.
    #[inline(always)]
    fn find_means(&mut self, flows: &LayerFlows<L>) {
        let (first, end) = flows.span();
        for layer in first..end {
            let out_m3 = &flows.row(layer).out_m3;
            if !any(out_m3) {
                continue;
            }
            let mut per_m3 = [0.0; L];
            for lane in 0..L {
                per_m3[lane] = if out_m3[lane] > 0.0 {
                    1.0 / out_m3[lane]
                } else {
                    0.0
                };
            }
            for rows in &mut self.taken {
                for lane in 0..L {
                    rows[layer][lane] *= per_m3[lane];
                }
            }
        }
        for (lane, folded) in self.folded.iter().enumerate() {
            let Some(top) = *folded else { continue };
            for rows in &mut self.taken {
                for layer in top + 1..end {
                    rows[layer][lane] = rows[top][lane];
                }
            }
        }
    }
}

/// 1 in the lanes in which a layer lies under the surface layer, and in those in which it is that; 0 in the others. `lowest` is the
/// lowest surface layer.
#[inline(always)]
fn masks<const L: usize>(top: &[usize; L], lowest: usize, layer: usize) -> (Lanes<L>, Lanes<L>) {
    let mask = |is: bool| if is { 1.0 } else { 0.0 };
    if layer < lowest {
        return ([1.0; L], [0.0; L]);
    }
    (
        top.map(|top| mask(layer < top)),
        top.map(|top| mask(layer == top)),
    )
}

/// The first layer that gets or gives anything, or is not full; no higher than the surface.
fn first_moved<const L: usize>(grid: &Grid, column: &Column<L>, flows: &LayerFlows<L>) -> usize {
    let highest = column.top.iter().max().copied().unwrap_or(0);
    let end = flows.span().0.min(highest);
    let is_short = |layer: &usize| column.volume_m3[*layer] != [grid.full_volume_m3(*layer); L];
    (0..end).find(is_short).unwrap_or(end)
}
