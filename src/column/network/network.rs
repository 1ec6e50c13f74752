//! The network and its step.

use super::budget::{Budget, Content};
use super::closed::{Closed, Held, may_be_open, stand_in};
use super::error::StepError;
use super::exchange::Exchange;
use super::flow::{Flow, Lake};
use super::layout::{Layout, Place};
use super::pair::Pair;
use super::river::{River, RiverOptions, RiverPath};
use crate::column::layered::{Column, Lanes, Water};

/// Water through an outlet of the main body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletFlow<const L: usize> {
    /// Elevation of its middle, m.
    pub elevation_m: f64,
    /// Flow, m3/s.
    pub flow_m3s: Lanes<L>,
    /// Angle of withdrawal, rad: pi on a free face.
    pub angle_rad: f64,
}

/// Water straight into a column (positive) or out of it (negative, with the layer's own water): rain, evaporation,
/// unexplained flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DirectFlow<const L: usize> {
    /// Column.
    pub column: usize,
    /// Elevation, m; above the surface the surface layer.
    pub elevation_m: f64,
    /// Flow, m3/s.
    pub flow_m3s: Lanes<L>,
    /// What comes in.
    pub water: [Water; L],
}

/// What drives one step.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<'a, const L: usize> {
    /// Length of the step, s.
    pub step_s: f64,
    /// Rivers.
    pub rivers: &'a [River<L>],
    /// Outlets.
    pub outlets: &'a [OutletFlow<L>],
    /// Straight flows.
    pub direct: &'a [DirectFlow<L>],
}

/// What a column's own physics is told.
#[derive(Debug, Clone, Copy)]
pub struct Site<'a, const L: usize> {
    /// Which column.
    pub column: usize,
    /// Its place: zone, layers, bed.
    pub place: &'a Place,
    /// Lanes in which it is open. In the others stands stand-in water: whatever is done to it is dropped.
    pub open: [bool; L],
    /// Lanes in which it has opened in this step: what is remembered of them, such as the wind's motion, is void.
    pub opened: [bool; L],
    /// Length of the step, s.
    pub step_s: f64,
}

/// The columns of a lake, their state, their books.
#[derive(Debug, Clone)]
pub struct Network<const L: usize> {
    layout: Layout,
    options: RiverOptions,
    columns: Vec<Column<L>>,
    closed: Closed<L>,
    opened: Vec<[bool; L]>,
    budget: Budget<L>,
    /// Where each river went, `[river][lane]`.
    paths: Vec<[Option<RiverPath>; L]>,
    flow: Flow<L>,
    exchange: Exchange<L>,
}

impl<const L: usize> Network<L> {
    /// A network with its level in each lane, filled by what `water` gives for column, elevation and lane. `None` where a
    /// level is outside the grid.
    pub fn filled(
        layout: Layout,
        options: RiverOptions,
        level_m: Lanes<L>,
        water: impl Fn(usize, f64, usize) -> Water,
    ) -> Option<Network<L>> {
        let mut columns = Vec::with_capacity(layout.places.len());
        let mut closed = Closed::none(layout.places.len(), water(0, level_m[0], 0));
        for (i, place) in layout.places.iter().enumerate() {
            // A lane that is too low for the column is closed below; until then it stands two layers over the bed.
            let least_m = place.grid.face_elevation_m()[2.min(place.grid.layers())];
            let fits = |m: f64| i == 0 || may_be_open(place, m, layout.whole.volume_m3(m));
            let above = level_m.map(|m| if fits(m) { m } else { least_m });
            columns.push(Column::filled(&place.grid, above, |e, lane| water(i, e, lane))?);
        }
        let mut unbooked = Content::default();
        for (lane, level_m) in level_m.into_iter().enumerate() {
            closed.settle(&layout, &mut columns, lane, (level_m, &mut unbooked));
            for column in 1..layout.places.len() {
                let place = &layout.places[column];
                if !closed.is_open(column, lane) {
                    closed.held_mut(column, lane).volume_m3 = place.grid.volume_m3(level_m)?;
                }
            }
        }
        let (layers, count) = (layout.whole.layers(), layout.places.len());
        let mut network = Network {
            flow: Flow::new(&layout),
            exchange: Exchange::new(layers),
            budget: Budget::new(Content::default()),
            paths: Vec::new(),
            opened: vec![[false; L]; count],
            layout,
            options,
            columns,
            closed,
        };
        network.even_tops();
        network.budget = Budget::new(network.content());
        Some(network)
    }

