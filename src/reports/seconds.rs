//! Times of a brief in whole seconds: nothing in it is known to a part of one.

use chrono::{DateTime, SubsecRound as _, Utc};

use super::brief::Brief;
use crate::column::ProfileBasis;
use crate::series::GapReason;

/// Rounds every time of `brief` to the second.
pub(super) fn to_whole_seconds(brief: &mut Brief) {
    round(&mut brief.as_of);
    for caution in &mut brief.cautions {
        let hours = [&mut caution.from, &mut caution.to, &mut caution.peak_at];
        hours.into_iter().flatten().for_each(round);
        for due in &mut caution.lights_due {
            [&mut due.from, &mut due.to].into_iter().for_each(round);
            let dark = [&mut due.dark_from, &mut due.dark_to];
            dark.into_iter().flatten().for_each(round);
        }
    }
    let alerts = &mut brief.alerts;
    [&mut alerts.from, &mut alerts.to].into_iter().for_each(round);
    alerts.known_at.iter_mut().for_each(round);
    for alert in &mut alerts.list {
        round(&mut alert.sent_at);
        let times = [&mut alert.onset, &mut alert.ends, &mut alert.expires];
        times.into_iter().flatten().for_each(round);
    }
    brief.plan.for_each_time(round);
    let air = brief.sky.iter_mut().flat_map(|s| &mut s.air_hours);
    air.for_each(|a| round(&mut a.time));
    brief.storage_observed_at.iter_mut().for_each(round);
    brief.pool.iter_mut().for_each(|p| round(&mut p.observed_at));
    let days = brief.level_outlook.iter_mut().flat_map(|o| &mut o.days);
    days.for_each(|d| round(&mut d.at));
    let forecasts = brief
        .level_outlook
        .iter_mut()
        .flat_map(|o| &mut o.river_forecasts);
    forecasts.for_each(|f| round(&mut f.issued_at));
    brief.inflows.iter_mut().for_each(|i| round(&mut i.observed_at));
    brief.surface.iter_mut().for_each(|s| round(&mut s.observed_at));
    brief
        .river_temps
        .iter_mut()
        .for_each(|r| round(&mut r.observed_at));
    brief
        .turbidities
        .iter_mut()
        .for_each(|t| round(&mut t.observed_at));
    brief
        .inputs
        .iter_mut()
        .flat_map(|i| &mut i.newest)
        .for_each(round);
    if let Some(wind) = &mut brief.wind {
        [&mut wind.from, &mut wind.to, &mut wind.issued_at]
            .into_iter()
            .for_each(round);
        wind.hours.iter_mut().for_each(|h| round(&mut h.time));
    }
    if let Some(light) = &mut brief.light {
        let times = [
            &mut light.civil_dawn,
            &mut light.sunrise,
            &mut light.sunset,
            &mut light.civil_dusk,
        ];
        times.into_iter().flatten().for_each(round);
    }
    let passed_over = brief.source_choices.iter_mut().flat_map(|c| &mut c.passed_over);
    let reasons = passed_over.map(|p| &mut p.reason);
    for reason in reasons.chain(brief.gaps.iter_mut().map(|g| &mut g.reason)) {
        if let GapReason::Late { newest, .. } = reason {
            round(newest);
        }
    }
    let zones = brief.water.zones.iter_mut().map(|z| &mut z.basis);
    let calls = brief.whereabouts.values_mut().map(|c| &mut c.band_basis);
    for basis in zones.chain(calls) {
        match basis {
            ProfileBasis::Measured { observed_at }
            | ProfileBasis::SurfaceMeasured { observed_at }
            | ProfileBasis::SurfaceFromMainBody { observed_at } => round(observed_at),
            ProfileBasis::Columns { corrected_at, .. } => corrected_at.iter_mut().for_each(round),
            ProfileBasis::SurfaceModelled | ProfileBasis::SeasonOnly => {}
        }
    }
}

fn round(instant: &mut DateTime<Utc>) {
    *instant = instant.round_subsecs(0);
}
