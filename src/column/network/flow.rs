//! Water that goes through the network: from rivers through the faces to the outlets, at one level of all columns. All
//! lanes go together; each as if it were alone.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::budget::Budget;
use super::closed::Closed;
use super::error::StepError;
use super::layout::{Layout, Place};
use super::network::Inputs;
use super::rest::layer_at;
use super::river::{RiverOptions, RiverPath, enter};
use super::slot::{Route, Slot, Taken};
use crate::column::layered::{Column, Drawn, Lanes, Transport, densities_kg_m3, withdraw_m3s};
use crate::math::wide::wide;
use crate::physics::water::water_density_kg_m3;

/// The lake.
pub(super) struct Lake<'a, const L: usize> {
    pub places: &'a [Place],
    pub columns: &'a mut [Column<L>],
}

/// The working memory of the flow.
#[derive(Debug, Clone)]
pub(super) struct Flow<const L: usize> {
    pub transports: Vec<Transport<L>>,
    pub slots: Vec<Slot<L>>,
    /// Density at the beginning of the step by column and layer, kg/m3: what rivers take on their way and what outlets
    /// and faces move does not change it until the transport does.
    pub density_kg_m3: Vec<Vec<Lanes<L>>>,
}

impl<const L: usize> Flow<L> {
    pub fn new(layout: &Layout) -> Flow<L> {
        let layers = || layout.places.iter().map(|place| place.grid.layers());
        let common = if layout.places.len() > 1 {
            layout.whole.layers()
        } else {
            0
        };
        Flow {
            transports: layers().map(Transport::new).collect(),
            slots: layers().map(|layers| Slot::new(layers, common)).collect(),
            density_kg_m3: layers().map(|layers| vec![[0.0; L]; layers]).collect(),
        }
    }

