//! What the rules say of a lake of the recorded shape, month by month, from a table of temperatures alone.

use chrono::{DateTime, Datelike, Days, NaiveDate, TimeZone, Utc};
use plungeline::column::quick::{ProfileNoise, SeasonState, ThumbProfile, thumb_profile_degc};
use plungeline::column::{ProfileBasis, RiverWater, Water, ZoneWater};
use plungeline::conditions::{Conditions, conditions_at};
use plungeline::lake::{Lake, Zone, ZoneId, ZoneKind};
use plungeline::math::quantiles::quantiles;
use plungeline::math::streams::{normal, stream};
use plungeline::series::SeriesSet;
use plungeline::skill::intervals::Interval;
use plungeline::skill::telemetry::MONTHS;
use plungeline::species::Species;
use plungeline::whereabouts::Belief;
use plungeline::whereabouts::draws::{DrawnZone, MatureShare, draw_shares};
use plungeline::whereabouts::drivers::{Drivers, ZoneDrivers, zone_drivers};
use plungeline::whereabouts::habitat::ZoneHabitat;
use plungeline::whereabouts::rules::terms;

use super::areas::GROUPS;

/// Draws of coefficients and members, as a brief has.
pub const DRAWS: usize = 2000;
/// Seed of all draws.
pub const SEED: u64 = 1;
const MEMBERS: usize = 32;
/// A year without a leap day; the table below is of no year.
const YEAR: i32 = 2010;
/// Days of a month on which the rules are asked.
const DAYS: [u32; 3] = [5, 15, 25];
/// Spread of a month's mean from year to year, of lake and rivers (from memory: about a degree).
const YEARS_SD_DEGC: f64 = 1.0;

/// Monthly means, degC. All from memory, none checked: surface of the main lake; the Lardeau River, which flows out of a lake
/// above and is snow-fed; the Kootenay River, regulated, which crosses a warm plain; creeks.
const SURFACE_DEGC: [f64; MONTHS] = [4.5, 4.0, 4.2, 5.5, 9.5, 13.5, 17.5, 19.5, 16.5, 12.5, 9.0, 6.0];
const LARDEAU_DEGC: [f64; MONTHS] = [2.0, 2.0, 3.0, 4.5, 6.5, 8.5, 11.0, 12.0, 10.5, 8.0, 5.0, 3.0];
const KOOTENAY_DEGC: [f64; MONTHS] = [3.5, 3.5, 4.5, 6.5, 9.0, 11.5, 15.0, 17.0, 15.0, 11.5, 7.5, 4.5];
const CREEKS_DEGC: [f64; MONTHS] = [1.0, 1.0, 2.0, 4.0, 5.5, 7.5, 11.0, 12.0, 9.5, 6.0, 3.0, 1.5];

/// A change to what the rules are given.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Variant {
    /// Added to the temperature of lake and rivers.
    pub warmer_degc: f64,
    /// Rivers at the peak of a pulse of four times baseflow from 15 April to 30 June, and without a pulse else. Without this nothing is
    /// known of their flow.
    pub freshet: bool,
    /// Everything south of the Lardeau's share of the rivers is left out: the Kootenay River is no zone.
    pub lardeau_only: bool,
}

/// Shares by draw: of each group, and of each zone by its id.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleMonth {
    /// Mean over the draws. Shape `[group]`.
    pub share: Vec<f64>,
    /// 10 to 90 % of the draws. Shape `[group]`.
    pub interval: Vec<Interval>,
    /// Means by zone, main body first.
    pub zones: Vec<(ZoneId, f64)>,
}

/// The rules' shares in every month, January first.
pub fn rule_months(lake: &Lake, species: &Species, variant: Variant) -> Vec<RuleMonth> {
    let mut lake = lake.clone();
    lake.zones
        .retain(|z| !variant.lardeau_only || z.id.as_str() != "kootenay-river");
    (1..=12)
        .map(|month| rule_month(&lake, species, variant, month))
        .collect()
}

