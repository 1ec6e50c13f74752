//! The lake and its step.

use std::f64::consts::PI;

use super::books::SurfaceBooks;
use super::drive::Drive;
use super::setup::ReservoirSetup;
use super::shelter::Shelters;
use crate::column::forcing::{RiverFlow, Weather};
use crate::column::layered::{
    Column, ColumnParameters, ColumnStep, Grid, Lanes, Memory, ModelFactors, OxygenDemand, Site, Water,
    saturated_mg_l,
};
use crate::column::network::{
    Closed, DirectFlow, Inputs, Network, OutletFlow, River, Site as NetworkSite, StepError,
};

/// A lake of several columns, `L` members beside each other.
#[derive(Debug, Clone)]
pub struct Reservoir<const L: usize> {
    network: Network<L>,
    within: Within<L>,
    factors: [ModelFactors; L],
    outlet_elevation_m: Vec<f64>,
    extinction_per_m: [f64; 12],
    demand: OxygenDemand,
    river_columns: Vec<usize>,
    rivers: Vec<River<L>>,
    outlets: Vec<OutletFlow<L>>,
}

/// The physics of the columns, with what each remembers.
#[derive(Debug, Clone)]
struct Within<const L: usize> {
    steps: Vec<ColumnStep<L>>,
    sites: Vec<Site>,
    shelters: Vec<Shelters>,
    books: SurfaceBooks<L>,
}

/// What the physics of one step is told.
struct Told<'a, const L: usize> {
    drive: &'a Drive<'a, L>,
    factors: &'a [ModelFactors; L],
    extinction_per_m: f64,
    demand: OxygenDemand,
}

impl<const L: usize> Reservoir<L> {
    /// A lake with its level in each lane, filled by what `water` gives for column, elevation and lane. `None` where a
    /// level is outside the layers.
    pub fn filled(
        setup: &ReservoirSetup,
        factors: [ModelFactors; L],
        level_m: Lanes<L>,
        water: impl Fn(usize, f64, usize) -> Water,
    ) -> Option<Self> {
        let network = Network::filled(setup.layout.clone(), setup.river_options, level_m, water)?;
        Some(Reservoir::of_network(setup, factors, network))
    }

    /// A lake of the same temperature at all depths, saturated with oxygen. `None` where the level is outside the layers.
    pub fn isothermal(
        setup: &ReservoirSetup,
        factors: [ModelFactors; L],
        level_m: f64,
        (temp_degc, pressure_pa): (f64, f64),
    ) -> Option<Self> {
        let water = Water {
            temp_degc,
            oxygen_mg_l: saturated_mg_l(temp_degc, pressure_pa),
            river_frac: 0.0,
        };
        Reservoir::filled(setup, factors, [level_m; L], |_, _, _| water)
    }

    fn of_network(setup: &ReservoirSetup, factors: [ModelFactors; L], mut network: Network<L>) -> Self {
        network.set_exchange_frac(factors.map(|f| f.exchange_frac));
        Reservoir {
            within: Within {
                steps: network.columns().iter().map(ColumnStep::new).collect(),
                sites: setup.sites.clone(),
                shelters: setup.shelters.clone(),
                books: SurfaceBooks::default(),
            },
            network,
            factors,
            outlet_elevation_m: setup.outlet_elevation_m.clone(),
            extinction_per_m: setup.extinction_per_m,
            demand: setup.demand,
            river_columns: setup.river_columns.clone(),
            rivers: Vec::with_capacity(setup.river_columns.len()),
            outlets: Vec::with_capacity(setup.outlet_elevation_m.len()),
        }
    }

    /// One step: rivers, releases and whatever the level asks for; exchange between the columns; then what goes on within
    /// each, with rain and evaporation. Lanes do not see each other.
    ///
    /// # Errors
    /// [`StepError`]; the lake is then not to be used.
    pub fn step(&mut self, drive: &Drive<'_, L>) -> Result<(), StepError> {
        self.set_rivers(drive);
        self.set_outlets(drive);
        let unexplained = [self.unexplained(drive)?];
        let inputs = Inputs {
            step_s: drive.step_s,
            rivers: &self.rivers,
            outlets: &self.outlets,
            direct: &unexplained,
        };
        let told = Told {
            drive,
            factors: &self.factors,
            extinction_per_m: self.extinction_per_m[drive.month0.min(11)],
            demand: self.demand,
        };
        let within = &mut self.within;
        self.network.step(&inputs, |site, column| {
            within.step(&told, site, column);
            true
        })
    }

    fn set_rivers(&mut self, drive: &Drive<'_, L>) {
        self.rivers.clear();
        for (flow, column) in drive.rivers.iter().zip(&self.river_columns) {
            self.rivers.push(River {
                column: *column,
                discharge_m3s: flow.map(|f| f.discharge_m3s),
                water: std::array::from_fn(|lane| river_water(&flow[lane], &drive.weather[lane])),
            });
        }
    }

