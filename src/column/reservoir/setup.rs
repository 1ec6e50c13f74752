//! What of the lake file the columns need.

use super::shelter::Shelters;
use crate::column::layered::{OxygenDemand, Site, layer_faces_m, site_of};
use crate::column::network::{Layout, LayoutError, RiverOptions};
use crate::lake::{Lake, OxygenPrior, TrophicState, ZoneId};

/// Light extinction where the lake file does not give it, 1/m: of a lake with a Secchi depth of 3.4 m (project choice).
pub const UNKNOWN_EXTINCTION_PER_M: f64 = 0.5;
/// Length of a reach that is aimed at, m (project choice): some widths of an arm, so that a reach is a basin of its own.
const REACH_M: f64 = 3500.0;
/// Fewest reaches of an arm whose thalweg is known: its head is not its mouth.
const FEWEST_REACHES: usize = 2;

/// Why a lake cannot be modelled by columns.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SetupError {
    /// Levels that make no layers.
    #[error(
        "laying out the lake: found bed {bed_m:.2} m, lowest level {lowest_m:.2} m, level {level_m:.2} m, top of the table {top_m:.2} m, wanted them to rise in that order; mend the levels or the hypsography"
    )]
    Levels {
        /// Bed.
        bed_m: f64,
        /// Lowest level.
        lowest_m: f64,
        /// Full pool, or the level at the beginning.
        level_m: f64,
        /// Top of the table.
        top_m: f64,
    },
    /// The columns.
    #[error(transparent)]
    Layout(#[from] LayoutError),
}

/// A lake ready to be filled and stepped.
#[derive(Debug, Clone, PartialEq)]
pub struct ReservoirSetup {
    /// The columns: main body first, each arm from mouth to head.
    pub layout: Layout,
    /// What the lake around each column is like, shape `[column]`.
    pub sites: Vec<Site>,
    /// Shelter of each column, shape `[column]`.
    pub shelters: Vec<Shelters>,
    /// Light extinction of each month, January first.
    pub extinction_per_m: [f64; 12],
    /// Oxygen demand.
    pub demand: OxygenDemand,
    /// The column at whose head each river enters, in the order of the lake's inflows.
    pub river_columns: Vec<usize>,
    /// Elevations of the outlets in the order of the lake file, m.
    pub outlet_elevation_m: Vec<f64>,
    /// How rivers sink.
    pub river_options: RiverOptions,
    /// Arms without a column of their own, for want of shares of area: their water counts to the main body.
    pub without_column: Vec<ZoneId>,
}

impl ReservoirSetup {
    /// From a lake file. Layers as [`layer_faces_m`] puts them between bed, minimum pool and full pool; reaches of about
    /// 3.5 km, two at least where an arm's thalweg is known. Whatever hangs on the size of lake or zone is taken at full
    /// pool, so that a run does not depend on the day on which it begins. Shelter of a zone by its fetch, else by the area
    /// of the lake (main body) or of the arm.
    ///
    /// # Errors
    /// [`SetupError`].
    pub fn of_lake(lake: &Lake) -> Result<ReservoirSetup, SetupError> {
        let reaches = |length_m: f64| ((length_m / REACH_M).round() as usize).max(FEWEST_REACHES);
        ReservoirSetup::laid_out(lake, layer_faces_m, reaches)
    }

    /// As [`ReservoirSetup::of_lake`], but with one column a zone and layers of even thickness, about `layer_m`: for runs of whole
    /// seasons under many years' weather, which ask when the water turns over and not where it is how cold.
    ///
    /// # Errors
    /// [`SetupError`].
    pub fn coarse(lake: &Lake, layer_m: f64) -> Result<ReservoirSetup, SetupError> {
        let even = |bed_m: f64, _: f64, (_, top_m): (f64, f64)| {
            let count = ((top_m - bed_m) / layer_m).ceil();
            (count >= 1.0).then(|| {
                let step_m = (top_m - bed_m) / count;
                let inner = (0..count as usize).map(|i| bed_m + step_m * i as f64);
                inner.chain([top_m]).collect()
            })
        };
        ReservoirSetup::laid_out(lake, even, |_| 1)
    }

