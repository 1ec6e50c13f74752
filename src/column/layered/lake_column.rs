//! A whole lake as one column: weather above, rivers in, releases out, a surface that rises and falls.

use super::background::densities_kg_m3;
use super::grid::Grid;
use super::inflow::{Entering, river_sources_by_density};
use super::parameters::{ColumnParameters, Site};
use super::state::{Column, Lanes, Water};
use super::step::ColumnStep;
use super::transport::{LayerSource, Transport};
use super::wind::WindMixing;
use super::withdrawal::{Drawn, withdraw_by_density_m3s};
use crate::column::forcing::{RiverFlow, Weather};
use crate::physics::oxygen::{OxygenState, oxygen_saturation_mg_l};
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Water in and out of a lake during one step.
#[derive(Debug, Clone, Copy)]
pub struct StepFlows<'a> {
    /// Rivers.
    pub rivers: &'a [RiverFlow],
    /// Releases: elevation of the outlet, m, and flow, m3/s.
    pub releases: &'a [(f64, f64)],
    /// Level to be met at the end of the step, m; `None` where it follows from the flows.
    pub level_m: Option<f64>,
}

/// What came into a lane and went out of it over a run, everything that changes its contents.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Booked {
    /// Heat through the surface, J.
    pub surface_heat_j: f64,
    /// Heat with water that came in and went out, above water at 0 degC, J.
    pub flow_heat_j: f64,
    /// Water in and out, m3.
    pub flow_m3: f64,
    /// Of that, what no river, release, rain or evaporation explains, m3.
    pub unexplained_m3: f64,
    /// Release that an outlet above the surface could not draw, m3; it did not go out.
    pub undrawn_m3: f64,
    /// Oxygen through the surface less what bed and water took, g.
    pub own_oxygen_g: f64,
    /// Oxygen with water, g.
    pub flow_oxygen_g: f64,
    /// River water in and out, m3.
    pub flow_river_m3: f64,
    /// Heat that observations put in, J.
    pub analysis_heat_j: f64,
    /// Oxygen that observations put in, g.
    pub analysis_oxygen_g: f64,
    /// River water that observations put in, m3, in place of other water.
    pub analysis_river_m3: f64,
}

/// Why a lake could not go on.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LakeColumnError {
    /// More goes out than there is, or the surface leaves the hypsography.
    #[error(
        "stepping the lake: found {volume_m3:.0} m3 and a level of {level_m:.2} m before a step that leaves the table of the hypsography; extend the table, or check inflow, release and level"
    )]
    Volume {
        /// Volume before.
        volume_m3: f64,
        /// Level before.
        level_m: f64,
    },
}

/// A lake of one column with `L` lanes.
#[derive(Debug, Clone)]
pub struct LakeColumn<const L: usize> {
    /// Layers.
    pub grid: Grid,
    /// What they hold.
    pub column: Column<L>,
    /// What the lake around is like.
    pub site: Site,
    /// What has been booked since the beginning.
    pub booked: [Booked; L],
    step: ColumnStep<L>,
    transport: Transport,
    sources: Vec<LayerSource>,
    drawn_m3s: Vec<f64>,
    density_kg_m3: Vec<Lanes<L>>,
}

impl<const L: usize> LakeColumn<L> {
    /// From layers and what they hold.
    pub fn new(grid: Grid, column: Column<L>, site: Site) -> Self {
        let layers = grid.layers();
        LakeColumn {
            step: ColumnStep::new(layers),
            transport: Transport::new(layers),
            sources: Vec::with_capacity(4 * layers),
            drawn_m3s: vec![0.0; layers],
            density_kg_m3: vec![[0.0; L]; layers],
            booked: [Booked::default(); L],
            grid,
            column,
            site,
        }
    }

    /// The moving surface layer, which a run that is taken up again has to have.
    pub fn wind(&self) -> &WindMixing<L> {
        self.step.wind()
    }

    /// Takes up the moving surface layer of an earlier run.
    pub fn take_up_wind(&mut self, wind: WindMixing<L>) {
        self.step.take_up_wind(wind);
    }

    /// One step: first what happens within the column, then the flows.
    ///
    /// # Errors
    /// [`LakeColumnError`]; the lake is then not to be used.
    pub fn step(
        &mut self,
        weather: &[Weather; L],
        flows: StepFlows<'_>,
        parameters: &[ColumnParameters; L],
        step_s: f64,
    ) -> Result<(), LakeColumnError> {
        let exchanged = self.step.step(
            &self.grid,
            &mut self.column,
            weather,
            (parameters, self.site),
            step_s,
        );
        let whole_m3 = self.column.whole_lanes_m3();
        // Rivers and outlets both ask for them; neither changes them.
        densities_kg_m3(&self.column, &mut self.density_kg_m3);
        let wanted_m3 = flows.level_m.map(|level_m| self.grid.volume_m3(level_m));
        for (lane, air) in weather.iter().enumerate() {
            self.booked[lane].surface_heat_j += exchanged.heat_j[lane];
            self.booked[lane].own_oxygen_g += exchanged.air_oxygen_g[lane] - exchanged.taken_oxygen_g[lane];
            let level_m = self.column.surface_elevation_m[lane];
            let evaporated_m3 = exchanged.evaporated_m3[lane];
            let volumes = (whole_m3[lane], wanted_m3);
            if !self.flow(lane, (air, flows), (evaporated_m3, volumes), step_s) {
                return Err(LakeColumnError::Volume {
                    volume_m3: whole_m3[lane],
                    level_m,
                });
            }
        }
        Ok(())
    }

