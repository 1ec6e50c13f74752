//! Through the faces: what must cross each so that all columns end at one level, and the transport of every column.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::budget::Budget;
use super::closed::Closed;
use super::error::StepError;
use super::flow::{Flow, Lake};
use super::layout::Place;
use super::slot::Route;
use crate::column::layered::{Lanes, Water, any};
use crate::math::wide::wide;

impl<const L: usize> Flow<L> {
    /// What must go through a column's face so that it ends at the common level, and in which layers.
    ///
    /// `Q = what comes in - (V(level) - V)`, in and out of the column and through the faces behind it. It goes in the
    /// layers in which the column has more (less, where it is to be filled) than before, those under the sill counted
    /// to its layer: so an intrusion passes on at its own density and nothing is lifted through a thermocline. What is
    /// over that goes through the whole open face alike (project choice). It never runs both ways at once: that is the
    /// exchange's part.
    pub(super) fn find_face(
        &mut self,
        lake: &Lake<'_, L>,
        closed: &Closed<L>,
        column: usize,
        level_m: &Lanes<L>,
    ) -> Result<(), StepError> {
        let (place, held) = (&lake.places[column], &lake.columns[column]);
        let Some((next, face)) = &place.toward_lake else {
            return Ok(());
        };
        let open = closed.open(column);
        if !open.contains(&true) {
            return Ok(());
        }
        let slot = &mut self.slots[column];
        let (came_m3, held_m3) = (slot.flows.net_m3(), held.whole_lanes_m3());
        let mut sum_m3 = [0.0; L];
        for lane in (0..L).filter(|lane| open[*lane]) {
            let wanted_m3 = place.grid.volume_m3(level_m[lane]);
            let wanted_m3 = wanted_m3.ok_or(StepError::Level { lane })?;
            // What crosses the faces behind this one was gathered in its sum.
            sum_m3[lane] = held_m3[lane] + came_m3[lane] + slot.face_sum_m3[lane] - wanted_m3;
        }
        let first = face.first_layer;
        let top: [usize; L] = held.top.map(|top| (top + place.first_layer).max(first));
        let highest = top.iter().max().copied().unwrap_or(first);
        let share = Sharing {
            place,
            width_m: &face.width_m,
            level_m: held.surface_elevation_m,
            span: (first, highest),
            top: top.map(|top| top as f64),
            open: mask(open),
        };
        wide(
            #[inline(always)]
            || share.share(&slot.net_m3, sum_m3, &mut slot.face_m3),
        );
        slot.face_sum_m3 = sum_m3;
        if let Ok([own, other]) = self.slots.get_disjoint_mut([column, *next]) {
            for lane in 0..L {
                other.face_sum_m3[lane] += sum_m3[lane];
            }
            for layer in first..=highest {
                for lane in 0..L {
                    other.net_m3[layer][lane] += own.face_m3[layer][lane];
                }
            }
        }
        Ok(())
    }

    /// Every column in its turn, lane by lane those that give before those that get.
    pub(super) fn transport(
        &mut self,
        lake: &mut Lake<'_, L>,
        closed: &mut Closed<L>,
        budget: &mut Budget<L>,
    ) -> Result<(), StepError> {
        let count = lake.places.len();
        for _ in 0..count {
            let mut is_left = false;
            // From the heads to the lake, as most water goes.
            for column in (0..count).rev() {
                let waiting = self.waiting(closed, column);
                if !waiting.contains(&true) {
                    continue;
                }
                let moving = self.ready(lake, closed, column, waiting);
                is_left |= moving != waiting;
                if !moving.contains(&true) {
                    continue;
                }
                self.add_faces(lake, column, moving);
                for lane in 0..L {
                    self.slots[column].done[lane] |= moving[lane];
                }
                let grid = &lake.places[column].grid;
                let flows = &mut self.slots[column].flows;
                self.transports[column]
                    .step(grid, &mut lake.columns[column], flows, moving)
                    .map_err(|lane| StepError::Empty { column, lane })?;
                self.deliver(lake, column, moving);
                self.hand_over(closed, column, moving, budget);
            }
            if !is_left {
                break;
            }
        }
        Ok(())
    }

    /// Lanes in which a column is open and has not been moved yet.
    fn waiting(&self, closed: &Closed<L>, column: usize) -> [bool; L] {
        let (open, done) = (closed.open(column), &self.slots[column].done);
        std::array::from_fn(|lane| open[lane] && !done[lane])
    }