    /// The surfaces of all open columns in the main body's layer.
    fn even_tops(&mut self) {
        let main_first = self.layout.places[0].first_layer;
        let Some((main, others)) = self.columns.split_first_mut() else {
            return;
        };
        for (i, own) in others.iter_mut().enumerate() {
            let place = &self.layout.places[i + 1];
            for lane in (0..L).filter(|lane| self.closed.is_open(i + 1, *lane)) {
                let top = (main.top[lane] + main_first).saturating_sub(place.first_layer);
                own.put_surface(&place.grid, lane, main.surface_elevation_m[lane], top);
            }
        }
    }

    /// One step, in this order: the level that the flows lead to, and what closes or opens with it; rivers, outlets and
    /// faces, column by column; buoyant exchange face by face, from the heads to the lake; then `physics` within each
    /// column, which gives `false` where it fails; then closed water. Lanes do not see each other.
    ///
    /// Rain and evaporation may come as straight flows, or `physics` may change the volume itself; then the columns are
    /// brought to one level again in the next step's flow.
    ///
    /// # Errors
    /// [`StepError`]; the network is then not to be used.
    pub fn step(
        &mut self,
        inputs: &Inputs<'_, L>,
        mut physics: impl FnMut(&Site<'_, L>, &mut Column<L>) -> bool,
    ) -> Result<(), StepError> {
        self.paths.resize(inputs.rivers.len(), [None; L]);
        self.opened.fill([false; L]);
        let level_m = self.level_after_m(inputs)?;
        if self.layout.places.len() > 1 {
            for (lane, level_m) in level_m.into_iter().enumerate() {
                self.settle_closed(lane, level_m);
            }
        }
        let lake = Lake {
            places: &self.layout.places,
            columns: &mut self.columns,
        };
        self.flow.step(
            &self.layout,
            lake,
            (&mut self.closed, level_m),
            (inputs, &self.options),
            (&mut self.budget, &mut self.paths),
        )?;
        self.exchange_all(inputs.step_s);
        self.step_columns(inputs.step_s, &mut physics)
    }

    /// Level of each lane after the flows of a step, m.
    fn level_after_m(&self, inputs: &Inputs<'_, L>) -> Result<Lanes<L>, StepError> {
        let mut level_m = self.columns[0].surface_elevation_m;
        if self.layout.places.len() == 1 {
            return Ok(level_m);
        }
        let volumes_m3 = self.volumes_m3();
        for (lane, level_m) in level_m.iter_mut().enumerate() {
            let rivers: f64 = inputs.rivers.iter().map(|r| r.discharge_m3s[lane].max(0.0)).sum();
            let direct: f64 = inputs.direct.iter().map(|d| d.flow_m3s[lane]).sum();
            let outlets: f64 = inputs.outlets.iter().map(|o| o.flow_m3s[lane].max(0.0)).sum();
            let volume_m3 = volumes_m3[lane] + (rivers + direct - outlets) * inputs.step_s;
            let found_m = self.layout.whole.surface_elevation_m(volume_m3);
            *level_m = found_m.ok_or(StepError::Level { lane })?;
        }
        Ok(level_m)
    }

    fn settle_closed(&mut self, lane: usize, level_m: f64) {
        let lowest_m = level_m.min(self.columns[0].surface_elevation_m[lane]);
        for column in 1..self.columns.len() {
            self.opened[column][lane] = !self.closed.is_open(column, lane);
        }
        let moved = &mut self.budget.closed;
        self.closed
            .settle(&self.layout, &mut self.columns, lane, (lowest_m, moved));
        for column in 1..self.columns.len() {
            self.opened[column][lane] &= self.closed.is_open(column, lane);
        }
    }

    fn exchange_all(&mut self, step_s: f64) {
        for column in (1..self.columns.len()).rev() {
            let places = &self.layout.places;
            let Some((next, face)) = &places[column].toward_lake else {
                continue;
            };
            let open = self.closed.open(column);
            let Ok([far, near]) = self.columns.get_disjoint_mut([column, *next]) else {
                continue;
            };
            if open.contains(&true) {
                let mut pair = Pair {
                    columns: [far, near],
                    places: [&places[column], &places[*next]],
                    face,
                    open,
                };
                self.exchange.step(&mut pair, step_s);
            }
        }
    }

    fn step_columns(
        &mut self,
        step_s: f64,
        physics: &mut impl FnMut(&Site<'_, L>, &mut Column<L>) -> bool,
    ) -> Result<(), StepError> {
        for column in 0..self.columns.len() {
            let open = self.closed.open(column);
            let place = &self.layout.places[column];
            for lane in (0..L).filter(|lane| !open[*lane]) {
                let host = self.closed.host(&self.layout, column, lane);
                let water = self.columns[host].water(self.columns[host].top[lane], lane);
                stand_in(&place.grid, &mut self.columns[column], lane, water);
            }
            let own = &mut self.columns[column];
            let before = Content::of_column(own, open);
            let opened = self.opened[column];
            let site = Site {
                column,
                place,
                open,
                opened,
                step_s,
            };
            if !physics(&site, own) {
                return Err(StepError::Physics { column });
            }
            let mut gain = Content::of_column(own, open);
            gain.add_times(&before, -1.0);
            self.budget.physics.add_times(&gain, 1.0);
            self.heat_closed(column, &gain);
        }
        Ok(())
    }

    /// What a host's own physics did to its heat and volume, by surface, is done to the closed water at its surface too;
    /// then both are one water. Oxygen and river water keep their concentrations.
    fn heat_closed(&mut self, host: usize, gain: &Content<L>) {
        for column in host + 1..self.columns.len() {
            for lane in 0..L {
                let closed = !self.closed.is_open(column, lane);
                if closed && self.closed.host(&self.layout, column, lane) == host {
                    self.heat_one(host, column, (lane, gain));
                }
            }
        }
    }

    fn heat_one(&mut self, host: usize, column: usize, (lane, gain): (usize, &Content<L>)) {
        let held = *self.closed.held_mut(column, lane);
        if held.volume_m3 <= 0.0 {
            return;
        }
        let level_m = self.columns[host].surface_elevation_m[lane];
        let areas = (
            self.layout.places[column].grid.surface_area_m2(level_m),
            self.layout.places[host].grid.surface_area_m2(level_m),
        );
        let ratio = match areas {
            (Some(own_m2), Some(host_m2)) if host_m2 > 0.0 => own_m2 / host_m2,
            _ => 0.0,
        };
        let own = &mut self.columns[host];
        let top = own.top[lane];
        let (top_m3, surface) = (own.volume_m3[top][lane], own.water(top, lane));
        let mut pooled = held;
        pooled.run_in(top_m3, surface);
        let after_m3 = added_m3(held.volume_m3, ratio * gain.volume_m3[lane]);
        let whole_m3 = top_m3 + after_m3;
        let warmth = pooled.volume_m3 * pooled.water.temp_degc + ratio * gain.warmth[lane];
        let water = Water {
            temp_degc: warmth / whole_m3,
            ..pooled.water
        };
        self.budget.closed_surface.add(lane, whole_m3, water);
        self.budget.closed_surface.add(lane, -held.volume_m3, held.water);
        self.budget.closed_surface.add(lane, -top_m3, surface);
        own.set(top, lane, water);
        *self.closed.held_mut(column, lane) = Held {
            volume_m3: after_m3,
            water,
        };
    }

    /// Sets the factor on the exchange between columns of each lane; 1 at the beginning.
    pub fn set_exchange_frac(&mut self, exchange_frac: Lanes<L>) {
        self.exchange.set_speed_frac(exchange_frac);
    }

    /// How the lake is laid out.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The columns. A lane in which one is closed holds stand-in water.
    pub fn columns(&self) -> &[Column<L>] {
        &self.columns
    }

    /// Columns to be corrected from outside: temperature, oxygen and river water, never volume. What is changed is to be
    /// booked with [`Network::budget_mut`].
    pub fn columns_mut(&mut self) -> &mut [Column<L>] {
        &mut self.columns
    }

    /// Puts the columns, and what is closed of them, into an earlier state; the books begin anew. `false` where the columns
    /// are others, and then nothing has changed.
    #[must_use]
    pub fn take_up(&mut self, columns: Vec<Column<L>>, closed: Closed<L>) -> bool {
        let layers = |columns: &[Column<L>]| columns.iter().map(Column::layers).collect::<Vec<_>>();
        let fits = layers(&columns) == layers(&self.columns) && closed.columns() == columns.len();
        if fits {
            self.columns = columns;
            self.closed = closed;
            self.paths.clear();
            self.budget = Budget::new(self.content());
        }
        fits
    }

    /// Which columns are closed, and their water.
    pub fn closed(&self) -> &Closed<L> {
        &self.closed
    }

    /// Where each river of the last step went, `[river][lane]`; `None` where it did not flow.
    pub fn paths(&self) -> &[[Option<RiverPath>; L]] {
        &self.paths
    }

    /// The books.
    pub fn budget(&self) -> &Budget<L> {
        &self.budget
    }

    /// The books, to enter a correction.
    pub fn budget_mut(&mut self) -> &mut Budget<L> {
        &mut self.budget
    }

    /// Elevation of the surface of a lane, m: that of the main body, which all open columns share after the flow.
    pub fn level_m(&self, lane: usize) -> f64 {
        self.columns[0].surface_elevation_m[lane]
    }

    /// Volume of a lane, m3.
    pub fn volume_m3(&self, lane: usize) -> f64 {
        (0..self.columns.len())
            .map(|column| self.column_m3(column, lane))
            .sum()
    }

    /// Volume of every lane, m3.
    pub fn volumes_m3(&self) -> Lanes<L> {
        let mut volumes_m3 = [0.0; L];
        for (i, column) in self.columns.iter().enumerate() {
            let column_m3 = column.whole_lanes_m3();
            for (lane, volume_m3) in volumes_m3.iter_mut().enumerate() {
                *volume_m3 += if self.closed.is_open(i, lane) {
                    column_m3[lane]
                } else {
                    self.closed.held(i, lane).volume_m3
                };
            }
        }
        volumes_m3
    }

    /// Volume of a column, m3, open or closed.
    pub fn column_m3(&self, column: usize, lane: usize) -> f64 {
        if self.closed.is_open(column, lane) {
            self.columns[column].whole_m3(lane)
        } else {
            self.closed.held(column, lane).volume_m3
        }
    }

    /// All that there is.
    pub fn content(&self) -> Content<L> {
        let mut content = Content::default();
        for (i, column) in self.columns.iter().enumerate() {
            let open = self.closed.open(i);
            content.add_times(&Content::of_column(column, open), 1.0);
            for lane in (0..L).filter(|lane| !open[*lane]) {
                let held = self.closed.held(i, lane);
                content.add(lane, held.volume_m3, held.water);
            }
        }
        content
    }
}

/// Closed water after a gain; a loss ends by relaxation, so that there is no less than none.
fn added_m3(held_m3: f64, gain_m3: f64) -> f64 {
    if gain_m3 >= 0.0 {
        held_m3 + gain_m3
    } else {
        held_m3 * (gain_m3 / held_m3).exp()
    }
}
