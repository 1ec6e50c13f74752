//! Columns of layers on fixed elevations, the members of an ensemble side by side as lanes.
//!
//! Layers count from the bed up. Above the surface of a lane its layers are empty and inert. Every process is exact
//! in heat and in what rides along; what a lane becomes does not depend on the lanes beside it.

mod background;
mod bed;
mod convection;
mod defaults;
mod diffusion;
mod faces;
mod flows;
mod grid;
mod ice;
mod light;
mod limit;
mod memory;
mod oxygen;
mod parameters;
mod seiche;
mod state;
mod step;
mod surface;
mod transport;
mod wind;
mod withdrawal;

pub use background::{densities_kg_m3, diffusivity_m2_s, stability_per_s2};
pub use bed::BedHeat;
pub use convection::Convection;
pub use defaults::{FACTORS, ModelFactors, Shelter, site_of};
pub use diffusion::{Diffusion, conductance_m3};
pub use faces::layer_faces_m;
pub use flows::LayerFlows;
pub use grid::{Grid, GridError};
pub use ice::{IceStep, MELT_J_M3, MELT_SNOW_J_M3, freeze, step_ice, thickness_m};
pub use light::absorb_light;
pub use memory::Memory;
pub use oxygen::{aerate, saturated_mg_l, take_up};
pub use parameters::{ColumnParameters, OxygenDemand, Site};
pub use seiche::add_waves;
pub use state::{Column, Lanes, Water, any};
pub use step::{ColumnStep, Exchanged};
pub use surface::{SurfaceGain, surface_air, surface_albedos, surface_gain};
pub use transport::Transport;
pub use wind::{MixingEfficiency, SurfaceStress, WindMixing};
pub use withdrawal::{Drawn, withdraw_m3s};