fn rule_month(lake: &Lake, species: &Species, variant: Variant, month: u32) -> RuleMonth {
    let mut share: Vec<Vec<f64>> = Vec::new();
    for day in DAYS {
        let date = NaiveDate::from_ymd_opt(YEAR, month, day).expect("every month has these days");
        let drawn = drawn_shares(lake, species, variant, date);
        share.resize(drawn.len(), vec![0.0; DRAWS]);
        for (sum, of_day) in share.iter_mut().zip(&drawn) {
            sum.iter_mut()
                .zip(of_day)
                .for_each(|(s, d)| *s += d / DAYS.len() as f64);
        }
    }
    let ids = std::iter::once(&lake.main_body().id).chain(others(lake).map(|z| &z.id));
    let group = |kind: ZoneKind| -> Vec<f64> {
        let kinds = std::iter::once(ZoneKind::MainBody).chain(others(lake).map(|z| z.kind));
        let of_kind: Vec<&Vec<f64>> = kinds
            .zip(&share)
            .filter(|(k, _)| *k == kind)
            .map(|(_, s)| s)
            .collect();
        (0..DRAWS).map(|d| of_kind.iter().map(|s| s[d]).sum()).collect()
    };
    let groups: [Vec<f64>; GROUPS.len()] = [ZoneKind::MainBody, ZoneKind::Arm, ZoneKind::River].map(group);
    let mean = |draws: &[f64]| draws.iter().sum::<f64>() / draws.len() as f64;
    let interval = |draws: &Vec<f64>| {
        let [low, high] = quantiles(draws, [0.1, 0.9]).expect("shares are numbers");
        Interval { low, high }
    };
    RuleMonth {
        share: groups.iter().map(|g| mean(g)).collect(),
        interval: groups.iter().map(interval).collect(),
        zones: ids.cloned().zip(share.iter().map(|s| mean(s))).collect(),
    }
}

fn others(lake: &Lake) -> impl Iterator<Item = &Zone> {
    lake.zones.iter().filter(|z| z.kind != ZoneKind::MainBody)
}

/// Shares by draw on one day, as a call of the whereabouts draws them. Shape `[zone][draw]`, main body first.
pub fn drawn_shares(lake: &Lake, species: &Species, variant: Variant, date: NaiveDate) -> Vec<Vec<f64>> {
    let water = water(lake, variant, date);
    let habitat = |w: &ZoneWater| Some((w.zone.clone(), ZoneHabitat::new(w, species)?));
    let habitats: Vec<_> = water.zones.iter().filter_map(habitat).collect();
    let conditions = conditions(lake, date);
    let mut zones = zone_drivers(lake, species, &conditions, &water, &habitats, date);
    if variant.freshet {
        zones.iter_mut().for_each(|zone| with_freshet(zone, date));
    }
    let drawn: Vec<DrawnZone> = zones
        .iter()
        .map(|zone| DrawnZone {
            name: zone.zone.to_string(),
            closed: zone.closed,
            terms: terms(species, zone, date),
        })
        .collect();
    let rules = Belief::rules(species);
    draw_shares(
        species,
        &rules,
        &drawn,
        MEMBERS,
        MatureShare::Whole,
        (DRAWS, SEED),
    )
    .share
}

fn with_freshet(zone: &mut ZoneDrivers, date: NaiveDate) {
    let runs = (date.month(), date.day()) >= (4, 15) && date.month() <= 6;
    let change = |drivers: &mut Drivers| {
        drivers.flow_ratio = Some(if runs { 4.0 } else { 1.0 });
        drivers.pulse_peak_ratio = runs.then_some(4.0);
        drivers.days_since_peak = runs.then_some(0.0);
    };
    change(&mut zone.median);
    zone.by_member.iter_mut().for_each(change);
}

/// Nothing measured: conditions of a lake without a single series.
pub fn conditions(lake: &Lake, date: NaiveDate) -> Conditions {
    let set = SeriesSet {
        as_of: morning(date),
        ..SeriesSet::default()
    };
    conditions_at(lake, &set)
}

fn morning(date: NaiveDate) -> DateTime<Utc> {
    Utc.from_utc_datetime(&date.and_hms_opt(12, 0, 0).expect("noon is an hour of a day"))
}