    fn flow(
        &mut self,
        lane: usize,
        (weather, flows): (&Weather, StepFlows<'_>),
        (evaporated_m3, (whole_m3, wanted_m3)): (f64, (f64, Option<Option<f64>>)),
        step_s: f64,
    ) -> bool {
        let top = self.column.top[lane];
        self.sources.clear();
        let area_m2 = self.column.surface_area_m2[lane];
        let rain_m3 = weather.precipitation_m_s.unwrap_or(0.0) * area_m2 * step_s;
        let is_still = flows.rivers.is_empty() && flows.releases.is_empty() && flows.level_m.is_none();
        if is_still {
            // Nothing is known of the flows, so the level stays; rain and evaporation leave with it.
            return true;
        }
        let mut net_m3 = 0.0;
        for river in flows.rivers {
            let volume_m3 = river.discharge_m3s * step_s;
            let water = river_water(river, weather.pressure_pa);
            net_m3 += volume_m3;
            self.book_water(lane, volume_m3, water);
            let densities = &self.density_kg_m3;
            let density = |_: &Column<L>, layer: usize| densities[layer][lane];
            river_sources_by_density(
                &self.grid,
                (&mut self.column, lane, &density),
                (Entering { water, volume_m3 }, self.site.channel),
                (area_m2.sqrt(), step_s),
                &mut self.sources,
            );
        }
        self.drawn_m3s.fill(0.0);
        for (elevation_m, flow_m3s) in flows.releases {
            if *elevation_m >= self.column.surface_elevation_m[lane] {
                self.booked[lane].undrawn_m3 += flow_m3s * step_s;
            } else {
                let outlet = Drawn {
                    elevation_m: *elevation_m,
                    flow_m3s: *flow_m3s,
                    angle_rad: std::f64::consts::PI,
                };
                let densities = &self.density_kg_m3;
                let density = |layer: usize| densities[layer][lane];
                let into_m3s = &mut self.drawn_m3s;
                withdraw_by_density_m3s(&self.grid, &self.column, lane, (outlet, &density), into_m3s);
            }
        }
        for (layer, drawn_m3s) in self
            .drawn_m3s
            .iter()
            .enumerate()
            .filter(|(_, drawn)| **drawn > 0.0)
        {
            let volume_m3 = -drawn_m3s * step_s;
            net_m3 += volume_m3;
            self.sources.push(LayerSource {
                layer,
                volume_m3,
                water: self.column.water(layer, lane),
            });
        }
        // Rain takes the oxygen of the surface that it falls on (project choice: both are near saturation).
        let rain = Water {
            temp_degc: weather.air_temp_degc.max(0.0),
            oxygen_mg_l: self.column.oxygen_mg_l[top][lane],
            river_frac: 0.0,
        };
        net_m3 += rain_m3 - evaporated_m3;
        self.book_water(lane, rain_m3, rain);
        self.sources.push(LayerSource {
            layer: top,
            volume_m3: rain_m3,
            water: rain,
        });
        let surface = self.column.water(top, lane);
        self.push_surface(lane, -evaporated_m3, surface);
        if let Some(wanted_m3) = wanted_m3 {
            let Some(wanted_m3) = wanted_m3 else {
                return false;
            };
            let unexplained_m3 = wanted_m3 - whole_m3 - net_m3;
            self.booked[lane].unexplained_m3 += unexplained_m3;
            self.push_surface(lane, unexplained_m3, surface);
        }
        let left = self
            .transport
            .step(&self.grid, &mut self.column, lane, &self.sources);
        let Some(left) = left else { return false };
        let booked = &mut self.booked[lane];
        booked.flow_m3 -= left.volume_m3;
        booked.flow_heat_j -= left.heat_j;
        booked.flow_oxygen_g -= left.oxygen_g;
        booked.flow_river_m3 -= left.river_m3;
        true
    }

    /// Water of the surface, in or out.
    fn push_surface(&mut self, lane: usize, volume_m3: f64, water: Water) {
        if volume_m3 > 0.0 {
            self.book_water(lane, volume_m3, water);
        }
        self.sources.push(LayerSource {
            layer: self.column.top[lane],
            volume_m3,
            water,
        });
    }

    fn book_water(&mut self, lane: usize, volume_m3: f64, water: Water) {
        let booked = &mut self.booked[lane];
        booked.flow_m3 += volume_m3;
        booked.flow_heat_j += HEAT_CAPACITY_J_M3_K * volume_m3 * water.temp_degc;
        booked.flow_oxygen_g += volume_m3 * water.oxygen_mg_l;
        booked.flow_river_m3 += volume_m3 * water.river_frac;
    }
}

/// River water; saturated with oxygen where its own is not known.
fn river_water(river: &RiverFlow, pressure_pa: f64) -> Water {
    Water {
        temp_degc: river.temp_degc,
        oxygen_mg_l: river.oxygen_mg_l.unwrap_or_else(|| {
            oxygen_saturation_mg_l(OxygenState {
                temp_degc: river.temp_degc,
                solids_g_kg: 0.0,
                pressure_pa,
            })
        }),
        river_frac: 1.0,
    }
}
