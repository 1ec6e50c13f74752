//! Water that goes through the network: from rivers through the faces to the outlets, at one level of all columns.

use super::budget::Budget;
use super::closed::Closed;
use super::error::StepError;
use super::layout::{Layout, Place};
use super::network::Inputs;
use super::rest::layer_at;
use super::river::{RiverOptions, RiverPath, enter};
use super::slot::{Route, Slot};
use crate::column::layered::{Column, Drawn, LayerSource, Transport, Water, withdraw_m3s};

/// The lake as one lane sees it.
pub(super) struct Lake<'a, const L: usize> {
    pub places: &'a [Place],
    pub columns: &'a mut [Column<L>],
    pub lane: usize,
}

/// The working memory of the flow.
#[derive(Debug, Clone)]
pub(super) struct Flow {
    pub transports: Vec<Transport>,
    pub slots: Vec<Slot>,
    pub takes: Vec<LayerSource>,
    pub taken: Vec<Water>,
    drawn_m3s: Vec<f64>,
}

impl Flow {
    pub fn new(layout: &Layout) -> Flow {
        let layers = layout.whole.layers();
        // Rivers, faces and outlets of one step; more would be asked for once.
        let most = 8 * layers + 64;
        Flow {
            transports: layout
                .places
                .iter()
                .map(|p| Transport::new(p.grid.layers()))
                .collect(),
            slots: layout.places.iter().map(|_| Slot::new(layers, most)).collect(),
            takes: Vec::with_capacity(most),
            taken: Vec::with_capacity(most),
            drawn_m3s: vec![0.0; layers],
        }
    }

