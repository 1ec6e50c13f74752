//! A hindcast from what was read to its report.

use super::assemble::{Comparison, Hindcast, Judging, assemble_hindcast};
use super::fit::{Fitted, fit_past_lake, held_out_days};
use super::input::HindcastInput;
use super::model::{ModelError, PastLake};
use super::observed::daily_profiles;
use super::pairs::ModelledDay;
use super::quick::{QuickSurface, quick_surface, surface_of};
use super::report::HindcastNote;
use super::turnover::Hemisphere;
use crate::units::S_PER_DAY;

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
    /// The run begins with the first profile, which is then not compared.
    StartsFromProfile,
    /// Releases of outlets that the modelled surface had fallen below could not be drawn.
    Undrawn {
        /// What was not drawn, m3.
        volume_m3: f64,
    },
    /// Shores above the table of the hypsography go on with the slope below.
    Freeboard,
    /// The profiles are of one year, so nothing could be held out; the factors are those of that year itself.
    NothingHeldOut,
    /// The run is by the factors that the lake file states, which may have been fitted to the profiles it is compared with.
    StatedFactors,
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

/// Runs the model over past weather, fitted anew or by the published defaults with the factors that the lake file states, and compares it with what was measured.
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
    notes.extend(past.starts_from_profile.then_some(ModelNote::StartsFromProfile));
    notes.extend(past.freeboard.then_some(ModelNote::Freeboard));
    let day_of = |time| past.day_of(time);
    let mut fitted = None;
    let (days, undrawn_m3) = if fit {
        let temperature = daily_profiles(&input.temperatures, day_of);
        let oxygen = daily_profiles(&input.oxygen, day_of);
        let fixed: Vec<String> = input.fixed.iter().map(|(name, _)| name.clone()).collect();
        let mut found = fit_past_lake(&past, &temperature, &oxygen, &fixed)?;
        found.fixed = input.fixed.clone();
        let days = if found.blocks.is_empty() {
            notes.push(ModelNote::NothingHeldOut);
            past.days(found.factors)?
        } else {
            held_out_days(&past, &found)?
        };
        fitted = Some(found);
        days
    } else {
        let stated = past.stated_factors(input);
        if stated != past.factors {
            notes.push(ModelNote::StatedFactors);
        }
        past.days(stated)?
    };
    if undrawn_m3 > 0.0 {
        notes.push(ModelNote::Undrawn {
            volume_m3: undrawn_m3,
        });
    }
    let quick = quick(input, &past, fit);
    let mut hindcast = assemble_hindcast(&Comparison {
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
    // Years that were held out are no part of what their own factors were fitted to.
    if fitted.as_ref().is_some_and(|found| !found.blocks.is_empty()) {
        hindcast
            .report
            .notes
            .retain(|note| *note != HindcastNote::FittedInSample);
    }
    Ok(Judged {
        hindcast,
        days,
        fitted,
        notes,
    })
}

/// The surface from the air alone: by mean depth for a model without a fit, fitted for one with.
fn quick(input: &HindcastInput, past: &PastLake, fit: bool) -> Option<QuickSurface> {
    let a_day = (S_PER_DAY / past.forcing.step_s).round().max(1.0) as usize;
    let air_degc: Vec<f64> = past
        .forcing
        .weather
        .chunks_exact(a_day)
        .map(|day| day.iter().map(|w| w.air_temp_degc).sum::<f64>() / a_day as f64)
        .collect();
    let profiles = daily_profiles(&input.temperatures, |time| past.day_of(time));
    let observed = if fit {
        surface_of(&profiles.profiles, input.surface_depth_m)
    } else {
        surface_of(&[], input.surface_depth_m)
    };
    let mean_depth_m = past
        .setup
        .hypsography
        .mean_depth_m(past.setup.start_elevation_m)?;
    quick_surface(
        past.forcing.start.date_naive(),
        &air_degc,
        &observed,
        mean_depth_m,
    )
}
