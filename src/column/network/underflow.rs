//! A river's way down the bed, taking in water of the layers passed, to the layer of its own density; all lanes together.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::flow::{Flow, Lake};
use super::rest::Carried;
use super::river::RiverOptions;
use crate::column::layered::{Column, Grid, Lanes, Water, any};
use crate::math::fast;
use crate::math::wide::wide;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::{NormalFlow, TriangularChannel, dilutions};
use crate::physics::water::water_density_kg_m3;

/// Half width over depth of a valley that is not known (project choice).
const UNKNOWN_HALF_ANGLE_TAN: f64 = 10.0;

/// Number of a layer where there is none.
const NOWHERE: f64 = -1.0;

/// No more than half of what is there, and that by relaxation: `V/2 (1 - exp(-2 wanted/V))`.
#[inline(always)]
pub(super) fn eased_m3(wanted_m3: f64, there_m3: f64) -> f64 {
    0.5 * there_m3 * (1.0 - fast::exp(-2.0 * wanted_m3 / there_m3))
}

/// `1 - e^-x` of every lane, x not negative.
#[inline(always)]
fn eased<const L: usize>(wanted: &Lanes<L>) -> Lanes<L> {
    let (mut eased, mut small) = ([0.0; L], [0.0; L]);
    for lane in 0..L {
        small[lane] = fast::one_less_exp_small(wanted[lane]);
    }
    if wanted.iter().all(|wanted| *wanted <= 0.5) {
        return small;
    }
    for lane in 0..L {
        eased[lane] = 1.0 - fast::exp(-wanted[lane]);
    }
    for lane in 0..L {
        eased[lane] = if wanted[lane] <= 0.5 {
            small[lane]
        } else {
            eased[lane]
        };
    }
    eased
}

/// River water of every lane.
struct Under<const L: usize> {
    volume_m3: Lanes<L>,
    temp_degc: Lanes<L>,
    oxygen_mg_l: Lanes<L>,
    river_frac: Lanes<L>,
}

/// Down the bed, each lane from the column and layer in `begins`, column by column from `first` toward the lake, to the layer
/// above one that is at least as dense. Sets where a lane comes to rest.
pub(super) fn go_down<const L: usize>(
    flow: &mut Flow<L>,
    lake: &mut Lake<'_, L>,
    (first, begins): (usize, [Option<(usize, usize)>; L]),
    (carried, rests): (&mut [Carried; L], &mut [(usize, usize); L]),
    (options, step_s): (&RiverOptions, f64),
) {
    let mut under = Under {
        volume_m3: std::array::from_fn(|lane| carried[lane].volume_m3),
        temp_degc: std::array::from_fn(|lane| carried[lane].water.temp_degc),
        oxygen_mg_l: std::array::from_fn(|lane| carried[lane].water.oxygen_mg_l),
        river_frac: std::array::from_fn(|lane| carried[lane].water.river_frac),
    };
    let mut going = begins;
    let mut column = first;
    loop {
        let from: [Option<usize>; L] = going.map(|at| at.filter(|at| at.0 == column).map(|at| at.1));
        let next = lake.places[column].toward_lake.as_ref().map(|(next, _)| *next);
        if from.iter().any(Option::is_some) {
            let rest = pass_column(flow, lake, (column, from), &mut under, (options, step_s));
            for lane in (0..L).filter(|lane| from[*lane].is_some()) {
                let bed = lake.places[column].first_layer;
                let further = next.filter(|next| lake.places[*next].first_layer <= bed);
                going[lane] = None;
                match (rest[lane], further) {
                    (Some(layer), _) => rests[lane] = (column, layer.min(lake.columns[column].top[lane])),
                    (None, None) => rests[lane] = (column, 0),
                    (None, Some(next)) => {
                        let layer = bed - lake.places[next].first_layer;
                        going[lane] = Some((next, layer.min(lake.columns[next].top[lane])));
                    }
                }
            }
        }
        match next {
            Some(next) => column = next,
            None => break,
        }
    }
    for lane in (0..L).filter(|lane| begins[*lane].is_some()) {
        carried[lane] = Carried {
            volume_m3: under.volume_m3[lane],
            water: Water {
                temp_degc: under.temp_degc[lane],
                oxygen_mg_l: under.oxygen_mg_l[lane],
                river_frac: under.river_frac[lane],
            },
        };
    }
}

