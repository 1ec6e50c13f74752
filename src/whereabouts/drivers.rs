//! What drives the rules today, by zone and member.

use chrono::NaiveDate;

use crate::column::{RiverWater, Water, ZoneWater};
use crate::conditions::{Conditions, InflowCondition, Pulse, TurbidityCondition};
use crate::lake::{Inflow, Lake, Zone, ZoneId, ZoneKind, distance_m};
use crate::math::quantiles::median;
use crate::species::{Response, RuleZone, Species};

use super::habitat::ZoneHabitat;
use super::response::{Release, stocking};

/// A release that pulls less than this is over (project choice).
const SMALLEST_PULL: f64 = 0.01;

/// The drivers of one zone for one member, or their medians; `None` is not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drivers {
    /// Greatest suitability in the zone (of a river: of its temperature).
    pub zone_suitability: Option<f64>,
    /// Greatest suitability in the main body.
    pub main_suitability: Option<f64>,
    /// Suitable volume of the zone.
    pub zone_volume_m3: Option<f64>,
    /// Suitable volume of the main body.
    pub main_volume_m3: Option<f64>,
    /// Temperature at the depth of greatest suitability in the main body.
    pub lake_best_degc: Option<f64>,
    /// Temperature of the zone's river.
    pub river_degc: Option<f64>,
    /// Flow of the zone's river over its baseflow today. Where it is known, so is whether there is a pulse.
    pub flow_ratio: Option<f64>,
    /// Flow over baseflow at the peak of its last pulse, the highest so far while it rises; `None` where
    /// there was no pulse within 30 days.
    pub pulse_peak_ratio: Option<f64>,
    /// Days since that peak, 0 while it rises; `None` where there was no pulse within 30 days.
    pub days_since_peak: Option<f64>,
    /// Change of level over 7 days.
    pub level_change_7d_m: Option<f64>,
    /// Surface less bottom temperature of the main body.
    pub surface_less_bottom_degc: Option<f64>,
    /// Turbidity of the zone, else of its river.
    pub turbidity_ntu: Option<f64>,
    /// Forage in the zone less that in the main body, by an index from 0 to 1.
    pub forage_less_main: Option<f64>,
    /// Days since the older of the newest looks at the bait of the two.
    pub days_since_bait: Option<f64>,
    /// Pull of releases into the zone, less that of releases into the main body. Known even without a
    /// release: the list of the lake file counts as complete.
    pub stocking_pull: Option<f64>,
    /// Days since the newest release into the zone or the main body, of those that still pull.
    pub days_since_release: Option<f64>,
}

/// A zone other than the main body, with its drivers.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneDrivers {
    /// Zone.
    pub zone: ZoneId,
    /// Kind, as rules see it.
    pub kind: RuleZone,
    /// Whether it is closed today.
    pub closed: bool,
    /// Drivers by member; at least one entry. Shape `[member]`.
    pub by_member: Vec<Drivers>,
    /// Median of each driver over members.
    pub median: Drivers,
    /// Whether the lake file names a river that belongs to the zone.
    pub has_river: bool,
}

/// The drivers of every arm and river, in the order of the lake file.
///
/// `habitats` holds the habitat of each zone with standing water, where it has a profile.
pub fn zone_drivers(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
    habitats: &[(ZoneId, ZoneHabitat)],
    date: NaiveDate,
) -> Vec<ZoneDrivers> {
    let main = habitat_of(habitats, &lake.main_body().id);
    let others = lake.zones.iter().filter(|z| z.kind != ZoneKind::MainBody);
    others
        .map(|zone| {
            let kind = if zone.kind == ZoneKind::Arm {
                RuleZone::Arm
            } else {
                RuleZone::River
            };
            let inflow = inflow_of(lake, zone);
            let river = inflow.and_then(|i| water.rivers.iter().find(|r| r.inflow == i.id));
            let flow = inflow.and_then(|i| conditions.inflows.iter().find(|c| c.inflow == i.id));
            let fixed = with_releases(fixed_drivers(conditions, flow), lake, species, zone, date);
            let fixed = with_forage(fixed, conditions, (&zone.id, &lake.main_body().id), date);
            let fixed = Drivers {
                turbidity_ntu: turbidity_ntu(conditions, zone, inflow),
                ..fixed
            };
            let own = habitat_of(habitats, &zone.id);
            let by_member: Vec<Drivers> = (0..water.members.max(1))
                .map(|m| match kind {
                    RuleZone::Arm => with_arm(with_main(fixed, main, river, m), own, m),
                    RuleZone::River => with_river(with_main(fixed, main, river, m), species),
                })
                .collect();
            let closed = water_of(water, &zone.id).is_some_and(|w| w.closed);
            let median = median_drivers(&by_member);
            ZoneDrivers {
                zone: zone.id.clone(),
                kind,
                closed,
                by_member,
                median,
                has_river: inflow.is_some(),
            }
        })
        .collect()
}