    /// One lane: rivers, straight flows, outlets; then the faces; then every column.
    pub fn step<const L: usize>(
        &mut self,
        layout: &Layout,
        mut lake: Lake<'_, L>,
        (closed, level_m): (&mut Closed<L>, f64),
        (inputs, options): (&Inputs<'_, L>, &RiverOptions),
        (budget, paths): (&mut Budget<L>, &mut [[Option<RiverPath>; L]]),
    ) -> Result<(), StepError> {
        self.slots.iter_mut().for_each(Slot::clear);
        let lane = lake.lane;
        for (river, path) in inputs.rivers.iter().zip(paths) {
            path[lane] = None;
            if river.discharge_m3s[lane] <= 0.0 {
                continue;
            }
            let entry = closed.host(layout, river.column, lane);
            let empty = StepError::Empty { column: entry, lane };
            let found = enter(self, &mut lake, (river, entry), options, inputs.step_s);
            path[lane] = Some(found.ok_or(empty)?);
            budget
                .rivers
                .add(lane, river.discharge_m3s[lane] * inputs.step_s, river.water[lane]);
        }
        self.add_direct(layout, &lake, closed, inputs, budget);
        self.add_outlets(&lake, inputs);
        if layout.places.len() > 1 {
            self.move_closed(layout, &lake, closed, level_m)?;
            for column in (1..layout.places.len())
                .rev()
                .filter(|c| closed.is_open(*c, lane))
            {
                self.find_face(&lake, column, level_m)?;
            }
        }
        self.transport(&mut lake, closed, budget)?;
        even_surfaces(&mut lake, closed);
        Ok(())
    }

    fn add_direct<const L: usize>(
        &mut self,
        layout: &Layout,
        lake: &Lake<'_, L>,
        closed: &Closed<L>,
        inputs: &Inputs<'_, L>,
        budget: &mut Budget<L>,
    ) {
        let lane = lake.lane;
        for direct in inputs.direct.iter().filter(|d| d.flow_m3s[lane] != 0.0) {
            let column = closed.host(layout, direct.column, lane);
            let layer = layer_at(lake, column, direct.elevation_m);
            let volume_m3 = direct.flow_m3s[lane] * inputs.step_s;
            let water = direct.water[lane];
            let route = if volume_m3 > 0.0 {
                Route::Into
            } else {
                Route::Direct
            };
            let first = lake.places[column].first_layer;
            self.slots[column].net_m3[layer + first] += volume_m3;
            self.slots[column].push(
                LayerSource {
                    layer,
                    volume_m3,
                    water,
                },
                route,
            );
            if volume_m3 > 0.0 {
                budget.direct.add(lane, volume_m3, water);
            }
        }
    }

    fn add_outlets<const L: usize>(&mut self, lake: &Lake<'_, L>, inputs: &Inputs<'_, L>) {
        let (lane, main) = (lake.lane, &lake.columns[0]);
        let place = &lake.places[0];
        self.drawn_m3s.fill(0.0);
        for outlet in inputs.outlets {
            let drawn = Drawn {
                elevation_m: outlet.elevation_m,
                flow_m3s: outlet.flow_m3s[lane],
                angle_rad: outlet.angle_rad,
            };
            withdraw_m3s(&place.grid, main, lane, drawn, &mut self.drawn_m3s);
        }
        for layer in 0..=main.top[lane] {
            let volume_m3 = -self.drawn_m3s[layer] * inputs.step_s;
            if volume_m3 < 0.0 {
                let water = main.water(layer, lane);
                self.slots[0].net_m3[layer + place.first_layer] += volume_m3;
                self.slots[0].push(
                    LayerSource {
                        layer,
                        volume_m3,
                        water,
                    },
                    Route::Outlet,
                );
            }
        }
    }

    /// Closed water rises and falls with the lake, through the surface of its host.
    fn move_closed<const L: usize>(
        &mut self,
        layout: &Layout,
        lake: &Lake<'_, L>,
        closed: &mut Closed<L>,
        level_m: f64,
    ) -> Result<(), StepError> {
        let lane = lake.lane;
        for column in 1..layout.places.len() {
            if closed.is_open(column, lane) {
                continue;
            }
            let grid = &layout.places[column].grid;
            let wanted_m3 = grid.volume_m3(level_m).ok_or(StepError::Level { lane })?;
            let held = closed.held_mut(column, lane);
            let gain_m3 = wanted_m3 - held.volume_m3;
            if gain_m3 == 0.0 {
                continue;
            }
            let water = held.water;
            if gain_m3 < 0.0 {
                held.volume_m3 = wanted_m3;
            }
            let host = closed.host(layout, column, lane);
            let layer = lake.columns[host].top[lane];
            let route = if gain_m3 > 0.0 {
                Route::Closed(column)
            } else {
                Route::Into
            };
            self.slots[host].net_m3[layer + lake.places[host].first_layer] -= gain_m3;
            let volume_m3 = -gain_m3;
            self.slots[host].push(
                LayerSource {
                    layer,
                    volume_m3,
                    water,
                },
                route,
            );
        }
        Ok(())
    }

    /// What must go through a column's face so that it ends at the common level, and in which layers.
    ///
    /// `Q = what comes in - (V(level) - V)`, in and out of the column and through the faces behind it. It goes in the
    /// layers in which the column has more (less, where it is to be filled) than before, those under the sill counted
    /// to its layer: so an intrusion passes on at its own density and nothing is lifted through a thermocline. What is
    /// over that goes through the whole open face alike (project choice). It never runs both ways at once: that is the
    /// exchange's part.
    fn find_face<const L: usize>(
        &mut self,
        lake: &Lake<'_, L>,
        column: usize,
        level_m: f64,
    ) -> Result<(), StepError> {
        let lane = lake.lane;
        let place = &lake.places[column];
        let Some((next, face)) = &place.toward_lake else {
            return Ok(());
        };
        let wanted_m3 = place.grid.volume_m3(level_m).ok_or(StepError::Level { lane })?;
        let held = &lake.columns[column];
        let slot = &mut self.slots[column];
        let came_m3: f64 = slot.sources.iter().map(|s| s.volume_m3).sum();
        // What crosses the faces behind this one.
        let behind_m3 = slot.face_sum_m3;
        let sum_m3 = held.whole_m3(lane) + came_m3 + behind_m3 - wanted_m3;
        let first = face.first_layer;
        let top = (held.top[lane] + place.first_layer).max(first);
        let sign = if sum_m3 < 0.0 { -1.0 } else { 1.0 };
        let faces_m = place.grid.face_elevation_m();
        slot.face_m3.fill(0.0);
        let (mut own, mut area) = (0.0, 0.0);
        for layer in place.first_layer..slot.net_m3.len() {
            let own_m3 = (sign * slot.net_m3[layer]).max(0.0);
            slot.face_m3[layer.clamp(first, top)] += own_m3;
            own += own_m3;
        }
        let open_m2 = |layer: usize| {
            let i = layer - place.first_layer;
            let upper_m = if layer == top {
                held.surface_elevation_m[lane]
            } else {
                faces_m[i + 1]
            };
            face.width_m[layer] * (upper_m - faces_m[i]).max(0.0)
        };
        for layer in first..=top {
            area += open_m2(layer);
        }
        let rest_m3 = (sign * sum_m3 - own).max(0.0);
        let scale = if rest_m3 > 0.0 || own <= 0.0 {
            1.0
        } else {
            sign * sum_m3 / own
        };
        for layer in first..=top {
            let even = if area > 0.0 {
                open_m2(layer) / area
            } else {
                f64::from(u8::from(layer == top))
            };
            slot.face_m3[layer] = sign * (scale * slot.face_m3[layer] + rest_m3 * even);
        }
        slot.face_sum_m3 = sum_m3;
        let [own, other] = self
            .slots
            .get_disjoint_mut([column, *next])
            .map_err(|_| StepError::Level { lane })?;
        // Until its own turn comes a column gathers here what crosses the faces behind it.
        other.face_sum_m3 += sum_m3;
        for layer in first..=top {
            other.net_m3[layer] += own.face_m3[layer];
        }
        Ok(())
    }

    /// Every column in its turn, those that give before those that get.
    fn transport<const L: usize>(
        &mut self,
        lake: &mut Lake<'_, L>,
        closed: &mut Closed<L>,
        budget: &mut Budget<L>,
    ) -> Result<(), StepError> {
        let lane = lake.lane;
        let count = lake.places.len();
        for _ in 0..count {
            for column in 0..count {
                if self.slots[column].done
                    || !closed.is_open(column, lane)
                    || !self.is_ready(lake, closed, column)
                {
                    continue;
                }
                self.add_faces(lake, closed, column);
                self.step_column(lake, column)?;
                self.deliver(lake, closed, column, budget);
            }
        }
        Ok(())
    }

    /// Whether everything that runs into a column is known.
    fn is_ready<const L: usize>(&self, lake: &Lake<'_, L>, closed: &Closed<L>, column: usize) -> bool {
        (1..lake.places.len())
            .filter(|c| closed.is_open(*c, lake.lane))
            .all(|c| {
                let Some((next, _)) = &lake.places[c].toward_lake else {
                    return true;
                };
                let gives = self.slots[c].face_sum_m3 >= 0.0;
                let (giver, getter) = if gives { (c, *next) } else { (*next, c) };
                getter != column || self.slots[giver].done
            })
    }

    /// What leaves a column through its faces.
    fn add_faces<const L: usize>(&mut self, lake: &Lake<'_, L>, closed: &Closed<L>, column: usize) {
        let first_layer = lake.places[column].first_layer;
        for face in (1..lake.places.len()).filter(|c| closed.is_open(*c, lake.lane)) {
            let Some((next, _)) = &lake.places[face].toward_lake else {
                continue;
            };
            let gives = self.slots[face].face_sum_m3 >= 0.0;
            let (giver, getter) = if gives { (face, *next) } else { (*next, face) };
            if giver != column {
                continue;
            }
            for layer in first_layer..self.slots[face].face_m3.len() {
                let volume_m3 = -self.slots[face].face_m3[layer].abs();
                if volume_m3 < 0.0 {
                    let water = Water {
                        temp_degc: 0.0,
                        oxygen_mg_l: 0.0,
                        river_frac: 0.0,
                    };
                    let layer = layer - first_layer;
                    self.slots[column].push(
                        LayerSource {
                            layer,
                            volume_m3,
                            water,
                        },
                        Route::Column(getter),
                    );
                }
            }
        }
    }

    fn step_column<const L: usize>(
        &mut self,
        lake: &mut Lake<'_, L>,
        column: usize,
    ) -> Result<(), StepError> {
        let (slot, lane) = (&mut self.slots[column], lake.lane);
        slot.done = true;
        slot.taken.clear();
        slot.taken.extend(slot.sources.iter().map(|s| s.water));
        let fine = self.transports[column].step_recording(
            &lake.places[column].grid,
            &mut lake.columns[column],
            lane,
            &slot.sources,
            &mut slot.taken,
        );
        if fine {
            Ok(())
        } else {
            Err(StepError::Empty { column, lane })
        }
    }

    /// What a column gave goes where it belongs.
    fn deliver<const L: usize>(
        &mut self,
        lake: &Lake<'_, L>,
        closed: &mut Closed<L>,
        column: usize,
        budget: &mut Budget<L>,
    ) {
        let lane = lake.lane;
        for i in 0..self.slots[column].sources.len() {
            let slot = &self.slots[column];
            let (source, route, water) = (slot.sources[i], slot.routes[i], slot.taken[i]);
            match route {
                Route::Into => {}
                Route::Outlet => budget.outlets.add(lane, source.volume_m3, water),
                Route::Direct => budget.direct.add(lane, source.volume_m3, water),
                Route::Closed(other) => closed.held_mut(other, lane).run_in(-source.volume_m3, water),
                Route::Column(other) => {
                    let common = source.layer + lake.places[column].first_layer;
                    let layer = common - lake.places[other].first_layer;
                    let volume_m3 = -source.volume_m3;
                    self.slots[other].push(
                        LayerSource {
                            layer,
                            volume_m3,
                            water,
                        },
                        Route::Into,
                    );
                }
            }
        }
    }
}

/// All open columns have their surfaces at the main body's level and in its layer: their volumes put them there but for
/// rounding, and which layer holds the surface may hang on that.
fn even_surfaces<const L: usize>(lake: &mut Lake<'_, L>, closed: &Closed<L>) {
    let lane = lake.lane;
    let (level_m, top) = (
        lake.columns[0].surface_elevation_m[lane],
        lake.columns[0].top[lane] + lake.places[0].first_layer,
    );
    for column in (1..lake.places.len()).filter(|c| closed.is_open(*c, lane)) {
        let place = &lake.places[column];
        lake.columns[column].put_surface(&place.grid, lane, level_m, top.saturating_sub(place.first_layer));
    }
}
