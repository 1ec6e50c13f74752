//! The rules at work: from a row and today's drivers to a response.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::species::response::PulseShape;
use crate::species::{Response, RuleRow, RuleZone, Species};

use super::drivers::{Drivers, ZoneDrivers};
use super::response as f;

/// A driver by its topic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Driver {
    /// Water of the main body.
    MainWater,
    /// Water of the zone.
    ZoneWater,
    /// Areas by depth at today's level.
    Areas,
    /// Temperature of the zone's river.
    RiverTemp,
    /// Flow of the zone's river over its baseflow.
    FlowRatio,
    /// Change of level over 7 days.
    LevelChange,
    /// Turbidity of the zone or its river.
    Turbidity,
    /// Forage in the zone and in the main body.
    Forage,
    /// Releases of hatchery fish.
    Releases,
}

impl Driver {
    /// Whether it is the same for every zone.
    pub fn is_of_the_lake(self) -> bool {
        matches!(self, Driver::MainWater | Driver::LevelChange)
    }
}

/// The response of one rule in one zone.
#[derive(Debug, Clone, PartialEq)]
pub enum Evaluated {
    /// Its value.
    Known(f64),
    /// It depends on drivers that are not known.
    Unknown(Vec<Driver>),
}

/// One rule of one zone, ready to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// Index of the rule in the species.
    pub row: usize,
    /// Factor on the coefficient.
    pub factor: f64,
    /// Response to the median drivers; 0 where it is not known.
    pub median: f64,
    /// Response by member; 0 where it is not known. Shape `[member]`.
    pub by_member: Vec<f64>,
    /// Drivers that are not known; empty where the response is.
    pub missing: Vec<Driver>,
}

/// The terms of every rule that applies to `zone`, in the order of the species file.
///
/// Where the response of any member is not known the whole term is left out: its responses are 0, and
/// `missing` says why.
pub fn terms(species: &Species, zone: &ZoneDrivers, date: NaiveDate) -> Vec<Term> {
    let mut terms = Vec::new();
    for (index, row) in species.rules.iter().enumerate() {
        let factor = row.factor(zone.kind);
        if factor == 0.0 {
            continue;
        }
        let mut term = Term {
            row: index,
            factor,
            median: 0.0,
            by_member: Vec::new(),
            missing: Vec::new(),
        };
        for drivers in &zone.by_member {
            match evaluate(row, species, zone.kind, drivers, date) {
                Evaluated::Known(response) => term.by_member.push(response),
                Evaluated::Unknown(missing) => term.missing.extend(missing),
            }
        }
        match evaluate(row, species, zone.kind, &zone.median, date) {
            Evaluated::Known(response) => term.median = response,
            Evaluated::Unknown(missing) => term.missing.extend(missing),
        }
        if !term.missing.is_empty() {
            term.missing.sort_unstable();
            term.missing.dedup();
            term.median = 0.0;
            term.by_member = vec![0.0; zone.by_member.len()];
        }
        terms.push(term);
    }
    terms
}

/// A part of a product of responses, or the driver that it lacks.
type Part = Result<f64, Driver>;

/// The response of `row` to `drivers` on `date`.
///
/// A product in which a known part is 0 is 0 whatever its missing drivers are: out of season, in a lake
/// too cool for a refuge, the rule is known to be silent.
pub fn evaluate(
    row: &RuleRow,
    species: &Species,
    kind: RuleZone,
    drivers: &Drivers,
    date: NaiveDate,
) -> Evaluated {
    // A season that is not there cannot come from the reader, which refuses it; it would silence the rule.
    let season = |id: &str| Ok(species.season(id).map_or(0.0, |s| s.weight(date)));
    let river = drivers.river_degc.ok_or(Driver::RiverTemp);
    match &row.response {
        Response::Constant => Evaluated::Known(1.0),
        Response::VolumeRatio { bound } => pair(
            drivers.zone_volume_m3.ok_or(Driver::Areas),
            drivers.main_volume_m3.ok_or(Driver::Areas),
            |arm, main| f::volume_ratio(arm, main, *bound),
        ),
        Response::SuitabilityDifference => {
            let own = if kind == RuleZone::River {
                Driver::RiverTemp
            } else {
                Driver::ZoneWater
            };
            let zone = drivers.zone_suitability.ok_or(own);
            pair(
                zone,
                drivers.main_suitability.ok_or(Driver::MainWater),
                |zone, main| zone - main,
            )
        }
        Response::ColdRefuge {
            colder_by_degc,
            lake_degc,
        } => {
            let lake = drivers.lake_best_degc.ok_or(Driver::MainWater);
            if lake.is_ok_and(|t| f::ramp(t, *lake_degc) == 0.0) {
                return Evaluated::Known(0.0);
            }
            pair(lake, river, |lake, river| {
                f::cold_refuge(lake, river, *colder_by_degc, *lake_degc)
            })
        }
        Response::SpringPulse {
            season: id,
            pulse,
            opens_degc,
            closes_degc,
        } => {
            let open = river.map(|t| f::ramp(t, *opens_degc) * f::open_below(t, *closes_degc));
            product(&[season(id), pulse_strength(drivers, *pulse), open])
        }
        Response::Run {
            season: id,
            closes_degc,
        } => product(&[season(id), river.map(|t| f::open_below(t, *closes_degc))]),
        Response::RunPulse {
            season: id,
            pulse,
            closes_degc,
        } => {
            let open = river.map(|t| f::open_below(t, *closes_degc));
            product(&[season(id), pulse_strength(drivers, *pulse), open])
        }
        Response::PulseOutOfSeason { season: id, pulse } => {
            product(&[season(id).map(|w| 1.0 - w), pulse_strength(drivers, *pulse)])
        }
        Response::Turbid { turbidity_ntu } => {
            let turbidity = drivers.turbidity_ntu.ok_or(Driver::Turbidity);
            single(turbidity, |ntu| f::ramp(ntu, *turbidity_ntu))
        }
        Response::ForageDifference => single(drivers.forage_less_main.ok_or(Driver::Forage), |d| d),
        Response::Stocking(_) => single(drivers.stocking_pull.ok_or(Driver::Releases), |pull| pull),
        Response::LevelFalling { fall_m } => single(level(drivers), |rise| f::ramp(-rise, *fall_m)),
        Response::LevelRising { rise_m } => single(level(drivers), |rise| f::ramp(rise, *rise_m)),
        Response::Isothermal { difference_degc } => {
            let difference = drivers.surface_less_bottom_degc.ok_or(Driver::MainWater);
            single(difference, |d| f::open_below(d, *difference_degc))
        }
    }
}