/// The water of zone `id`.
pub fn water_of<'w>(water: &'w Water, id: &ZoneId) -> Option<&'w ZoneWater> {
    water.zones.iter().find(|w| &w.zone == id)
}

/// The habitat of zone `id`.
pub fn habitat_of<'h>(habitats: &'h [(ZoneId, ZoneHabitat)], id: &ZoneId) -> Option<&'h ZoneHabitat> {
    habitats
        .iter()
        .find(|(zone, _)| zone == id)
        .map(|(_, habitat)| habitat)
}

/// The inflow of an arm, or of a river zone: the one it names; without a name it is the only river above
/// its zone (the check of the lake file asks for the name otherwise), and has the first inflow into that.
pub(super) fn inflow_of<'l>(lake: &'l Lake, zone: &Zone) -> Option<&'l Inflow> {
    if let Some(named) = &zone.inflow {
        return lake.inflows.iter().find(|i| &i.id == named);
    }
    lake.inflow_into(zone.above.as_ref().unwrap_or(&zone.id))
}

/// The drivers that have no members.
fn fixed_drivers(conditions: &Conditions, flow: Option<&InflowCondition>) -> Drivers {
    let pulse = flow.and_then(|f| f.pulse.as_ref());
    Drivers {
        flow_ratio: flow.and_then(|f| f.ratio),
        pulse_peak_ratio: flow.zip(pulse).map(|(f, p)| peak_so_far(f, p)),
        days_since_peak: pulse.map(|p| if p.peaked { p.days_since_peak } else { 0.0 }),
        level_change_7d_m: conditions
            .pool
            .as_ref()
            .and_then(|p| p.change_7d)
            .map(|c| c.change_m),
        ..Drivers::default()
    }
}

/// Turbidity of a zone: measured there, else that of its river, which is the arm's water at its head.
pub(super) fn turbidity_ntu(conditions: &Conditions, zone: &Zone, inflow: Option<&Inflow>) -> Option<f64> {
    let of = |wanted: &dyn Fn(&TurbidityCondition) -> bool| conditions.turbidities.iter().find(|t| wanted(t));
    of(&|t| t.zone.as_ref() == Some(&zone.id))
        .or_else(|| {
            let inflow = inflow?;
            of(&|t| t.inflow.as_ref() == Some(&inflow.id))
        })
        .map(|t| t.turbidity_ntu)
}

/// Index of forage in a zone less that in the main body, and how old the older look is; not known unless both were watched.
fn with_forage(
    drivers: Drivers,
    conditions: &Conditions,
    (zone, main): (&ZoneId, &ZoneId),
    date: NaiveDate,
) -> Drivers {
    let of = |id: &ZoneId| conditions.forage.iter().find(|f| &f.zone == id);
    let Some((here, there)) = of(zone).zip(of(main)) else {
        return drivers;
    };
    let older = here.newest.min(there.newest);
    Drivers {
        forage_less_main: Some(here.index_frac - there.index_frac),
        days_since_bait: Some((date - older).num_days() as f64),
        ..drivers
    }
}

/// The pull of releases of hatchery fish; nothing where the species has no such rule.
fn with_releases(drivers: Drivers, lake: &Lake, species: &Species, zone: &Zone, date: NaiveDate) -> Drivers {
    let scale = species.rules.iter().find_map(|row| match row.response {
        Response::Stocking(scale) => Some(scale),
        _ => None,
    });
    let Some(scale) = scale else { return drivers };
    let pulling = |zone: &ZoneId| {
        let mut all = releases(lake, species, zone, date);
        all.retain(|r| r.age_days >= 0.0 && stocking(&[*r], scale) >= SMALLEST_PULL);
        all
    };
    let (here, main) = (pulling(&zone.id), pulling(&lake.main_body().id));
    let ages = here.iter().chain(&main).map(|r| r.age_days);
    Drivers {
        stocking_pull: Some(stocking(&here, scale) - stocking(&main, scale)),
        days_since_release: ages.min_by(f64::total_cmp),
        ..drivers
    }
}