    /// Those of some lanes of a column in which all that runs into it is known.
    fn ready(&self, lake: &Lake<'_, L>, closed: &Closed<L>, column: usize, waiting: [bool; L]) -> [bool; L] {
        let mut ready = waiting;
        for (face, other) in faces_of(lake, column) {
            let slot = &self.slots[face];
            for lane in (0..L).filter(|lane| closed.is_open(face, *lane)) {
                ready[lane] &= self.gives(face, column, lane)
                    || slot.face_sum_m3[lane] == 0.0
                    || self.slots[other].done[lane];
            }
        }
        ready
    }

    /// Whether a column gives what goes through a face of its.
    fn gives(&self, face: usize, column: usize, lane: usize) -> bool {
        (self.slots[face].face_sum_m3[lane] >= 0.0) == (face == column)
    }

    /// Lanes in which a column that is moved gives what goes through a face of its, as a mask; `None` where it is none.
    fn giving(&self, face: usize, column: usize, moving: [bool; L]) -> Option<Lanes<L>> {
        let gives = std::array::from_fn(|lane| moving[lane] && self.gives(face, column, lane));
        gives.contains(&true).then(|| mask(gives))
    }

    /// What leaves a column through its faces.
    fn add_faces(&mut self, lake: &Lake<'_, L>, column: usize, moving: [bool; L]) {
        let first_layer = lake.places[column].first_layer;
        for (face, _) in faces_of(lake, column) {
            let Some(gives) = self.giving(face, column, moving) else {
                continue;
            };
            for layer in first_layer..self.slots[face].face_m3.len() {
                let volume_m3 = given(&self.slots[face].face_m3[layer], &gives);
                if any(&volume_m3) {
                    self.slots[column].flows.take_row(layer - first_layer, &volume_m3);
                }
            }
        }
    }

    /// What a column gave through its faces goes into its neighbours.
    fn deliver(&mut self, lake: &Lake<'_, L>, column: usize, moving: [bool; L]) {
        let first_layer = lake.places[column].first_layer;
        for (face, other) in faces_of(lake, column) {
            let Some(gives) = self.giving(face, column, moving) else {
                continue;
            };
            let other_first = lake.places[other].first_layer;
            for layer in first_layer.max(other_first)..self.slots[face].face_m3.len() {
                let volume_m3 = given(&self.slots[face].face_m3[layer], &gives);
                if any(&volume_m3) {
                    let water = self.transports[column].taken(layer - first_layer);
                    let flows = &mut self.slots[other].flows;
                    flows.give_row(layer - other_first, &volume_m3, water);
                }
            }
        }
    }

    /// What else was taken out of a column goes where it belongs.
    fn hand_over(&self, closed: &mut Closed<L>, column: usize, moving: [bool; L], budget: &mut Budget<L>) {
        let (slot, transport) = (&self.slots[column], &self.transports[column]);
        let moving_mask = mask(moving);
        for (layer, outlet_m3) in slot.outlet_m3.iter().enumerate().filter(|row| any(row.1)) {
            let volume_m3 = given(outlet_m3, &moving_mask);
            budget.outlets.take_row(&volume_m3, transport.taken(layer));
        }
        for taken in slot.taken.iter().filter(|taken| moving[taken.lane]) {
            let [temp_degc, oxygen_mg_l, river_frac] = transport.taken(taken.layer);
            let water = Water {
                temp_degc: temp_degc[taken.lane],
                oxygen_mg_l: oxygen_mg_l[taken.lane],
                river_frac: river_frac[taken.lane],
            };
            match taken.route {
                Route::Direct => budget.direct.add(taken.lane, -taken.volume_m3, water),
                Route::Closed(other) => closed.held_mut(other, taken.lane).run_in(taken.volume_m3, water),
            }
        }
    }
}

/// The faces of a column, by the column away from the lake, each with the neighbour beyond it.
fn faces_of<'a, const L: usize>(
    lake: &Lake<'a, L>,
    column: usize,
) -> impl Iterator<Item = (usize, usize)> + use<'a, L> {
    let places = lake.places;
    (1..places.len()).filter_map(move |face| {
        let (next, _) = places[face].toward_lake.as_ref()?;
        if face == column {
            Some((face, *next))
        } else {
            (*next == column).then_some((face, face))
        }
    })
}

/// 1 in some lanes, 0 in the others.
fn mask<const L: usize>(lanes: [bool; L]) -> Lanes<L> {
    lanes.map(|lane| f64::from(u8::from(lane)))
}

