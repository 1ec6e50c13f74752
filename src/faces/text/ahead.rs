//! The days ahead of level and ramps, and the lake's water balance, in short lines.

use crate::conditions::outlook::{LevelDay, OutlookBasis, RiverForecast};
use crate::faces::reader::{Reader, chance, percent, rounded};
use crate::faces::words;
use crate::plan::{RampChance, RampOutlook, RampState};
use crate::reports::Brief;

use super::block::Page;
use super::conditions::line;

/// Entries of the outlook that the text shows: a week ahead and its end.
const WEEK: usize = 7;
/// Share of members held at a limit from which a line says so.
const TOLD_FRAC: f64 = 0.1;

/// Writes the level of a week ahead and of the horizon.
pub(super) fn level_ahead(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(outlook) = &brief.level_outlook else {
        return;
    };
    let last = outlook.days.len().saturating_sub(1);
    let mut shown: Vec<&LevelDay> = [WEEK, last].iter().filter_map(|i| outlook.days.get(*i)).collect();
    shown.dedup_by_key(|day| day.date);
    let days: Vec<String> = shown
        .iter()
        .map(|day| {
            format!(
                "{} {} ({} to {})",
                reader.day(day.date),
                reader.elevation_about(day.median_m),
                reader.elevation_number(day.low_m),
                reader.elevation_number(day.high_m)
            )
        })
        .collect();
    let forecasts = river_forecasts(brief, &outlook.river_forecasts, reader);
    let basis = match (outlook.basis, forecasts) {
        (OutlookBasis::WaterBalance { planned_days: 0, .. }, None) => {
            "from inflow and release as they stand".to_owned()
        }
        (OutlookBasis::WaterBalance { planned_days: 0, .. }, Some(forecasts)) => {
            format!("from {forecasts}, and release as it stands")
        }
        (OutlookBasis::WaterBalance { planned_days, .. }, forecasts) => format!(
            "from {} and the release planned for {planned_days} of {} days, which may change without notice",
            forecasts.as_deref().unwrap_or("inflow as it stands"),
            outlook.days.len()
        ),
        (OutlookBasis::SlopePersistence { .. }, _) => "if it goes on as this week".to_owned(),
    };
    let mut text = format!("{}; {basis}", days.join(", "));
    if let Some(day) = outlook.days.last() {
        for (share, place) in [
            (day.at_crest_frac, "full pool"),
            (day.at_dead_pool_frac, "dead pool"),
        ] {
            if share >= TOLD_FRAC {
                text.push_str(&format!("; {} of the members reach {place}", percent(share)));
            }
        }
    }
    line(page, "Ahead", &text);
}

/// The river forecasts that the inflow follows, with where they come from; `None` without any.
fn river_forecasts(brief: &Brief, forecasts: &[RiverForecast], reader: &Reader) -> Option<String> {
    let each = |f: &RiverForecast| {
        format!(
            "the river forecast of {} issued {} ({}, to {})",
            words::inflow(brief, f.inflow.as_str()),
            reader.day_hour(f.issued_at),
            words::service(&f.service),
            reader.day(f.until)
        )
    };
    let all: Vec<String> = forecasts.iter().map(each).collect();
    (!all.is_empty()).then(|| all.join(" and "))
}

/// Writes the balance: how long the water stays, and the inflow that the level implies.
pub(super) fn balance(page: &mut Page, brief: &Brief, reader: &Reader) {
    let mut parts = Vec::new();
    if let Some(inflow) = brief.balance.implied_inflow {
        let noise = inflow.noise_sd_m3s.map_or(String::new(), |sd| {
            format!(", give or take {}", reader.discharge(sd))
        });
        parts.push(format!(
            "storage and release imply {} of inflow{noise}, mean of 7 days to {}",
            reader.discharge(inflow.mean_7d_m3s),
            reader.day(inflow.last_day)
        ));
    }
    if let Some(days) = brief.balance.residence_days {
        parts.push(format!(
            "at the release of the last 30 days the water stays {} days",
            rounded(days, 0)
        ));
    }
    if !parts.is_empty() {
        line(page, "Balance", &parts.join("; "));
    }
}

/// What the outlook adds to a ramp's line, with its leading semicolon; nothing where nothing changes.
pub(super) fn ramp_ahead(ramp: &RampState, reader: &Reader) -> String {
    let Some(outlook) = &ramp.outlook else {
        return String::new();
    };
    if let Some(turn) = outlook.turn {
        let what = if turn.comes_back { "back" } else { "out" };
        let chance = chance(turn.turned_prob);
        let span = match turn.late {
            Some(late) if late == turn.early => String::new(),
            Some(late) => format!("; {} to {}", reader.day(turn.early), reader.day(late)),
            None => format!(
                "; {} to beyond {}",
                reader.day(turn.early),
                last_day(outlook, reader)
            ),
        };
        return format!(
            "; {what} from about {} (chance {chance}{span})",
            reader.day(turn.date)
        );
    }
    let first_doubt = outlook.days.iter().find(|d| d.chance == RampChance::Doubtful);
    match (first_doubt, outlook.days.last()) {
        (Some(doubt), Some(last)) if ramp.usable == Some(true) && last.chance == RampChance::Doubtful => {
            format!(
                "; doubtful from {} ({} of too little water by {})",
                reader.day(doubt.date),
                chance(last.below_prob),
                reader.day(last.date)
            )
        }
        _ => String::new(),
    }
}

fn last_day(outlook: &RampOutlook, reader: &Reader) -> String {
    outlook
        .days
        .last()
        .map_or_else(String::new, |day| reader.day(day.date))
}
