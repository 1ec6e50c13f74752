//! A hindcast from what was read to its report.

use super::assemble::{Comparison, Hindcast, Judging, assemble_hindcast};
use super::fit::{Fitted, fit_past_lake, held_out_days};
use super::input::HindcastInput;
use super::model::{ModelError, PastLake};
use super::observed::daily_profiles;
use super::pairs::ModelledDay;
use super::quick::{QuickSurface, quick_surface};
use super::turnover::Hemisphere;

/// What the model took for want of knowledge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ModelNote {
    /// Rivers and releases flow at their long-term mean, m3/s in all.
    MeanFlows {
        /// Sum of the means.
        flow_m3s: f64,
    },
    /// The lake file says nothing of clarity.
    ClarityUnknown {
        /// What was taken.
        extinction_per_m: f64,
    },
    /// The profiles are of one year, so nothing could be held out; the factors are those of that year itself.
    NothingHeldOut,
}

/// A judged hindcast, and what it was made from.
#[derive(Debug, Clone)]
pub struct Judged {
    /// Report and pairs.
    pub hindcast: Hindcast,
    /// Modelled days; of a fit, each by the factors of the other blocks of years where there are several.
    pub days: Vec<ModelledDay>,
    /// The fit, where one was asked for.
    pub fitted: Option<Fitted>,
    /// What the model took.
    pub notes: Vec<ModelNote>,
}

/// Runs the model over past weather, fitted or by the published defaults, and compares it with what was measured.
///
/// # Errors
/// [`ModelError`].
pub fn judge_hindcast(input: &HindcastInput, fit: bool) -> Result<Judged, ModelError> {
    let past = PastLake::new(input)?;
    let mut notes = Vec::new();
    if past.mean_flow_m3s > 0.0 {
        notes.push(ModelNote::MeanFlows {
            flow_m3s: past.mean_flow_m3s,
        });
    }
    if past.clarity_unknown {
        notes.push(ModelNote::ClarityUnknown {
            extinction_per_m: past.setup.extinction_per_m[0],
        });
    }
    let day_of = |time| past.day_of(time);
    let mut fitted = None;
    let days = if fit {
        let temperature = daily_profiles(&input.temperatures, day_of);
        let oxygen = daily_profiles(&input.oxygen, day_of);
        let fixed: Vec<String> = input.fixed.iter().map(|(name, _)| name.clone()).collect();
        let found = fit_past_lake(&past, &temperature, &oxygen, &fixed)?;
        let days = if found.blocks.is_empty() {
            notes.push(ModelNote::NothingHeldOut);
            past.days(found.factors)?
        } else {
            held_out_days(&past, &found)?
        };
        fitted = Some(found);
        days
    } else {
        past.days(past.factors)?
    };
    let quick = quick(input, &past);
    let hindcast = assemble_hindcast(&Comparison {
        lake: &input.lake.name,
        fitted: fit,
        temperature: &input.temperatures,
        oxygen: &input.oxygen,
        days: &days,
        day_of: &day_of,
        quick: quick.as_ref(),
        judging: Judging {
            surface_depth_m: input.surface_depth_m,
            hemisphere: if input.lake.latitude_deg < 0.0 {
                Hemisphere::South
            } else {
                Hemisphere::North
            },
            ..Judging::default()
        },
    });
    Ok(Judged {
        hindcast,
        days,
        fitted,
        notes,
    })
}