    /// An outlet that the surface has left draws nothing, and that is booked.
    fn set_outlets(&mut self, drive: &Drive<'_, L>) {
        self.outlets.clear();
        for (release_m3s, elevation_m) in drive.release_m3s.iter().zip(&self.outlet_elevation_m) {
            let mut flow_m3s = *release_m3s;
            for (lane, flow_m3s) in flow_m3s.iter_mut().enumerate() {
                if *elevation_m >= self.network.level_m(lane) {
                    self.within.books.undrawn_m3[lane] += *flow_m3s * drive.step_s;
                    *flow_m3s = 0.0;
                }
            }
            self.outlets.push(OutletFlow {
                elevation_m: *elevation_m,
                flow_m3s,
                angle_rad: PI,
            });
        }
    }

    /// What the level asks for beside rivers and releases: water of the main body's surface, in or out.
    fn unexplained(&mut self, drive: &Drive<'_, L>) -> Result<DirectFlow<L>, StepError> {
        let mut flow_m3s = [0.0; L];
        let volumes_m3 = self.network.volumes_m3();
        for (lane, flow_m3s) in flow_m3s.iter_mut().enumerate() {
            let Some(level_m) = drive.level_m[lane] else {
                continue;
            };
            let whole = &self.network.layout().whole;
            let wanted_m3 = whole.volume_m3(level_m).ok_or(StepError::Level { lane })?;
            let rivers: f64 = self.rivers.iter().map(|r| r.discharge_m3s[lane].max(0.0)).sum();
            let outlets: f64 = self.outlets.iter().map(|o| o.flow_m3s[lane].max(0.0)).sum();
            let known_m3 = volumes_m3[lane] + (rivers - outlets) * drive.step_s;
            self.within.books.unexplained_m3[lane] += wanted_m3 - known_m3;
            *flow_m3s = (wanted_m3 - known_m3) / drive.step_s;
        }
        let main = &self.network.columns()[0];
        Ok(DirectFlow {
            column: 0,
            elevation_m: f64::INFINITY,
            flow_m3s,
            water: std::array::from_fn(|lane| main.water(main.top[lane], lane)),
        })
    }

    /// The columns and their books.
    pub fn network(&self) -> &Network<L> {
        &self.network
    }

    /// The main body: its layers and what they hold.
    pub fn main(&self) -> (&Grid, &Column<L>) {
        (&self.network.layout().places[0].grid, &self.network.columns()[0])
    }

    /// The columns, to be corrected by observations: temperature, oxygen and river water, never volume, and booked.
    pub fn network_mut(&mut self) -> &mut Network<L> {
        &mut self.network
    }

    /// What the columns' physics did.
    pub fn books(&self) -> &SurfaceBooks<L> {
        &self.within.books
    }

    /// Ice and snow of all open columns, m3 of ice and m3 of water.
    fn ice_and_snow_m3(&self) -> (Lanes<L>, Lanes<L>) {
        let (mut ice_m3, mut snow_m3) = ([0.0; L], [0.0; L]);
        for (i, column) in self.network.columns().iter().enumerate() {
            for lane in (0..L).filter(|lane| self.network.closed().is_open(i, *lane)) {
                ice_m3[lane] += column.ice_m3[lane];
                snow_m3[lane] += column.snow_m3[lane];
            }
        }
        (ice_m3, snow_m3)
    }

    /// What of the contents neither book explains, over what the lake holds or held at the beginning, whichever is more, the
    /// greatest of any lane: volume, warmth, oxygen, river water (this over the volume). So a lake that ends its winter at
    /// 0 degC is not held against nothing.
    pub fn relative_residual(&self) -> [f64; 4] {
        let now = self.network.content();
        let (ice_m3, snow_m3) = self.ice_and_snow_m3();
        let mut left = self.network.budget().residual(&now);
        left.add_times(&self.network.budget().physics, 1.0);
        left.add_times(&self.within.books.physics(&ice_m3, &snow_m3), -1.0);
        let first = &self.network.budget().start;
        let scale = |i: usize, lane: usize| {
            // River water is held against the volume.
            let i = if i == 3 { 0 } else { i };
            f64::max(now.parts()[i][lane].abs(), first.parts()[i][lane].abs())
        };
        std::array::from_fn(|i| {
            let of = |lane: usize| (left.parts()[i][lane] / scale(i, lane)).abs();
            (0..L).map(of).fold(0.0, f64::max)
        })
    }

    /// The column at whose head each river enters, in the order of the lake's inflows.
    pub fn river_columns(&self) -> &[usize] {
        &self.river_columns
    }

