//! From the series of a lake and the water of a morning to its brief: the chain, in order.

use crate::clock::LakeClock;
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{PlanParts, cautions, make_plan, official_alerts, ramps};
use crate::series::SeriesSet;
use crate::species::{self, SpeciesError};
use crate::whereabouts::{CallOptions, call_species};

use super::{Brief, BriefParts, assemble_brief};

/// Joint draws of coefficients and members for the shares.
const DRAWS: usize = 4000;
/// Seed of every random stream. The same on every morning, so that two mornings differ by their data
/// and not by their draws.
const SEED: u64 = 0x706C_756E_6765;

/// The brief of `lake` from the flagged series `set`, at the clock of the set, with the conditions and the water of that
/// morning. `previous` is the brief to compare with.
///
/// # Errors
/// A species that there are no rules for (the check of the lake file has refused it before). What is missing from the set is a gap inside the brief.
pub fn make_brief(
    lake: &Lake,
    set: &SeriesSet,
    (conditions, water): (Conditions, &Water),
    previous: Option<&Brief>,
) -> Result<Brief, SpeciesError> {
    let ramps = ramps(lake, &conditions);
    let alerts = official_alerts(lake, set.alerts.as_ref(), set.as_of);
    let cautions = cautions(lake, &conditions, water, &ramps, &alerts, set.as_of);
    let date = LakeClock::new(lake.time_zone).civil_day(set.as_of);
    let options = CallOptions {
        draws: DRAWS,
        seed: SEED,
        date,
    };
    let mut calls = Vec::new();
    for wanted in &lake.species {
        let species = species::builtin(wanted.id.as_str())?;
        let call = call_species(lake, &species, &conditions, water, &options);
        calls.push((species, call));
    }
    let plan = make_plan(&PlanParts {
        lake,
        conditions: &conditions,
        water,
        cautions: &cautions,
        ramps: &ramps,
        calls: &calls,
        scout: None,
    });
    Ok(assemble_brief(BriefParts {
        lake,
        conditions,
        water,
        cautions,
        alerts,
        ramps,
        plan,
        calls: calls.into_iter().map(|(_, call)| call).collect(),
        previous,
    }))
}
