//! What differs between two briefs of one lake.

use crate::plan::{Caution, CautionLevel, Hazard};

use super::brief::{Brief, Changes, FigureChange};

/// Smallest change of level worth a line (project choice): what a gauge can show.
const LEVEL_STEP_M: f64 = 0.003;
/// Smallest relative change of discharge worth a line (project choice).
const FLOW_STEP_FRAC: f64 = 0.05;
/// Smallest change of surface temperature worth a line (project choice).
const TEMP_STEP_DEGC: f64 = 0.1;
/// Smallest change of a share worth a line (project choice).
const SHARE_STEP_FRAC: f64 = 0.02;

/// What differs in `now` from `before`.
pub fn changes(before: &Brief, now: &Brief) -> Changes {
    let mut figures = Vec::new();
    if let (Some(b), Some(n)) = (&before.pool, &now.pool)
        && (b.elevation_m - n.elevation_m).abs() >= LEVEL_STEP_M
    {
        figures.push(FigureChange::Level {
            before_m: b.elevation_m,
            now_m: n.elevation_m,
        });
    }
    for n in &now.inflows {
        if let Some(b) = before.inflows.iter().find(|b| b.inflow == n.inflow)
            && (b.discharge_m3s - n.discharge_m3s).abs() >= FLOW_STEP_FRAC * b.discharge_m3s.abs()
        {
            figures.push(FigureChange::Inflow {
                inflow: n.inflow.clone(),
                before_m3s: b.discharge_m3s,
                now_m3s: n.discharge_m3s,
            });
        }
    }
    if let (Some(b), Some(n)) = (&before.surface, &now.surface)
        && (b.temp_degc - n.temp_degc).abs() >= TEMP_STEP_DEGC
    {
        figures.push(FigureChange::Surface {
            before_degc: b.temp_degc,
            now_degc: n.temp_degc,
        });
    }
    figures.extend(share_changes(before, now));
    let usable = |brief: &Brief, id: &str| brief.ramps.iter().find(|r| r.id == id).and_then(|r| r.usable);
    let ramps = |was: bool, is: bool| {
        now.ramps
            .iter()
            .filter(|r| usable(before, &r.id) == Some(was) && r.usable == Some(is))
            .map(|r| r.id.clone())
            .collect()
    };
    Changes {
        since: before.as_of,
        figures,
        ramps_in: ramps(false, true),
        ramps_out: ramps(true, false),
        cautions_harder: harder(&before.cautions, &now.cautions),
        cautions_softer: harder(&now.cautions, &before.cautions),
    }
}

fn share_changes(before: &Brief, now: &Brief) -> Vec<FigureChange> {
    let mut found = Vec::new();
    for (species, call) in &now.whereabouts {
        for (zone, share) in &call.zones {
            let was = before.whereabouts.get(species).and_then(|c| c.zones.get(zone));
            if let Some(was) = was
                && (was.share - share.share).abs() >= SHARE_STEP_FRAC
            {
                found.push(FigureChange::Share {
                    species: species.clone(),
                    zone: zone.clone(),
                    before_frac: was.share,
                    now_frac: share.share,
                });
            }
        }
    }
    found
}

/// Hazards whose hardest level in `to` is above that in `from`.
fn harder(from: &[Caution], to: &[Caution]) -> Vec<Hazard> {
    let hardest =
        |list: &[Caution], hazard: Hazard| list.iter().filter(|c| c.hazard == hazard).map(|c| c.level).max();
    let mut found = Vec::new();
    for caution in to {
        let level = hardest(to, caution.hazard);
        let above = level > hardest(from, caution.hazard) && level > Some(CautionLevel::Reminder);
        if above && !found.contains(&caution.hazard) {
            found.push(caution.hazard);
        }
    }
    found
}
