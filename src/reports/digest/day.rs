//! One coming day: shares, band, ramps, cautions, hours.

use chrono::{DateTime, Days, Utc};

use super::value::{DayCall, DayChop, DayRamp, DigestDay};
use crate::clock::LakeClock;
use crate::column::{SurfaceDay, Water};
use crate::conditions::outlook::LevelDay;
use crate::conditions::{Conditions, Held, trip_window};
use crate::lake::{Lake, ZoneId, ZoneKind};
use crate::plan::{
    Caution, CautionLevel, Hazard, PlanHours, RampState, cautions, official_alerts, plan_hours, ramps,
};
use crate::reports::Brief;
use crate::reports::make::call_options;
use crate::series::AlertReply;
use crate::species::Species;
use crate::whereabouts::learn::Beliefs;
use crate::whereabouts::{SpeciesCall, call_species_by};

/// The clock of each of so many mornings after `as_of`: the same hour at the lake.
pub fn mornings_ahead(clock: &LakeClock, as_of: DateTime<Utc>, days: u64) -> Vec<DateTime<Utc>> {
    let civil = clock.local(as_of).naive_local();
    let later = (1..=days).filter_map(|day| civil.checked_add_days(Days::new(day)));
    later.map(|civil| clock.instant(civil)).collect()
}

/// What a coming day is made from.
#[derive(Clone, Copy)]
pub struct DayParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Conditions of that morning.
    pub conditions: &'a Conditions,
    /// Its water.
    pub water: &'a Water,
    /// Official alerts as known today.
    pub alerts: Option<&'a AlertReply>,
    /// Species of the lake file, in its order.
    pub species: &'a [Species],
    /// What is believed of their coefficients.
    pub beliefs: &'a Beliefs,
    /// The brief of today, with the level, the surface and the ramps of the days ahead.
    pub brief: &'a Brief,
    /// What stands as it does today.
    pub held: &'a [Held],
}

/// The day of `parts`.
pub fn digest_day(parts: &DayParts<'_>) -> DigestDay {
    let (lake, conditions, water) = (parts.lake, parts.conditions, parts.water);
    let date = trip_window(lake, conditions.as_of).day;
    let options = call_options(date);
    let call = |species: &Species| {
        let belief = parts.beliefs.belief(species);
        call_species_by(lake, (species, &belief), conditions, water, &options)
    };
    let ramps = ramps(lake, conditions);
    let alerts = official_alerts(lake, parts.alerts, conditions.as_of);
    let all = cautions(lake, conditions, water, &ramps, &alerts, conditions.as_of);
    let hours = plan_hours(lake, conditions, water);
    let calls = parts.species.iter().map(|s| day_call(&call(s))).collect();
    of_day(parts.brief, conditions, (all, calls, hours), parts.held.to_vec())
}

/// The day of the brief's own trip.
pub(super) fn first_day(lake: &Lake, brief: &Brief, conditions: &Conditions) -> DigestDay {
    let of = |id: &crate::lake::LakeSpecies| brief.whereabouts.get(&id.id).map(day_call);
    let calls = lake.species.iter().filter_map(of).collect();
    let parts = (brief.cautions.clone(), calls, brief.plan.hours.clone());
    of_day(brief, conditions, parts, Vec::new())
}

fn of_day(
    brief: &Brief,
    conditions: &Conditions,
    (cautions, calls, hours): (Vec<Caution>, Vec<DayCall>, PlanHours),
    held: Vec<Held>,
) -> DigestDay {
    let zone: chrono_tz::Tz = brief.lake.time_zone.parse().unwrap_or(chrono_tz::UTC);
    let clock = LakeClock::new(zone);
    let date = clock.civil_day(hours.from);
    let levels = brief.level_outlook.iter().flat_map(|o| &o.days);
    let surfaces = &brief.water.surface_outlook;
    let (wind, sky) = (conditions.wind.as_ref(), conditions.sky.as_ref());
    DigestDay {
        date,
        at: conditions.as_of,
        level: levels.copied().find(|d: &LevelDay| d.date == date),
        surface: surfaces.iter().find(|d: &&SurfaceDay| d.date == date).cloned(),
        ramps: brief.ramps.iter().map(|ramp| day_ramp(ramp, date)).collect(),
        cautions: cautions.into_iter().filter(is_told).collect(),
        calls,
        wind_max_m_s: wind.map(|w| w.speed_max_m_s),
        gust_max_m_s: wind.and_then(|w| w.gust_max_m_s),
        wind_direction_deg: wind.and_then(|w| w.direction_deg),
        chop: chop(&hours),
        air_temp_min_degc: sky.and_then(|s| s.air_temp_min_degc),
        air_temp_max_degc: sky.and_then(|s| s.air_temp_max_degc),
        rain_m: sky.and_then(|s| s.precipitation_m),
        hours,
        held,
    }
}

/// Whether a caution is told with its day: what holds, and a wind that is not known.
fn is_told(caution: &Caution) -> bool {
    caution.level >= CautionLevel::Caution
        || (caution.level == CautionLevel::NotKnown && caution.hazard == Hazard::Wind)
}

fn day_call(call: &SpeciesCall) -> DayCall {
    DayCall {
        species: call.species.clone(),
        name: call.name.clone(),
        zones: call.zones.clone(),
        rivers_frac: (call.zones.values().filter(|z| z.kind == ZoneKind::River))
            .map(|z| z.share)
            .sum(),
        verdict: call.verdict.clone(),
        likeliest_fishable: call.likeliest_fishable.clone(),
        band_top_m: call.band_top_m,
        band_bottom_m: call.band_bottom_m,
        band_best_m: call.band_best_m,
        band_reaches_limits: call.band_reaches_limits(),
    }
}

fn day_ramp(ramp: &RampState, date: chrono::NaiveDate) -> DayRamp {
    let outlook = ramp.outlook.as_ref();
    let day = outlook.and_then(|o| o.days.iter().find(|d| d.date == date));
    DayRamp {
        id: ramp.id.clone(),
        name: ramp.name.clone(),
        chance: day.map(|d| d.chance),
        below_prob: day.map(|d| d.below_prob),
    }
}

/// Highest chop of each zone over the hours; not known where an hour of it is not.
fn chop(hours: &PlanHours) -> Vec<DayChop> {
    let zones = hours.hours.first().map_or(&[][..], |hour| hour.chop.as_slice());
    let highest = |zone: &ZoneId| -> Option<f64> {
        let of_hour = |hour: &crate::plan::PlanHour| {
            let own = hour.chop.iter().find(|chop| &chop.zone == zone)?;
            own.wave_height_m
        };
        let all: Option<Vec<f64>> = hours.hours.iter().map(of_hour).collect();
        all?.into_iter().max_by(f64::total_cmp)
    };
    let of = |zone: &ZoneId| DayChop {
        zone: zone.clone(),
        wave_height_m: highest(zone),
    };
    zones.iter().map(|chop| of(&chop.zone)).collect()
}
