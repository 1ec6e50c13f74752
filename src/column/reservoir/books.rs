//! What came and went, beside the network's own books.

use crate::column::layered::{Lanes, MELT_J_M3, MELT_SNOW_J_M3};
use crate::column::network::Content;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// What the columns' physics did since the beginning, all columns of a lane together; closed water left out, whose own
/// entries the network has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceBooks<const L: usize> {
    /// Heat through the surface, J, ice counted as less heat; that of rain and evaporated water left out.
    pub surface_heat_j: Lanes<L>,
    /// Oxygen from the air, g.
    pub air_oxygen_g: Lanes<L>,
    /// Oxygen that bed and water took, g.
    pub taken_oxygen_g: Lanes<L>,
    /// Rain and snow on the lake, m3.
    pub rain_m3: Lanes<L>,
    /// Volume times temperature of it, m3 degC.
    pub rain_warmth: Lanes<L>,
    /// Oxygen in it, g.
    pub rain_oxygen_g: Lanes<L>,
    /// Water that evaporated less dew, m3.
    pub evaporated_m3: Lanes<L>,
    /// Volume times temperature of it, m3 degC.
    pub evaporated_warmth: Lanes<L>,
    /// Oxygen that is counted out with it, g: the water left over keeps its concentration.
    pub evaporated_oxygen_g: Lanes<L>,
    /// River water that is counted out with it, m3.
    pub evaporated_river_m3: Lanes<L>,
    /// Water that the level asked for and no river, release, rain or evaporation explains, m3.
    pub unexplained_m3: Lanes<L>,
    /// Release that an outlet above the surface could not draw, m3; it did not go out.
    pub undrawn_m3: Lanes<L>,
    /// Ice and snow at the beginning, m3 of ice and m3 of water.
    pub first_ice_and_snow_m3: (Lanes<L>, Lanes<L>),
}

impl<const L: usize> Default for SurfaceBooks<L> {
    fn default() -> Self {
        let none = [0.0; L];
        SurfaceBooks {
            surface_heat_j: none,
            air_oxygen_g: none,
            taken_oxygen_g: none,
            rain_m3: none,
            rain_warmth: none,
            rain_oxygen_g: none,
            evaporated_m3: none,
            evaporated_warmth: none,
            evaporated_oxygen_g: none,
            evaporated_river_m3: none,
            unexplained_m3: none,
            undrawn_m3: none,
            first_ice_and_snow_m3: (none, none),
        }
    }
}

impl<const L: usize> SurfaceBooks<L> {
    /// What the network's books call physics, as these books have it: volume, warmth, oxygen, river water. `ice_m3` and
    /// `snow_m3` of all columns now.
    pub(super) fn physics(&self, ice_m3: &Lanes<L>, snow_m3: &Lanes<L>) -> Content<L> {
        let mut sum = Content::default();
        let (first_ice_m3, first_snow_m3) = &self.first_ice_and_snow_m3;
        for lane in 0..L {
            let frozen_j = MELT_J_M3 * (ice_m3[lane] - first_ice_m3[lane])
                + MELT_SNOW_J_M3 * (snow_m3[lane] - first_snow_m3[lane]);
            sum.volume_m3[lane] = self.rain_m3[lane] - self.evaporated_m3[lane];
            sum.warmth[lane] = (self.surface_heat_j[lane] + frozen_j) / HEAT_CAPACITY_J_M3_K
                + self.rain_warmth[lane]
                - self.evaporated_warmth[lane];
            sum.oxygen[lane] = self.air_oxygen_g[lane] - self.taken_oxygen_g[lane] + self.rain_oxygen_g[lane]
                - self.evaporated_oxygen_g[lane];
            sum.river_m3[lane] = -self.evaporated_river_m3[lane];
        }
        sum
    }
}
