//! Puts a brief together from the rooms below.

use std::collections::BTreeMap;

use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{Caution, Launches, OfficialAlerts, Plan, RampState, SecondChoice, fallback_zone};
use crate::whereabouts::{CallBasis, SpeciesCall, Verdict};

use super::brief::{BRIEF_FORM, Brief, Choice, LakeHeader, Rung, SpeciesReason};
use super::changes::changes;
use super::seconds::to_whole_seconds;
use super::trust::trust;
use super::water::water_summary;

/// What a brief is made of.
pub struct BriefParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Conditions.
    pub conditions: Conditions,
    /// Water.
    pub water: &'a Water,
    /// Cautions, computed before the calls.
    pub cautions: Vec<Caution>,
    /// Official alerts.
    pub alerts: OfficialAlerts,
    /// Ramps.
    pub ramps: Vec<RampState>,
    /// What to do.
    pub plan: Plan,
    /// Calls by species, in the order of the lake file.
    pub calls: Vec<SpeciesCall>,
    /// What the calls rest on.
    pub basis: CallBasis,
    /// The brief before, where the archive holds one.
    pub previous: Option<&'a Brief>,
}

/// The brief of these parts.
pub fn assemble_brief(parts: BriefParts<'_>) -> Brief {
    let BriefParts {
        lake,
        conditions,
        water,
        cautions,
        alerts,
        ramps,
        plan,
        calls,
        basis,
        previous,
    } = parts;
    let trust = trust(lake, &conditions, water, &alerts);
    let mut gaps = conditions.gaps;
    gaps.extend(water.gaps.iter().cloned());
    // A failed fetch or a damaged file says more than that there is no reply.
    let alerts_gap = alerts.gap();
    gaps.extend(alerts_gap.filter(|gap| gaps.iter().all(|other| other.what != gap.what)));
    for call in &calls {
        for gap in &call.gaps {
            if !gaps.contains(gap) {
                gaps.push(gap.clone());
            }
        }
    }
    let launches = Launches {
        lake,
        ramps: &ramps,
        runs: &plan.ramps,
        water,
    };
    let choices = calls
        .iter()
        .map(|call| {
            // Of what is in no zone rather than another no ramp is the nearest.
            let is_known = !matches!(call.verdict, Verdict::NotKnown { .. });
            let order = plan.order.iter().find(|o| o.species == call.species);
            // What the run leaves of the hours, and what the water allows, decide with the share.
            let first = order.and_then(|o| o.places.first()).map(|p| p.zone.clone());
            let zone = first.clone().unwrap_or_else(|| call.likeliest_fishable.clone());
            let fallback = match order.and_then(|o| o.second.as_ref()) {
                Some(SecondChoice::Zone { zone, .. }) => Some(zone.clone()),
                _ if first.is_some() => None,
                _ => fallback_zone(call),
            };
            let place = order.and_then(|o| o.places.first());
            let along = place.map_or(&[][..], |p| p.stretches.as_slice());
            let ramp = launches.ramp_for(&zone, along).filter(|_| is_known);
            Choice {
                species: call.species.clone(),
                zone,
                fallback,
                ramp: ramp.as_ref().map(|r| r.id.clone()),
                ramp_reason: ramp.map(|r| r.reason),
            }
        })
        .collect();
    let mut brief = Brief {
        form: BRIEF_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: header(lake),
        as_of: conditions.as_of,
        trust,
        cautions,
        notices: Vec::new(),
        alerts,
        plan,
        choices,
        basis,
        reasons: reasons(&calls),
        whereabouts: calls
            .into_iter()
            .map(|c| (c.species.clone(), c))
            .collect::<BTreeMap<_, _>>(),
        ramps,
        ladder: ladder(lake),
        changes: None,
        pool: conditions.pool,
        storage_m3: conditions.storage_m3,
        storage_observed_at: conditions.storage_observed_at,
        level_outlook: conditions.level_projection.map(|p| p.outlook),
        balance: conditions.balance,
        inflows: conditions.inflows,
        surface: conditions.surface,
        river_temps: conditions.river_temps,
        turbidities: conditions.turbidities,
        water: water_summary(lake, water),
        wind: conditions.wind,
        sky: conditions.sky,
        light: conditions.light,
        inputs: conditions.inputs,
        source_choices: conditions.source_choices,
        air_seams: water.seams.clone(),
        gaps,
    };
    to_whole_seconds(&mut brief);
    brief.changes = previous.map(|before| changes(before, &brief));
    brief
}

/// Name and place of a lake.
pub fn header(lake: &Lake) -> LakeHeader {
    LakeHeader {
        id: lake.id.clone(),
        name: lake.name.clone(),
        note: lake.note.clone(),
        latitude_deg: lake.latitude_deg,
        longitude_deg: lake.longitude_deg,
        time_zone: lake.time_zone.name().to_owned(),
        vertical_datum: lake.vertical_datum.clone(),
        full_pool_elevation_m: lake.full_pool_elevation_m,
    }
}

fn reasons(calls: &[SpeciesCall]) -> Vec<SpeciesReason> {
    let mut all: Vec<SpeciesReason> = calls
        .iter()
        .flat_map(|call| {
            call.reasons.iter().map(|reason| SpeciesReason {
                species: call.species.clone(),
                reason: reason.clone(),
            })
        })
        .collect();
    all.sort_by(|a, b| {
        b.reason
            .contribution
            .abs()
            .total_cmp(&a.reason.contribution.abs())
    });
    all
}

fn ladder(lake: &Lake) -> Vec<Rung> {
    lake.ladder
        .iter()
        .map(|p| Rung {
            species: p.species.clone(),
            what: p.what.clone(),
            speed_min_m_s: p.speed_min_m_s,
            speed_max_m_s: p.speed_max_m_s,
            lead_m: p.lead_m,
            move_on: p.move_on.clone(),
            basis: p.basis.clone(),
        })
        .collect()
}
