//! One step of the water balance.

use crate::units::S_PER_DAY;

/// Flows of a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flows {
    /// Into the lake.
    pub inflow_m3s: f64,
    /// Out of it.
    pub release_m3s: f64,
    /// To the air.
    pub evaporation_m3s: f64,
}

/// Storages that a member is held between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Storage at dead pool.
    pub dead_pool_m3: f64,
    /// Storage at the crest.
    pub crest_m3: f64,
}

/// A storage after a step, and what the limits took from it or gave to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// Storage.
    pub storage_m3: f64,
    /// Water that went over the crest besides the release.
    pub spilled_m3: f64,
    /// Release or evaporation that could not happen, the lake being at dead pool.
    pub withheld_m3: f64,
}

/// `S + (I - R - E) dt`, held between the limits; what they take is told, never dropped:
/// `S' = S + (I - R - E) dt - spilled + withheld`. Row S-PJ-1.
pub fn carry(storage_m3: f64, flows: Flows, days: f64, limits: Limits) -> Carried {
    let net_m3s = flows.inflow_m3s - flows.release_m3s - flows.evaporation_m3s;
    let free_m3 = storage_m3 + net_m3s * days * S_PER_DAY;
    let spilled_m3 = (free_m3 - limits.crest_m3).max(0.0);
    let withheld_m3 = (limits.dead_pool_m3 - free_m3).max(0.0);
    Carried {
        storage_m3: if spilled_m3 > 0.0 {
            limits.crest_m3
        } else if withheld_m3 > 0.0 {
            limits.dead_pool_m3
        } else {
            free_m3
        },
        spilled_m3,
        withheld_m3,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_budget_closes_and_more_inflow_never_lowers_the_lake(
            start in 1e6..1e9_f64, inflow in 0.0..5e3_f64, more in 0.0..1e3_f64,
            release in 0.0..5e3_f64, evaporation in 0.0..10.0_f64, days in 0.01..3.0_f64,
        ) {
            let limits = Limits { dead_pool_m3: 1e6, crest_m3: 1e9 };
            let of = |inflow_m3s| {
                let flows = Flows { inflow_m3s, release_m3s: release, evaporation_m3s: evaporation };
                carry(start, flows, days, limits)
            };
            let found = of(inflow);
            let wanted = start + (inflow - release - evaporation) * days * S_PER_DAY
                - found.spilled_m3 + found.withheld_m3;
            // Rounding of a few sums of at most 1e10 m3.
            prop_assert!((found.storage_m3 - wanted).abs() < 1e-5, "{found:?} {wanted}");
            prop_assert!((limits.dead_pool_m3..=limits.crest_m3).contains(&found.storage_m3));
            prop_assert!(of(inflow + more).storage_m3 >= found.storage_m3);
        }
    }
}
