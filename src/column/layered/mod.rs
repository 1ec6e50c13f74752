//! Columns of layers on fixed elevations, the members of an ensemble side by side as lanes.
//!
//! Layers count from the bed up. Above the surface of a lane its layers are empty and inert. Every process is exact
//! in heat and in what rides along; what a lane becomes does not depend on the lanes beside it.

mod convection;
mod diffusion;
mod grid;
mod light;
mod state;
mod transport;
mod wind;
mod withdrawal;

pub use convection::Convection;
pub use diffusion::{Diffusion, conductance_m3};
pub use grid::{Grid, GridError};
pub use light::absorb_light;
pub use state::{Column, Lanes, Water};
pub use transport::{LayerSource, Transport};
pub use wind::{MixingEfficiency, SurfaceStress, WindMixing};
pub use withdrawal::{Drawn, withdraw_m3s};
