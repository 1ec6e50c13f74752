//! The water of a morning: the columns', with the quick model as reference and fallback.

use chrono::Duration;

use super::advance::{AdvanceOptions, Advanced, MEMBERS, advance};
use super::begin::SEED;
use super::error::AnalysisError;
use super::kept::{ColumnWater, Kept};
use super::outlook::{days_ahead, surface_outlook};
use crate::archive::analysed::{AnalysedStates, InputHash, StateError};
use crate::column::assimilate::WaterField;
use crate::column::reservoir::{river_ways, zone_waters};
use crate::column::{ColumnsBasis, ProfileBasis, Water, WaterOptions, water_at};
use crate::conditions::{Conditions, ForageCondition, conditions_at};
use crate::lake::{Lake, ZoneId};
use crate::math::quantiles::median;
use crate::series::{Consequence, Gap, GapReason, SeriesSet};
use crate::sources::csv::WaterReading;

/// Days ahead.
const AHEAD_DAYS: u32 = 16;
/// Depth to which a reading is one of the surface, and how long it speaks of today's (as in the quick model).
const SURFACE_DEPTH_M: f64 = 3.0;
const SURFACE_DAYS: i64 = 3;
/// What the quick model tells as missing and the columns do not need.
const OF_THE_QUICK_MODEL: [&str; 1] = ["temperature profile"];

/// What the water of a morning comes from beside the series.
#[derive(Debug, Clone, Copy)]
pub struct MorningSource<'a> {
    /// Hash of the lake file's bytes.
    pub lake_file: InputHash,
    /// The angler's own readings of the water.
    pub own: &'a [WaterReading],
    /// Saved states; `None` to save none.
    pub states: Option<&'a AnalysedStates>,
    /// Bait by zone, from the trip log.
    pub forage: &'a [ForageCondition],
    /// Whether the days ahead are run as well; of a morning long past nobody asks for them.
    pub ahead: bool,
}

/// The water of a morning, and how it came about.
#[derive(Debug)]
pub struct MorningWater {
    /// Conditions of the morning.
    pub conditions: Conditions,
    /// Its water.
    pub water: Water,
    /// Saved states that were of no use, and what could not be kept.
    pub told: Vec<StateError>,
}

/// The water of the morning at the clock of `set`. Zones, oxygen, closed arms, ways of the rivers and the surface ahead come from the
/// columns ([`advance`]), the rivers' own temperature from the quick model. Where the columns cannot be run, everything
/// is the quick model's, and a gap says so and why. What the columns say is kept beside the states, and read again as long
/// as the hour and everything that it rests on are the same.
pub fn morning_water(lake: &Lake, set: &SeriesSet, source: &MorningSource<'_>) -> MorningWater {
    let mut conditions = conditions_at(lake, set);
    conditions.forage = source.forage.to_vec();
    let options = WaterOptions {
        members: MEMBERS,
        seed: SEED,
    };
    let mut water = water_at(lake, &conditions, set, &options);
    let mut told = Vec::new();
    let folder = source.states.map(AnalysedStates::folder);
    let kept = folder.filter(|_| source.ahead);
    let kept = kept.and_then(|folder| Kept::of(folder, lake, source, set));
    let found = kept.as_ref().and_then(Kept::read);
    let columns = match found {
        Some(columns) => Ok(columns),
        None => {
            let level_m = conditions.pool.as_ref().map(|pool| pool.elevation_m);
            let run = run_columns(lake, (set, level_m), source, &mut told);
            run.map(|columns| match kept {
                Some(kept) => {
                    let (columns, error) = kept.write(columns);
                    told.extend(error);
                    columns
                }
                None => columns,
            })
        }
    };
    match columns {
        Ok(columns) => put_columns(lake, &mut water, columns),
        Err(error) => water.gaps.push(fallback(&error)),
    }
    MorningWater {
        conditions,
        water,
        told,
    }
}

/// Runs the columns up to the clock and through the days ahead.
fn run_columns(
    lake: &Lake,
    (set, level_m): (&SeriesSet, Option<f64>),
    source: &MorningSource<'_>,
    told: &mut Vec<StateError>,
) -> Result<ColumnWater, AnalysisError> {
    let options = AdvanceOptions {
        lake_file: source.lake_file,
        own: source.own,
        ahead_days: if source.ahead { AHEAD_DAYS } else { 0 },
    };
    let mut advanced = advance(lake, set, level_m, source.states, &options)?;
    told.append(&mut advanced.told);
    let rivers = advanced.forcing.past.rivers.iter();
    let rivers: Vec<_> = rivers.filter_map(|river| river.last().copied()).collect();
    let oxygen_measured = advanced
        .observed
        .readings
        .iter()
        .any(|(_, o)| o.field == WaterField::Oxygen && o.time >= advanced.cold_start);
    let zones = zone_waters(lake, &advanced.ensemble, &rivers, |zone| basis(&advanced, zone));
    let main = &lake.main_body().id;
    let depth_m = zones.iter().find(|zone| zone.zone == *main);
    let depth_m = depth_m.map_or_else(Vec::new, |zone| zone.depth_m.clone());
    let river_ways = river_ways(lake, &advanced.ensemble);
    let days_ahead = days_ahead(lake, &mut advanced, &depth_m)?;
    Ok(ColumnWater {
        zones,
        river_ways,
        basis: ColumnsBasis {
            run_to: advanced.at,
            cold_start: advanced.cold_start,
            readings: readings(&advanced),
            oxygen_measured,
            quick_surface_degc: None,
        },
        gaps: std::mem::take(&mut advanced.forcing.gaps),
        surface_outlook: surface_outlook(&days_ahead),
        days_ahead,
    })
}

/// Puts what the columns say in the place of what the quick model says.
fn put_columns(lake: &Lake, water: &mut Water, columns: ColumnWater) {
    let main = &lake.main_body().id;
    let quick = water.zones.iter().find(|zone| zone.zone == *main);
    let quick_surface_degc = quick.and_then(|zone| {
        let surface: Option<Vec<f64>> = zone.temp_degc.iter().map(|t| t.first().copied()).collect();
        median(&surface?)
    });
    water.columns = Some(ColumnsBasis {
        quick_surface_degc,
        ..columns.basis
    });
    water.zones = columns.zones;
    water.river_ways = columns.river_ways;
    if !columns.surface_outlook.is_empty() {
        water.surface_outlook = columns.surface_outlook;
        water.days_ahead = columns.days_ahead;
    }
    water
        .gaps
        .retain(|gap| !OF_THE_QUICK_MODEL.contains(&gap.what.as_str()));
    for gap in columns.gaps {
        if water.gaps.iter().all(|other| other.what != gap.what) {
            water.gaps.push(gap);
        }
    }
}

/// Readings between the cold start and the state.
fn readings(advanced: &Advanced) -> usize {
    let of_run = |o: &&(ZoneId, crate::column::assimilate::WaterObservation)| {
        (advanced.cold_start..advanced.at).contains(&o.1.time)
    };
    advanced.observed.readings.iter().filter(of_run).count()
}

/// What the profile of a zone rests on.
pub(super) fn basis(advanced: &Advanced, zone: &ZoneId) -> ProfileBasis {
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
            stand_in: format!(
                "the quick model (a surface from the air and a rule of thumb below it); {error}"
            ),
        },
    }
}