    /// On the faces that `faces` puts between bed, lowest level, full pool and top, with the reaches that `reaches` gives an arm of a
    /// length.
    fn laid_out(
        lake: &Lake,
        faces: impl Fn(f64, f64, (f64, f64)) -> Option<Vec<f64>>,
        reaches: impl Fn(f64) -> usize,
    ) -> Result<ReservoirSetup, SetupError> {
        let table = lake
            .hypsography
            .as_ref()
            .ok_or_else(|| LayoutError::Hypsography {
                lake: lake.id.clone(),
            })?;
        let bed_m = table.bed_elevation_m().unwrap_or(f64::NAN);
        let top_m = table.top_elevation_m().unwrap_or(f64::NAN);
        let (lowest_m, full_m) = (lake.minimum_pool_elevation_m, lake.full_pool_elevation_m);
        let levels = || SetupError::Levels {
            bed_m,
            lowest_m,
            level_m: full_m,
            top_m,
        };
        let faces_m = faces(bed_m, lowest_m, (full_m, top_m)).ok_or_else(levels)?;
        let layout = Layout::on_faces(lake, &faces_m, reaches)?;
        let lake_m2 = table.volume_slope_m2(full_m).ok_or_else(levels)?;
        let whole = site_of(lake_m2);
        let zone_m2 = |zone: &ZoneId| -> f64 {
            let of = |i: usize| layout.places[i].grid.surface_area_m2(full_m).unwrap_or(0.0);
            layout.of_zone(zone).map(of).sum()
        };
        let sites = layout.places.iter().map(|place| Site {
            length_m: site_of(zone_m2(&place.zone)).length_m,
            ..whole
        });
        let shelters = layout.places.iter().enumerate().map(|(i, place)| {
            let zone = lake.zone(&place.zone);
            let by_fetch = zone.and_then(|z| Shelters::of_fetch(&z.fetch));
            let area_m2 = if i == 0 { lake_m2 } else { zone_m2(&place.zone) };
            by_fetch.unwrap_or_else(|| Shelters::even(area_m2 / 1e6))
        });
        // A river into an arm without a column enters the main body.
        let heads = lake.inflows.iter().map(|i| layout.head_of(&i.enters));
        let river_columns = heads.map(|column| column.unwrap_or(0));
        let without_column = lake
            .arms()
            .filter(|zone| layout.head_of(&zone.id).is_none())
            .map(|zone| zone.id.clone());
        Ok(ReservoirSetup {
            sites: sites.collect(),
            shelters: shelters.collect(),
            river_columns: river_columns.collect(),
            without_column: without_column.collect(),
            layout,
            extinction_per_m: lake
                .clarity
                .as_ref()
                .map_or([UNKNOWN_EXTINCTION_PER_M; 12], |c| c.extinction_per_m),
            demand: demand_of(lake),
            outlet_elevation_m: lake.outlets.iter().map(|o| o.elevation_m).collect(),
            river_options: RiverOptions::default(),
        })
    }
}

/// Oxygen demand of a lake at 20 degC: as the file gives it, or of the bed by trophic state, and a median of 0.5 g/m2 a day
/// where nothing is known (median of the prior, range 0.25-0.9; Mortimer 1941 for the classes, from memory; Mueller et al.
/// 2012 for eutrophic lakes). Deep water is near 6 degC, where the bed takes up about 0.4 of what it does at 20.
pub fn demand_of(lake: &Lake) -> OxygenDemand {
    let at_20 = |areal_g_m2_day: f64| OxygenDemand {
        bed_g_m2_day: areal_g_m2_day / 0.4,
        water_mg_l_day: 0.0,
    };
    match lake.oxygen {
        Some(OxygenPrior::DemandMgLPerDay(demand)) => OxygenDemand {
            bed_g_m2_day: 0.0,
            water_mg_l_day: demand,
        },
        Some(OxygenPrior::Trophic(TrophicState::Oligotrophic)) => at_20(0.2),
        Some(OxygenPrior::Trophic(TrophicState::Mesotrophic)) | None => at_20(0.5),
        Some(OxygenPrior::Trophic(TrophicState::Eutrophic)) => at_20(0.9),
    }
}
