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

/// Inflow of member `member` under `seed`, the newest day first. Shape `[lead]`.
pub fn inflow_of_member(inflow: &InflowModel, seed: u64, member: usize) -> Vec<f64> {
    inflow.draw_m3s(&mut stream(seed, &format!("level/inflow/{member}")))
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
    let inflow_m3s = inflow_of_member(&inputs.inflow, seed, member);
    // Lead of the release on lead 0 of the inflow, and the leads that it needs.
    let release_lead = |lead: usize| usize::try_from(lead as i64 - inputs.release_after_inflow).unwrap_or(0);
    let release_m3s =
        inputs
            .release
            .draw_m3s(release_lead(leads), &mut numbers("release"), &mut numbers("plan"));
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::math::autoregression::Ar1;
    use crate::units::S_PER_DAY;

    fn inputs(scale: f64, step_sd: f64, release_sd: f64) -> ProjectionInputs {
        ProjectionInputs {
            storage_m3: 5e8,
            storage_sd_m3: 1e5,
            inflow: InflowModel::of_parts(
                25.0 * scale,
                Ar1 {
                    mean: 0.2,
                    rho: 0.8,
                    step_sd,
                },
                vec![20.0 * scale; 20],
            ),
            release: ReleaseModel {
                newest_m3s: 60.0,
                step_sd_m3s: release_sd,
                planned_m3s: Vec::new(),
            },
            release_after_inflow: 1,
            evaporation_m3s: 2.0,
            closure_sd_m3s: 1.0,
            limits: Limits {
                dead_pool_m3: 1e8,
                crest_m3: 9e8,
            },
        }
    }

    fn times() -> ProjectionTimes {
        ProjectionTimes {
            start_days: 1.17,
            wanted_days: (0..=16).map(|k| 1.3 + f64::from(k)).collect(),
        }
    }

    #[test]
    fn without_noise_the_budget_of_a_member_closes_by_hand() {
        let mut still = inputs(1.0, 0.0, 0.0);
        (still.storage_sd_m3, still.closure_sd_m3s) = (0.0, 0.0);
        let found = project_member(&still, &times(), 1, 0);
        // Inflow of lead k: 20 exp(0.2 + 0.8^k (ln 1.25 - 0.2)); day by day by hand, no step of the code used.
        let inflow_m3s = |k: i32| 20.0 * (0.2 + 0.8_f64.powi(k) * (1.25_f64.ln() - 0.2)).exp();
        let mut wanted_m3 = 5e8 + (inflow_m3s(1) - 62.0) * 0.13 * S_PER_DAY;
        for (k, state) in found.iter().enumerate() {
            // Rounding of some dozens of sums near 5e8 m3.
            assert!(
                (state.storage_m3 - wanted_m3).abs() < 1e-4,
                "{k}: {state:?} {wanted_m3}"
            );
            let k = k as i32;
            wanted_m3 += ((inflow_m3s(k + 1) - 62.0) * 0.7 + (inflow_m3s(k + 2) - 62.0) * 0.3) * S_PER_DAY;
        }
    }

    #[test]
    fn a_member_is_the_same_whoever_is_drawn_beside_it() {
        let one = project_member(&inputs(1.0, 0.3, 3.0), &times(), 1, 7);
        let _ = project_member(&inputs(1.0, 0.3, 3.0), &times(), 1, 8);
        assert_eq!(one, project_member(&inputs(1.0, 0.3, 3.0), &times(), 1, 7));
        assert_ne!(one, project_member(&inputs(1.0, 0.3, 3.0), &times(), 2, 7));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn more_inflow_never_lowers_any_member(more in 1.0..4.0_f64, member in 0_usize..500) {
            let [less, more] = [1.0, more].map(|s| project_member(&inputs(s, 0.4, 8.0), &times(), 3, member));
            for (less, more) in less.iter().zip(&more) {
                prop_assert!(more.storage_m3 >= less.storage_m3, "{less:?} {more:?}");
            }
        }
    }
}