/// The releases of a species into a zone. Where the file gives the place of one, its distance is that to the
/// nearest stretch of the zone; else it counts as in the middle of the fish.
fn releases(lake: &Lake, species: &Species, zone: &ZoneId, date: NaiveDate) -> Vec<Release> {
    let points = || {
        lake.stretches
            .iter()
            .filter(|s| &s.zone == zone)
            .flat_map(|s| &s.line)
    };
    lake.stocking
        .iter()
        .filter(|s| &s.zone == zone && s.species.as_str() == species.id)
        .map(|s| Release {
            count: f64::from(s.count),
            distance_m: s
                .position
                .and_then(|at| points().map(|p| distance_m(at, *p)).min_by(f64::total_cmp))
                .unwrap_or(0.0),
            age_days: (date - s.date).num_days() as f64,
        })
        .collect()
}

/// Flow over baseflow at the peak; while the river rises, the flow of this hour may be above all days.
fn peak_so_far(flow: &InflowCondition, pulse: &Pulse) -> f64 {
    match flow.ratio {
        Some(ratio) if !pulse.peaked => pulse.peak_ratio.max(ratio),
        _ => pulse.peak_ratio,
    }
}

fn with_main(
    fixed: Drivers,
    main: Option<&ZoneHabitat>,
    river: Option<&RiverWater>,
    member: usize,
) -> Drivers {
    let main = main.and_then(|h| h.members.get(member));
    Drivers {
        main_suitability: main.map(|m| m.best_suitability),
        main_volume_m3: main.and_then(|m| m.soft_volume_m3),
        lake_best_degc: main.map(|m| m.best_temp_degc),
        surface_less_bottom_degc: main.map(|m| m.surface_less_bottom_degc),
        river_degc: river.and_then(|r| r.temp_degc.get(member)).copied(),
        ..fixed
    }
}

fn with_arm(drivers: Drivers, own: Option<&ZoneHabitat>, member: usize) -> Drivers {
    let own = own.and_then(|h| h.members.get(member));
    Drivers {
        zone_suitability: own.map(|m| m.best_suitability),
        zone_volume_m3: own.and_then(|m| m.soft_volume_m3),
        ..drivers
    }
}

/// A river is suitable as its temperature is; its oxygen is not known (flowing water; project choice).
fn with_river(drivers: Drivers, species: &Species) -> Drivers {
    Drivers {
        zone_suitability: drivers.river_degc.and_then(|t| species.suitability(t, None)),
        ..drivers
    }
}

fn median_drivers(by_member: &[Drivers]) -> Drivers {
    let of = |driver: fn(&Drivers) -> Option<f64>| {
        let values: Vec<f64> = by_member.iter().filter_map(driver).collect();
        median(&values)
    };
    Drivers {
        zone_suitability: of(|d| d.zone_suitability),
        main_suitability: of(|d| d.main_suitability),
        zone_volume_m3: of(|d| d.zone_volume_m3),
        main_volume_m3: of(|d| d.main_volume_m3),
        lake_best_degc: of(|d| d.lake_best_degc),
        river_degc: of(|d| d.river_degc),
        flow_ratio: of(|d| d.flow_ratio),
        pulse_peak_ratio: of(|d| d.pulse_peak_ratio),
        days_since_peak: of(|d| d.days_since_peak),
        level_change_7d_m: of(|d| d.level_change_7d_m),
        surface_less_bottom_degc: of(|d| d.surface_less_bottom_degc),
        turbidity_ntu: of(|d| d.turbidity_ntu),
        forage_less_main: of(|d| d.forage_less_main),
        days_since_bait: of(|d| d.days_since_bait),
        stocking_pull: of(|d| d.stocking_pull),
        days_since_release: of(|d| d.days_since_release),
    }
}