/// Down one column, each lane from the layer `from`; gives the layer where a lane comes to rest, if it does before the lowest.
fn pass_column<const L: usize>(
    flow: &mut Flow<L>,
    lake: &mut Lake<'_, L>,
    (column, from): (usize, [Option<usize>; L]),
    under: &mut Under<L>,
    (options, step_s): (&RiverOptions, f64),
) -> [Option<usize>; L] {
    // In a lane whose bed does not fall nothing is taken in.
    let still = NormalFlow {
        richardson: 1.0,
        entrainment: 0.0,
        half_angle_tan: 1.0,
    };
    let channels: [Option<TriangularChannel>; L] =
        std::array::from_fn(|lane| channel(lake, (column, lane), options.drag_coefficient));
    let normal: [NormalFlow; L] = channels.map(|c| c.and_then(|c| c.normal_flow()).unwrap_or(still));
    let per_slope = channels.map(|c| c.map_or(0.0, |c| 1.0 / c.slope));
    let held = &mut lake.columns[column];
    let density = &flow.density_kg_m3[column];
    let counted = &mut flow.slots[column].net_m3;
    let first_layer = lake.places[column].first_layer;
    let rests = wide(
        #[inline(always)]
        || {
            let bed = Bed {
                grid: &lake.places[column].grid,
                normal: &normal,
                per_slope,
                from,
                step_s,
            };
            bed.pass(held, density, under, |layer, taken_m3| {
                if let Some(net_m3) = counted.get_mut(layer + first_layer) {
                    for lane in 0..L {
                        net_m3[lane] -= taken_m3[lane];
                    }
                }
            })
        },
    );
    rests.map(|rests| (rests >= 0.0).then_some(rests as usize))
}

/// The bed of a column as each lane's river meets it.
struct Bed<'a, const L: usize> {
    grid: &'a Grid,
    normal: &'a [NormalFlow; L],
    /// Way for a metre down; 0 where nothing is taken in.
    per_slope: Lanes<L>,
    from: [Option<usize>; L],
    step_s: f64,
}

