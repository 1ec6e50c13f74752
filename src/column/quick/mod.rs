//! The quick water model: surface and rivers from air temperature, a rule of thumb below the surface.
//!
//! | file | what it holds |
//! |---|---|
//! | `water_at` | the chain, from series to [`Water`](super::Water) |
//! | `climatology` | means by day of the year |
//! | `air` | daily air temperature: measured, forecast by member, climatology where there is none |
//! | `air_sources` | station, archive and forecast of air temperature on one scale |
//! | `fit` | the air-to-water equation fitted to the observed surface |
//! | `observed` | the observed surface of a place, day by day |
//! | `surface` | the surface by member: past, today, outlook |
//! | `season` | last winter's minimum, days since the lake stratified, the summer's peak |
//! | `profile` | the rule-of-thumb profile |
//! | `measured` | a measured profile brought to today |
//! | `zones` | geometry of the zones at today's level, and their water |
//! | `river_fit` | the river equation fitted to an observed river |
//! | `rivers` | rivers, measured or from air temperature and discharge |

mod air;
mod air_sources;
mod climatology;
mod fit;
mod measured;
mod observed;
mod profile;
mod river_fit;
mod rivers;
mod season;
mod surface;
mod water_at;
mod zones;

pub(in crate::column) use air::{AirRecord, Span as AirSpan};
pub(in crate::column) use climatology::year_frac;
pub use fit::{FittedSurface, MeanDepth, fit_surface};
pub use profile::{ProfileNoise, ThumbProfile, thumb_profile_degc};
pub use river_fit::{FittedRiver, fit_river, published};
pub(in crate::column) use river_fit::{
    PERSISTENCE as RIVER_PERSISTENCE, SPIN_UP_DAYS as RIVER_SPIN_UP_DAYS, START_DEGC as RIVER_START_DEGC,
};
pub use season::SeasonState;
pub use water_at::{WaterOptions, water_at};
pub(in crate::column) use zones::{ZoneShape, zone_shapes};
