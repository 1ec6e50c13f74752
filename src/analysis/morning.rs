//! The water of a morning: the columns', with the quick model as reference and fallback.

use chrono::Duration;

use super::advance::{AdvanceOptions, Advanced, MEMBERS, advance};
use super::begin::SEED;
use super::error::AnalysisError;
use super::outlook::surface_outlook;
use crate::archive::analysed::{AnalysedStates, InputHash};
use crate::column::assimilate::WaterField;
use crate::column::reservoir::{river_ways, zone_waters};
use crate::column::{ColumnsBasis, ProfileBasis, Water, WaterOptions, water_at};
use crate::conditions::{Conditions, conditions_at};
use crate::lake::{Lake, ZoneId};
use crate::math::quantiles::median;
use crate::series::{Consequence, Gap, GapReason, SeriesSet};

/// Days ahead.
const AHEAD_DAYS: u32 = 16;
/// Depth to which a reading is one of the surface, and how long it speaks of today's (as in the quick model).
const SURFACE_DEPTH_M: f64 = 3.0;
const SURFACE_DAYS: i64 = 3;
/// What the quick model tells as missing and the columns do not need.
const OF_THE_QUICK_MODEL: [&str; 1] = ["temperature profile"];

/// The water of a morning, and how it came about.
#[derive(Debug)]
pub struct MorningWater {
    /// Conditions of the morning.
    pub conditions: Conditions,
    /// Its water.
    pub water: Water,
    /// The run of the columns, its members at the end of the days ahead; or why there is none.
    pub run: Result<Advanced, AnalysisError>,
}

/// The water of the morning at the clock of `set`. Zones, oxygen, closed arms, ways of the rivers and the surface ahead come from the
/// columns ([`advance`]), the rivers' own temperature from the quick model. Where the columns cannot be run, everything
/// is the quick model's, and a gap says so and why.
pub fn morning_water(
    lake: &Lake,
    lake_file: InputHash,
    set: &SeriesSet,
    states: Option<&AnalysedStates>,
) -> MorningWater {
    let conditions = conditions_at(lake, set);
    let options = WaterOptions {
        members: MEMBERS,
        seed: SEED,
    };
    let mut water = water_at(lake, &conditions, set, &options);
    let options = AdvanceOptions {
        lake_file,
        ahead_days: AHEAD_DAYS,
    };
    let level_m = conditions.pool.as_ref().map(|pool| pool.elevation_m);
    let run = advance(lake, set, level_m, states, &options);
    let run = run.and_then(|mut advanced| {
        put_columns(lake, &mut water, &mut advanced)?;
        Ok(advanced)
    });
    if let Err(error) = &run {
        water.gaps.push(fallback(error));
    }
    MorningWater {
        conditions,
        water,
        run,
    }
}

/// Puts what the columns say in the place of what the quick model says; nothing where the days ahead cannot be run.
fn put_columns(lake: &Lake, water: &mut Water, advanced: &mut Advanced) -> Result<(), AnalysisError> {
    let rivers: Vec<_> = advanced
        .forcing
        .past
        .rivers
        .iter()
        .filter_map(|river| river.last().copied())
        .collect();
    let zones = zone_waters(lake, &advanced.ensemble, &rivers, |zone| basis(advanced, zone));
    let ways = river_ways(lake, &advanced.ensemble);
    let outlook = surface_outlook(lake, advanced)?;
    let main = &lake.main_body().id;
    let quick = water.zones.iter().find(|zone| zone.zone == *main);
    let quick_surface_degc = quick.and_then(|zone| {
        let surface: Option<Vec<f64>> = zone.temp_degc.iter().map(|t| t.first().copied()).collect();
        median(&surface?)
    });
    water.columns = Some(ColumnsBasis {
        run_to: advanced.at,
        cold_start: advanced.cold_start,
        readings: readings(advanced),
        oxygen_measured: advanced
            .observed
            .readings
            .iter()
            .any(|(_, o)| o.field == WaterField::Oxygen && o.time >= advanced.cold_start),
        quick_surface_degc,
    });
    water.zones = zones;
    water.river_ways = ways;
    if !outlook.is_empty() {
        water.surface_outlook = outlook;
    }
    water
        .gaps
        .retain(|gap| !OF_THE_QUICK_MODEL.contains(&gap.what.as_str()));
    for gap in &advanced.forcing.gaps {
        if water.gaps.iter().all(|other| other.what != gap.what) {
            water.gaps.push(gap.clone());
        }
    }
    Ok(())
}

/// Readings between the cold start and the state.
fn readings(advanced: &Advanced) -> usize {
    let of_run = |o: &&(ZoneId, crate::column::assimilate::WaterObservation)| {
        (advanced.cold_start..advanced.at).contains(&o.1.time)
    };
    advanced.observed.readings.iter().filter(of_run).count()
}

fn basis(advanced: &Advanced, zone: &ZoneId) -> ProfileBasis {
    let observed = &advanced.observed;
    let since = |depth_m| {
        observed
            .newest(zone, advanced.at, depth_m)
            .filter(|time| *time >= advanced.cold_start)
    };
    let surface = since(Some(SURFACE_DEPTH_M));
    ProfileBasis::Columns {
        corrected_at: since(None),
        surface_measured: surface.is_some_and(|time| advanced.at - time <= Duration::days(SURFACE_DAYS)),
    }
}

/// That the quick model stands in.
fn fallback(error: &AnalysisError) -> Gap {
    Gap {
        what: "water by depth and arm".to_owned(),
        reason: match error {
            AnalysisError::Setup(_) => GapReason::NotDescribed,
            _ => GapReason::NoData,
        },
        consequence: Consequence::StandIn {
            stand_in: format!("the quick model (a surface from the air and a rule of thumb below it), for {error}"),
        },
    }
}