/// The water by the program's rule of thumb from the surface's climatology, alike in the main lake and both long arms; the West Arm,
/// shallow and flowing, has the surface's temperature down to its bed. Oxygen is not given: from memory there is enough of it
/// at every depth.
pub fn water(lake: &Lake, variant: Variant, date: NaiveDate) -> Water {
    let shifts: Vec<[f64; 2]> = (0..MEMBERS)
        .map(|m| {
            let mut numbers = stream(SEED, &format!("telemetry/climate/{m}"));
            [(); 2].map(|()| variant.warmer_degc + YEARS_SD_DEGC * normal(&mut numbers))
        })
        .collect();
    let depth_m: Vec<f64> = (0..30)
        .map(f64::from)
        .chain((6..=30).map(|k| 5.0 * f64::from(k)))
        .collect();
    let history: Vec<f64> = (0..400)
        .rev()
        .map(|back| by_day_degc(&SURFACE_DEGC, date - Days::new(back)))
        .collect();
    let profile = |member: usize, mixed: bool| -> Vec<f64> {
        let own: Vec<f64> = history.iter().map(|t| (t + shifts[member][0]).max(0.0)).collect();
        let (Some(season), Some(surface)) = (SeasonState::at_end_of(&own), own.last().copied()) else {
            return Vec::new();
        };
        if mixed {
            return vec![surface; depth_m.len()];
        }
        let shape = ThumbProfile::of(&season, surface).spread(ProfileNoise::of_member(SEED, member), 1.0);
        thumb_profile_degc(&shape, &depth_m)
    };
    let full_m = lake.full_pool_elevation_m;
    let zone = |zone: &Zone| ZoneWater {
        zone: zone.id.clone(),
        depth_m: depth_m.clone(),
        area_m2: depth_m
            .iter()
            .map(|z| lake.zone_area_m2(zone, full_m - z))
            .collect(),
        temp_degc: (0..MEMBERS)
            .map(|m| profile(m, zone.id.as_str() == "west"))
            .collect(),
        oxygen_mg_l: None,
        parts: Vec::new(),
        max_depth_m: lake.zone_max_depth_m(zone, full_m),
        volume_m3: lake.zone_volume_m3(zone, full_m),
        basis: ProfileBasis::SeasonOnly,
        closed: lake.is_closed_at(zone, full_m).unwrap_or(false),
    };
    let river = |inflow: &plungeline::lake::Inflow| {
        let table = match inflow.id.as_str() {
            "lardeau" => &LARDEAU_DEGC,
            "kootenay" => &KOOTENAY_DEGC,
            _ => &CREEKS_DEGC,
        };
        let mean = by_day_degc(table, date);
        RiverWater {
            inflow: inflow.id.clone(),
            temp_degc: shifts.iter().map(|s| (mean + s[1]).max(0.0)).collect(),
            measured: false,
        }
    };
    Water {
        members: MEMBERS,
        zones: lake
            .zones
            .iter()
            .filter(|z| z.kind != ZoneKind::River)
            .map(zone)
            .collect(),
        rivers: lake.inflows.iter().map(river).collect(),
        river_ways: Vec::new(),
        columns: None,
        surface_outlook: Vec::new(),
        days_ahead: Vec::new(),
        surface_fit: None,
        seams: Vec::new(),
        gaps: Vec::new(),
    }
}

/// A table of monthly means by day: each at the 15th, straight between.
fn by_day_degc(table: &[f64; MONTHS], date: NaiveDate) -> f64 {
    let at = |date: NaiveDate| NaiveDate::from_ymd_opt(date.year(), date.month(), 15).unwrap_or(date);
    let (before, after) = if date.day() < 15 {
        (at(at(date) - Days::new(28)), at(date))
    } else {
        (at(date), at(at(date) + Days::new(28)))
    };
    let part = (date - before).num_days() as f64 / (after - before).num_days() as f64;
    let of = |date: NaiveDate| table[date.month0() as usize];
    of(before) + part * (of(after) - of(before))
}