    /// Factors of the members.
    pub fn factors(&self) -> &[ModelFactors; L] {
        &self.factors
    }

    /// Gives the members other factors.
    pub fn set_factors(&mut self, factors: [ModelFactors; L]) {
        self.network.set_exchange_frac(factors.map(|f| f.exchange_frac));
        self.factors = factors;
    }

    /// What a column remembers beside its water, which a run that is taken up again has to have.
    pub fn memory(&self, column: usize) -> &Memory<L> {
        self.within.steps[column].memory()
    }

    /// Puts the lake into an earlier state: columns, what is closed of them, and what each remembers; what had been
    /// booked is forgotten. `false` where the columns are others, and then nothing has changed.
    #[must_use]
    pub fn take_up(
        &mut self,
        (columns, closed): (Vec<Column<L>>, Closed<L>),
        memory: Vec<Memory<L>>,
    ) -> bool {
        let layers = |memory: &Memory<L>| (memory.bed.upper_degc.len(), memory.bed.lower_degc.len());
        let fits = memory.len() == columns.len()
            && memory
                .iter()
                .zip(&columns)
                .all(|(m, c)| layers(m) == (c.layers(), c.layers()));
        if !fits || !self.network.take_up(columns, closed) {
            return false;
        }
        for (step, memory) in self.within.steps.iter_mut().zip(memory) {
            *step.memory_mut() = memory;
        }
        self.within.books = SurfaceBooks {
            first_ice_and_snow_m3: self.ice_and_snow_m3(),
            ..SurfaceBooks::default()
        };
        true
    }
}

impl<const L: usize> Within<L> {
    fn step(&mut self, told: &Told<'_, L>, site: &NetworkSite<'_, L>, column: &mut Column<L>) {
        let (i, drive) = (site.column, told.drive);
        for lane in (0..L).filter(|lane| site.opened[*lane]) {
            self.steps[i].memory_mut().begin(column, lane);
        }
        let parameters: [ColumnParameters; L] = std::array::from_fn(|lane| {
            let shelter = self.shelters[i].from(drive.weather[lane].wind_from_deg);
            told.factors[lane].parameters_in(shelter, told.extinction_per_m, told.demand)
        });
        let exchanged = self.steps[i].step(
            &site.place.grid,
            column,
            drive.weather,
            (&parameters, self.sites[i]),
            drive.step_s,
        );
        for lane in (0..L).filter(|lane| site.open[*lane]) {
            self.books.surface_heat_j[lane] += exchanged.heat_j[lane];
            self.books.air_oxygen_g[lane] += exchanged.air_oxygen_g[lane];
            self.books.taken_oxygen_g[lane] += exchanged.taken_oxygen_g[lane];
            if !drive.is_still(lane) {
                self.rain_and_evaporate(column, lane, &drive.weather[lane], {
                    (exchanged.evaporated_m3[lane], drive.step_s)
                });
            }
        }
    }

    /// Rain into the surface layer, with the surface's own oxygen (project choice: both are near saturation), and
    /// evaporated water out of it. Snow on ice is water of the layers too, and its heat has been counted with the ice.
    fn rain_and_evaporate(
        &mut self,
        column: &mut Column<L>,
        lane: usize,
        weather: &Weather,
        (evaporated_m3, step_s): (f64, f64),
    ) {
        let (top, books) = (column.top[lane], &mut self.books);
        let held = column.water(top, lane);
        let rain_m3 = weather.precipitation_m_s.unwrap_or(0.0) * column.surface_area_m2[lane] * step_s;
        let rain = Water {
            temp_degc: weather.air_temp_degc.max(0.0),
            oxygen_mg_l: held.oxygen_mg_l,
            river_frac: 0.0,
        };
        column.run_in(top, lane, rain_m3, rain);
        books.rain_m3[lane] += rain_m3;
        books.rain_warmth[lane] += rain_m3 * rain.temp_degc;
        books.rain_oxygen_g[lane] += rain_m3 * rain.oxygen_mg_l;
        let held = column.water(top, lane);
        column.volume_m3[top][lane] -= evaporated_m3;
        books.evaporated_m3[lane] += evaporated_m3;
        books.evaporated_warmth[lane] += evaporated_m3 * held.temp_degc;
        books.evaporated_oxygen_g[lane] += evaporated_m3 * held.oxygen_mg_l;
        books.evaporated_river_m3[lane] += evaporated_m3 * held.river_frac;
    }
}

/// River water; saturated with oxygen where its own is not known.
fn river_water(river: &RiverFlow, weather: &Weather) -> Water {
    Water {
        temp_degc: river.temp_degc,
        oxygen_mg_l: river
            .oxygen_mg_l
            .unwrap_or_else(|| saturated_mg_l(river.temp_degc, weather.pressure_pa)),
        river_frac: 1.0,
    }
}