    /// Rivers, straight flows, outlets; then the faces; then every column in one transport of all of these.
    pub fn step(
        &mut self,
        layout: &Layout,
        mut lake: Lake<'_, L>,
        (closed, level_m): (&mut Closed<L>, Lanes<L>),
        (inputs, options): (&Inputs<'_, L>, &RiverOptions),
        (budget, paths): (&mut Budget<L>, &mut [[Option<RiverPath>; L]]),
    ) -> Result<(), StepError> {
        self.slots.iter_mut().for_each(Slot::clear);
        for (column, into) in lake.columns.iter().zip(&mut self.density_kg_m3) {
            wide(
                #[inline(always)]
                || densities_kg_m3(column, into),
            );
        }
        for (river, path) in inputs.rivers.iter().zip(paths) {
            let entry = std::array::from_fn(|lane| closed.host(layout, river.column, lane));
            *path = enter(self, &mut lake, (river, entry), options, inputs.step_s);
            for lane in (0..L).filter(|lane| river.discharge_m3s[*lane] > 0.0) {
                let volume_m3 = river.discharge_m3s[lane] * inputs.step_s;
                budget.rivers.add(lane, volume_m3, river.water[lane]);
            }
        }
        self.add_direct(layout, &lake, closed, inputs, budget);
        self.add_outlets(&lake, inputs);
        if layout.places.len() > 1 {
            for lane in 0..L {
                self.move_closed(layout, &lake, closed, (lane, level_m[lane]))?;
            }
            for column in (1..layout.places.len()).rev() {
                self.find_face(&lake, closed, column, &level_m)?;
            }
        }
        self.transport(&mut lake, closed, budget)?;
        even_surfaces(&mut lake, closed);
        Ok(())
    }

    /// Reckons the densities of a lane anew, where a river has filled a column.
    pub fn renew_density(&mut self, held: &Column<L>, (column, lane): (usize, usize)) {
        for (density, temp_degc) in self.density_kg_m3[column].iter_mut().zip(&held.temp_degc) {
            density[lane] = water_density_kg_m3(temp_degc[lane]);
        }
    }

    fn add_direct(
        &mut self,
        layout: &Layout,
        lake: &Lake<'_, L>,
        closed: &Closed<L>,
        inputs: &Inputs<'_, L>,
        budget: &mut Budget<L>,
    ) {
        for direct in inputs.direct {
            for lane in (0..L).filter(|lane| direct.flow_m3s[*lane] != 0.0) {
                let column = closed.host(layout, direct.column, lane);
                let layer = layer_at(lake, (column, lane), direct.elevation_m);
                let (slot, first_layer) = (&mut self.slots[column], lake.places[column].first_layer);
                let volume_m3 = direct.flow_m3s[lane] * inputs.step_s;
                if volume_m3 > 0.0 {
                    let water = direct.water[lane];
                    slot.push_in((layer, first_layer), lane, (volume_m3, water));
                    budget.direct.add(lane, volume_m3, water);
                } else {
                    let taken = Taken {
                        layer,
                        lane,
                        volume_m3: -volume_m3,
                        route: Route::Direct,
                    };
                    slot.push_out(taken, first_layer);
                }
            }
        }
    }

    fn add_outlets(&mut self, lake: &Lake<'_, L>, inputs: &Inputs<'_, L>) {
        let (main, place, slot) = (&lake.columns[0], &lake.places[0], &mut self.slots[0]);
        for outlet in inputs.outlets {
            let drawn = Drawn {
                elevation_m: outlet.elevation_m,
                flow_m3s: outlet.flow_m3s,
                angle_rad: outlet.angle_rad,
            };
            let into_m3s = &mut slot.outlet_m3;
            withdraw_m3s(&place.grid, main, &self.density_kg_m3[0], drawn, into_m3s);
        }
        // From a second to the whole step.
        for outlet_m3 in &mut slot.outlet_m3 {
            for lane in 0..L {
                outlet_m3[lane] *= inputs.step_s;
            }
        }
        slot.push_outlets(place.first_layer);
    }

    /// Closed water rises and falls with the lake, through the surface of its host.
    fn move_closed(
        &mut self,
        layout: &Layout,
        lake: &Lake<'_, L>,
        closed: &mut Closed<L>,
        (lane, level_m): (usize, f64),
    ) -> Result<(), StepError> {
        for column in 1..layout.places.len() {
            if closed.is_open(column, lane) {
                continue;
            }
            let grid = &layout.places[column].grid;
            let wanted_m3 = grid.volume_m3(level_m).ok_or(StepError::Level { lane })?;
            let host = closed.host(layout, column, lane);
            let held = closed.held_mut(column, lane);
            let gain_m3 = wanted_m3 - held.volume_m3;
            let (layer, first_layer) = (lake.columns[host].top[lane], lake.places[host].first_layer);
            if gain_m3 < 0.0 {
                held.volume_m3 = wanted_m3;
                let water = held.water;
                self.slots[host].push_in((layer, first_layer), lane, (-gain_m3, water));
            } else if gain_m3 > 0.0 {
                let taken = Taken {
                    layer,
                    lane,
                    volume_m3: gain_m3,
                    route: Route::Closed(column),
                };
                self.slots[host].push_out(taken, first_layer);
            }
        }
        Ok(())
    }
}

/// All open columns have their surfaces at the main body's level and in its layer: their volumes put them there but for
/// rounding, and which layer holds the surface may hang on that.
fn even_surfaces<const L: usize>(lake: &mut Lake<'_, L>, closed: &Closed<L>) {
    let Some((main, others)) = lake.columns.split_first_mut() else {
        return;
    };
    for (own, (column, place)) in others.iter_mut().zip(lake.places.iter().enumerate().skip(1)) {
        for lane in (0..L).filter(|lane| closed.is_open(column, *lane)) {
            let top = (main.top[lane] + lake.places[0].first_layer).saturating_sub(place.first_layer);
            own.put_surface(&place.grid, lane, main.surface_elevation_m[lane], top);
        }
    }
}