fn level(drivers: &Drivers) -> Part {
    drivers.level_change_7d_m.ok_or(Driver::LevelChange)
}

/// A flow above baseflow without a pulse in the last 30 days (slow snowmelt) is no pulse.
///
/// The size of a pulse is that of its peak, and its fading that of the days since: fish that ran up on it do
/// not leave as fast as the water falls. Today's flow in place of the peak would count the fall twice.
fn pulse_strength(drivers: &Drivers, shape: PulseShape) -> Part {
    drivers.flow_ratio.ok_or(Driver::FlowRatio)?;
    Ok(drivers
        .pulse_peak_ratio
        .zip(drivers.days_since_peak)
        .map_or(0.0, |(ratio, days)| f::pulse(ratio, days, shape)))
}

fn single(part: Part, response: impl Fn(f64) -> f64) -> Evaluated {
    match part {
        Ok(x) => Evaluated::Known(response(x)),
        Err(missing) => Evaluated::Unknown(vec![missing]),
    }
}

fn pair(a: Part, b: Part, response: impl Fn(f64, f64) -> f64) -> Evaluated {
    match (a, b) {
        (Ok(a), Ok(b)) => Evaluated::Known(response(a, b)),
        (a, b) => Evaluated::Unknown([a.err(), b.err()].into_iter().flatten().collect()),
    }
}

fn product(parts: &[Part]) -> Evaluated {
    if parts.contains(&Ok(0.0)) {
        return Evaluated::Known(0.0);
    }
    let missing: Vec<Driver> = parts.iter().filter_map(|p| p.err()).collect();
    if !missing.is_empty() {
        return Evaluated::Unknown(missing);
    }
    Evaluated::Known(parts.iter().flatten().product())
}

/// The drivers that `row` looks at, by name with their SI unit, as far as they are known.
pub fn named_drivers(
    row: &RuleRow,
    species: &Species,
    drivers: &Drivers,
    date: NaiveDate,
) -> BTreeMap<String, f64> {
    let weight = |id: &str| species.season(id).map(|s| s.weight(date));
    let river = ("river_temp_degc", drivers.river_degc);
    let ratio = ("pulse_peak_ratio", drivers.pulse_peak_ratio);
    let since = ("days_since_peak", drivers.days_since_peak);
    let level = ("level_change_7d_m", drivers.level_change_7d_m);
    let named = match &row.response {
        Response::Constant => vec![],
        Response::VolumeRatio { .. } => vec![
            ("zone_suitable_volume_m3", drivers.zone_volume_m3),
            ("main_suitable_volume_m3", drivers.main_volume_m3),
        ],
        Response::SuitabilityDifference => {
            vec![
                ("zone_suitability", drivers.zone_suitability),
                ("main_suitability", drivers.main_suitability),
            ]
        }
        Response::ColdRefuge { .. } => vec![("lake_best_temp_degc", drivers.lake_best_degc), river],
        Response::SpringPulse { season, .. } | Response::RunPulse { season, .. } => {
            vec![("season_weight", weight(season)), ratio, since, river]
        }
        Response::Run { season, .. } => vec![("season_weight", weight(season)), river],
        Response::PulseOutOfSeason { season, .. } => vec![("season_weight", weight(season)), ratio, since],
        Response::Turbid { .. } => vec![("turbidity_ntu", drivers.turbidity_ntu)],
        Response::ForageDifference => vec![
            ("forage_less_main", drivers.forage_less_main),
            ("days_since_bait", drivers.days_since_bait),
        ],
        Response::Stocking(_) => vec![("days_since_release", drivers.days_since_release)],
        Response::LevelFalling { .. } | Response::LevelRising { .. } => vec![level],
        Response::Isothermal { .. } => vec![("surface_less_bottom_degc", drivers.surface_less_bottom_degc)],
    };
    named
        .into_iter()
        .filter_map(|(name, value)| Some((name.to_owned(), value?)))
        .collect()
}