impl<const L: usize> Bed<'_, L> {
    /// Down the layers; gives the number of the layer where each lane comes to rest, or [`NOWHERE`], and hands over what is taken
    /// out of each layer, m3.
    #[inline(always)]
    fn pass(
        &self,
        held: &mut Column<L>,
        density_kg_m3: &[Lanes<L>],
        under: &mut Under<L>,
        mut take: impl FnMut(usize, &Lanes<L>),
    ) -> Lanes<L> {
        let first: Lanes<L> = self.from.map(|from| from.map_or(NOWHERE, |from| from as f64));
        let highest = self.from.iter().flatten().max().copied().unwrap_or(0);
        let mut rests = [NOWHERE; L];
        let is_in = first.map(|first| if first >= 0.0 { 1.0 } else { 0.0 });
        for layer in (0..=highest).rev() {
            let (number, thick_m) = (layer as f64, self.grid.thickness_m(layer));
            let ambient_kg_m3 = &density_kg_m3[layer];
            let volume_m3 = &mut held.volume_m3[layer];
            let (mut is_there, mut goes, mut rests_on) = ([0.0; L], [0.0; L], [0.0; L]);
            let (mut apart, mut is_open) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                apart[lane] = water_density_kg_m3(under.temp_degc[lane]) - ambient_kg_m3[lane];
            }
            for lane in 0..L {
                let below_first = first[lane] - number;
                is_there[lane] = if below_first >= 0.0 { 1.0 } else { 0.0 };
                is_there[lane] = if rests[lane] < 0.0 { is_there[lane] } else { 0.0 };
                // Lighter than this layer: it rests on it. In the first layer looked at it stays where it is.
                rests_on[lane] = if below_first > 0.0 {
                    number + 1.0
                } else {
                    first[lane]
                };
                goes[lane] = if apart[lane] > 0.0 { is_there[lane] } else { 0.0 };
            }
            for lane in 0..L {
                let stops = is_there[lane] - goes[lane];
                rests[lane] = if stops > 0.0 { rests_on[lane] } else { rests[lane] };
                is_open[lane] = if rests[lane] < 0.0 { is_in[lane] } else { 0.0 };
            }
            if !any(&is_open) {
                break;
            }
            for lane in 0..L {
                goes[lane] = if volume_m3[lane] > 0.0 { goes[lane] } else { 0.0 };
            }
            let mut taken_m3 = self.wanted_m3(thick_m, under, volume_m3, (&apart, ambient_kg_m3));
            for lane in 0..L {
                taken_m3[lane] = if goes[lane] > 0.0 { taken_m3[lane] } else { 0.0 };
            }
            let mut share = [0.0; L];
            for lane in 0..L {
                volume_m3[lane] -= taken_m3[lane];
                under.volume_m3[lane] += taken_m3[lane];
                share[lane] = taken_m3[lane] / under.volume_m3[lane];
            }
            for lane in 0..L {
                share[lane] = if goes[lane] > 0.0 { share[lane] } else { 0.0 };
            }
            take(layer, &taken_m3);
            for (own, ambient) in [
                (&mut under.temp_degc, &held.temp_degc[layer]),
                (&mut under.oxygen_mg_l, &held.oxygen_mg_l[layer]),
                (&mut under.river_frac, &held.river_frac[layer]),
            ] {
                for lane in 0..L {
                    own[lane] += share[lane] * (ambient[lane] - own[lane]);
                }
            }
        }
        rests
    }

    /// What each lane's river takes in on its way through a layer that is less dense by `apart`, m3; of account only where it is
    /// and the layer holds water.
    #[inline(always)]
    fn wanted_m3(
        &self,
        thick_m: f64,
        under: &Under<L>,
        volume_m3: &Lanes<L>,
        (apart, ambient_kg_m3): (&Lanes<L>, &Lanes<L>),
    ) -> Lanes<L> {
        let (mut heavier_m_s2, mut depth_ratio) = ([0.0; L], [0.0; L]);
        for lane in 0..L {
            // Where it does not sink any number will do.
            let more = if apart[lane] > 0.0 { apart[lane] } else { 1.0 };
            heavier_m_s2[lane] = more * (GRAVITY_M_S2 / ambient_kg_m3[lane]);
        }
        let per_step_s = 1.0 / self.step_s;
        for lane in 0..L {
            let flow_m3s = under.volume_m3[lane] * per_step_s;
            let way_m = thick_m * self.per_slope[lane];
            depth_ratio[lane] = self.normal[lane].depth_ratio(flow_m3s, heavier_m_s2[lane], way_m);
        }
        let dilution = dilutions(&depth_ratio);
        let mut wanted = [0.0; L];
        for lane in 0..L {
            wanted[lane] = under.volume_m3[lane] * (dilution[lane] - 1.0) * (2.0 / volume_m3[lane]);
        }
        let mut wanted_m3 = eased(&wanted);
        for lane in 0..L {
            wanted_m3[lane] *= 0.5 * volume_m3[lane];
        }
        wanted_m3
    }
}

/// The channel down a column's piece of the valley, as it is at its middle; `None` where the bed does not fall, and then
/// nothing is taken in. Without a thalweg it is ten times as wide as deep to each side, and falls to the deepest place over
/// the side of a square as large as the surface (project choices).
fn channel<const L: usize>(
    lake: &Lake<'_, L>,
    (column, lane): (usize, usize),
    drag_coefficient: f64,
) -> Option<TriangularChannel> {
    let held = &lake.columns[column];
    let level_m = held.surface_elevation_m[lane];
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
            let length_m = held.surface_area_m2[lane].sqrt();
            (depth_m, UNKNOWN_HALF_ANGLE_TAN * depth_m, depth_m / length_m)
        }
    };
    (depth_m > 0.0 && slope > 0.0).then(|| TriangularChannel {
        half_angle_tan: half_width_m / depth_m,
        slope,
        drag_coefficient,
    })
}
