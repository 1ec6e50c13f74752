//! The physics functions against the published rows.

mod heat;
mod inflow;
mod mixing;
mod oxygen;
mod radiation;
mod stratification;
mod tridiagonal;
mod volumes;
mod water;
