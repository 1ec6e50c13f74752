//! Finds what differs between two briefs of one lake.

use super::brief::Brief;
use super::causes::causes;
use super::ledger::{CautionChange, Changes, FigureChange, RampChange};
use crate::plan::{Caution, CautionLevel, Hazard};

/// Smallest change of level worth a line (project choice): what a gauge can show.
const LEVEL_STEP_M: f64 = 0.003;
/// Smallest relative change of discharge worth a line (project choice).
const FLOW_STEP_FRAC: f64 = 0.05;
/// Smallest change of surface temperature worth a line (project choice).
const TEMP_STEP_DEGC: f64 = 0.1;
/// Smallest change of a share worth a line (project choice).
const SHARE_STEP_FRAC: f64 = 0.02;
/// A share that moves by more than this says what moved it.
const EXPLAINED_STEP_FRAC: f64 = 0.10;

/// What differs in `now` from `before`.
pub fn changes(before: &Brief, now: &Brief) -> Changes {
    let mut figures = Vec::new();
    let level_m = |b: &Brief| b.pool.as_ref().map(|p| p.elevation_m);
    let (before_m, now_m) = (level_m(before), level_m(now));
    if differs(before_m, now_m, |_| LEVEL_STEP_M) {
        figures.push(FigureChange::Level { before_m, now_m });
    }
    figures.extend(inflow_changes(before, now));
    let surface_degc = |b: &Brief| b.surface.as_ref().map(|s| s.temp_degc);
    let (before_degc, now_degc) = (surface_degc(before), surface_degc(now));
    if differs(before_degc, now_degc, |_| TEMP_STEP_DEGC) {
        figures.push(FigureChange::Surface {
            before_degc,
            now_degc,
        });
    }
    figures.extend(share_changes(before, now));
    Changes {
        since: before.as_of,
        figures,
        ramps: ramp_changes(before, now),
        cautions: caution_changes(&before.cautions, &now.cautions),
    }
}

/// Whether a figure came, went, or moved by its step, which may depend on the value before.
fn differs(before: Option<f64>, now: Option<f64>, step: impl Fn(f64) -> f64) -> bool {
    match (before, now) {
        (Some(b), Some(n)) => b != n && (b - n).abs() >= step(b),
        (None, None) => false,
        _ => true,
    }
}

fn inflow_changes(before: &Brief, now: &Brief) -> Vec<FigureChange> {
    let of = |brief: &Brief, id| {
        let found = brief.inflows.iter().find(|i| &i.inflow == id);
        found.map(|i| i.discharge_m3s)
    };
    let gone = before.inflows.iter().filter(|b| of(now, &b.inflow).is_none());
    now.inflows
        .iter()
        .chain(gone)
        .filter_map(|inflow| {
            let id = &inflow.inflow;
            let (before_m3s, now_m3s) = (of(before, id), of(now, id));
            differs(before_m3s, now_m3s, |b| FLOW_STEP_FRAC * b.abs()).then(|| FigureChange::Inflow {
                inflow: id.clone(),
                before_m3s,
                now_m3s,
            })
        })
        .collect()
}

fn share_changes(before: &Brief, now: &Brief) -> Vec<FigureChange> {
    let mut found = Vec::new();
    for (species, call) in &now.whereabouts {
        let Some(was_call) = before.whereabouts.get(species) else {
            continue;
        };
        for (zone, share) in &call.zones {
            let Some(was) = was_call.zones.get(zone) else {
                continue;
            };
            let moved_frac = share.share - was.share;
            if moved_frac.abs() < SHARE_STEP_FRAC {
                continue;
            }
            let explained = moved_frac.abs() > EXPLAINED_STEP_FRAC;
            found.push(FigureChange::Share {
                species: species.clone(),
                zone: zone.clone(),
                before_frac: was.share,
                now_frac: share.share,
                causes: if explained {
                    causes(was_call, call, zone)
                } else {
                    Vec::new()
                },
            });
        }
    }
    found
}

fn ramp_changes(before: &Brief, now: &Brief) -> Vec<RampChange> {
    now.ramps
        .iter()
        .filter_map(|ramp| {
            let was = before.ramps.iter().find(|r| r.id == ramp.id)?;
            (was.usable != ramp.usable).then(|| RampChange {
                ramp: ramp.id.clone(),
                before: was.usable,
                now: ramp.usable,
            })
        })
        .collect()
}

/// Hazards whose hardest caution differs, those of today first. The standing reminders are no change.
fn caution_changes(before: &[Caution], now: &[Caution]) -> Vec<CautionChange> {
    let hardest = |list: &[Caution], hazard: Hazard| -> Option<CautionLevel> {
        let of_hazard = list.iter().filter(|c| c.hazard == hazard);
        let levels = of_hazard.map(|c| c.level);
        levels.filter(|l| *l != CautionLevel::Reminder).max()
    };
    let mut found: Vec<CautionChange> = Vec::new();
    for caution in now.iter().chain(before) {
        let hazard = caution.hazard;
        let (was, is) = (hardest(before, hazard), hardest(now, hazard));
        if was != is && found.iter().all(|c| c.hazard != hazard) {
            found.push(CautionChange {
                hazard,
                before: was,
                now: is,
            });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_differs_when_it_comes_goes_or_moves_by_its_step() {
        let by_tenth = |before, now| differs(before, now, |_| 0.1);
        assert!(by_tenth(Some(1.0), Some(1.2)) && by_tenth(None, Some(1.0)) && by_tenth(Some(1.0), None));
        assert!(!by_tenth(Some(1.0), Some(1.05)) && !by_tenth(None, None));
        assert!(
            !differs(Some(0.0), Some(0.0), |b| 0.05 * b),
            "a dry river that stays dry"
        );
        assert!(differs(Some(0.0), Some(1.0), |b| 0.05 * b), "one that runs again");
    }
}