/// Volumes without their signs in the lanes of a mask, 0 in the others.
#[inline(always)]
fn given<const L: usize>(volume_m3: &Lanes<L>, lanes: &Lanes<L>) -> Lanes<L> {
    std::array::from_fn(|lane| {
        if lanes[lane] > 0.0 {
            volume_m3[lane].abs()
        } else {
            0.0
        }
    })
}

/// A face over whose layers a volume is to be shared out.
struct Sharing<'a, const L: usize> {
    place: &'a Place,
    width_m: &'a [f64],
    level_m: Lanes<L>,
    /// Lowest layer that is open and highest surface layer, of the common grid.
    span: (usize, usize),
    /// Surface layer of each lane.
    top: Lanes<L>,
    open: Lanes<L>,
}

impl<const L: usize> Sharing<'_, L> {
    /// Shares out `sum_m3` of each lane as [`Flow::find_face`] says, by what the layers have more than before.
    #[inline(always)]
    fn share(&self, net_m3: &[Lanes<L>], sum_m3: Lanes<L>, into_m3: &mut [Lanes<L>]) {
        let (first, highest) = self.span;
        let lowest = self.top.into_iter().fold(self.top[0], f64::min);
        let (mut own, mut area_m2, mut sign) = ([0.0; L], [0.0; L], [1.0; L]);
        for lane in 0..L {
            sign[lane] = if sum_m3[lane] < 0.0 { -1.0 } else { 1.0 };
        }
        // Whatever is counted above a surface or below the sill goes through the nearest layer that is open.
        for layer in self.place.first_layer..net_m3.len() {
            let into = layer.clamp(first, highest);
            let (net_m3, row) = (&net_m3[layer], &mut into_m3[into]);
            let (mut own_m3, mut over) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                own_m3[lane] = f64::max(sign[lane] * net_m3[lane], 0.0);
                own[lane] += own_m3[lane];
                let is_over = into as f64 > self.top[lane];
                over[lane] = if is_over { own_m3[lane] } else { 0.0 };
                row[lane] += if is_over { 0.0 } else { own_m3[lane] };
            }
            if into as f64 > lowest && over != [0.0; L] {
                for lane in 0..L {
                    into_m3[self.top[lane] as usize][lane] += over[lane];
                }
            }
        }
        for layer in first..=highest {
            let here_m2 = self.open_m2(layer);
            for lane in 0..L {
                area_m2[lane] += here_m2[lane];
            }
        }
        let (mut scale, mut rest_m3, mut per_m2) = ([0.0; L], [0.0; L], [0.0; L]);
        for lane in 0..L {
            let through_m3 = sign[lane] * sum_m3[lane];
            rest_m3[lane] = f64::max(through_m3 - own[lane], 0.0);
            let as_it_is = (rest_m3[lane] > 0.0) | (own[lane] <= 0.0);
            scale[lane] = if as_it_is { 1.0 } else { through_m3 / own[lane] };
            per_m2[lane] = if area_m2[lane] > 0.0 {
                1.0 / area_m2[lane]
            } else {
                0.0
            };
        }
        for layer in first..=highest {
            let (here_m2, row) = (self.open_m2(layer), &mut into_m3[layer]);
            for lane in 0..L {
                let is_top = layer as f64 == self.top[lane];
                let at_surface = if is_top { 1.0 } else { 0.0 };
                let is_open = area_m2[lane] > 0.0;
                let even = if is_open {
                    here_m2[lane] * per_m2[lane]
                } else {
                    at_surface
                };
                let through_m3 = sign[lane] * (scale[lane] * row[lane] + rest_m3[lane] * even);
                row[lane] = if self.open[lane] > 0.0 { through_m3 } else { 0.0 };
            }
        }
    }

    /// Open area in a layer, m2.
    #[inline(always)]
    fn open_m2(&self, layer: usize) -> Lanes<L> {
        let (faces_m, i) = (self.place.grid.face_elevation_m(), layer - self.place.first_layer);
        let (number, width_m) = (layer as f64, self.width_m[layer]);
        let mut open_m2 = [0.0; L];
        for lane in 0..L {
            let is_top = number == self.top[lane];
            let upper_m = if is_top {
                self.level_m[lane]
            } else {
                faces_m[i + 1]
            };
            let here_m2 = width_m * f64::max(upper_m - faces_m[i], 0.0);
            open_m2[lane] = if number <= self.top[lane] { here_m2 } else { 0.0 };
        }
        open_m2
    }
}
