//! Storages of the days ahead, member by member.

use super::carry::{Flows, Limits, carry};
use super::inflow::InflowModel;
use super::release::ReleaseModel;
use crate::math::streams::{normal, stream};

/// What a projection starts from and goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct ProjectionInputs {
    /// Storage at the start.
    pub storage_m3: f64,
    /// Its standard deviation, from the reading of the level.
    pub storage_sd_m3: f64,
    /// Inflow.
    pub inflow: InflowModel,
    /// Release.
    pub release: ReleaseModel,
    /// Days by which the newest release is newer than the newest inflow; negative where it is older.
    pub release_after_inflow: i64,
    /// Evaporation, held.
    pub evaporation_m3s: f64,
    /// Deviation of what the flows leave open of the balance over weeks, as a flow; each member has one.
    pub closure_sd_m3s: f64,
    /// Limits.
    pub limits: Limits,
}

/// Times of a projection, days since the beginning of the newest day of the flows, whose day is lead 0.
#[derive(Debug, Clone, PartialEq)]
pub struct ProjectionTimes {
    /// Start: the storage's.
    pub start_days: f64,
    /// Instants wanted, ascending, none before the start. Shape `[day]`.
    pub wanted_days: Vec<f64>,
}

/// One member at one of the wanted instants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MemberState {
    /// Storage.
    pub storage_m3: f64,
    /// Whether it has been held at the crest up to here.
    pub was_at_crest: bool,
    /// Whether it has been held at dead pool up to here.
    pub was_at_dead_pool: bool,
}

/// Projects member `member` under `seed`. Shape `[day]`, as the wanted times.
///
/// The flows are constant within each day of the record's clock, so that each step ends at midnight or at a wanted time.
pub fn project_member(
    inputs: &ProjectionInputs,
    times: &ProjectionTimes,
    seed: u64,
    member: usize,
) -> Vec<MemberState> {
    let leads = times.wanted_days.last().map_or(0, |t| t.max(0.0).ceil() as usize);
    let numbers = |what: &str| stream(seed, &format!("level/{what}/{member}"));
    let inflow_m3s = inputs.inflow.draw_m3s(&mut numbers("inflow"));
    // Lead of the release on lead 0 of the inflow, and the leads that it needs.
    let release_lead = |lead: usize| usize::try_from(lead as i64 - inputs.release_after_inflow).unwrap_or(0);
    let release_m3s = inputs
        .release
        .draw_m3s(release_lead(leads), &mut numbers("release"));
    let mut rest = numbers("rest");
    let start_m3 = inputs.storage_m3 + inputs.storage_sd_m3 * normal(&mut rest);
    let closure_m3s = inputs.closure_sd_m3s * normal(&mut rest);

    let mut state = MemberState {
        storage_m3: start_m3
            .max(inputs.limits.dead_pool_m3)
            .min(inputs.limits.crest_m3),
        was_at_crest: false,
        was_at_dead_pool: false,
    };
    let mut now_days = times.start_days;
    times
        .wanted_days
        .iter()
        .map(|&wanted_days| {
            while now_days < wanted_days {
                let next_days = (now_days.floor() + 1.0).min(wanted_days);
                let lead = now_days.max(0.0) as usize;
                let at = |path_m3s: &[f64], lead: usize| path_m3s[lead.min(path_m3s.len() - 1)];
                let flows = Flows {
                    inflow_m3s: (at(&inflow_m3s, lead) + closure_m3s).max(0.0),
                    release_m3s: at(&release_m3s, release_lead(lead)),
                    evaporation_m3s: inputs.evaporation_m3s,
                };
                let carried = carry(state.storage_m3, flows, next_days - now_days, inputs.limits);
                state.storage_m3 = carried.storage_m3;
                state.was_at_crest |= carried.spilled_m3 > 0.0;
                state.was_at_dead_pool |= carried.withheld_m3 > 0.0;
                now_days = next_days;
            }
            state
        })
        .collect()
}
