//! From the series of a lake to its brief: the chain, in order.

use crate::clock::LakeClock;
use crate::column::{WaterOptions, water_at};
use crate::conditions::conditions_at;
use crate::lake::Lake;
use crate::plan::{cautions, official_alerts, ramps};
use crate::series::SeriesSet;
use crate::species::{self, SpeciesError};
use crate::whereabouts::{CallOptions, call_species};

use super::{Brief, BriefParts, assemble_brief};

/// Members of the water ensemble.
const MEMBERS: usize = 30;
/// Joint draws of coefficients and members for the shares.
const DRAWS: usize = 4000;
/// Seed of every random stream. The same on every morning, so that two mornings differ by their data
/// and not by their draws.
const SEED: u64 = 0x706C_756E_6765;

/// The brief of `lake` from the flagged series `set`, at the clock of the set. `previous` is the brief
/// to compare with.
///
/// # Errors
/// A species that there are no rules for (the check of the lake file has refused it before). What is missing from the set is a gap inside the brief.
pub fn make_brief(lake: &Lake, set: &SeriesSet, previous: Option<&Brief>) -> Result<Brief, SpeciesError> {
    let conditions = conditions_at(lake, set);
    let water = water_at(
        lake,
        &conditions,
        set,
        &WaterOptions {
            members: MEMBERS,
            seed: SEED,
        },
    );
    let ramps = ramps(lake, &conditions);
    let alerts = official_alerts(lake, set.alerts.as_ref(), set.as_of);
    let cautions = cautions(lake, &conditions, &water, &ramps, &alerts, set.as_of);
    let date = LakeClock::new(lake.time_zone).civil_day(set.as_of);
    let options = CallOptions {
        draws: DRAWS,
        seed: SEED,
        date,
    };
    let mut calls = Vec::new();
    for wanted in &lake.species {
        let species = species::builtin(wanted.id.as_str())?;
        calls.push(call_species(lake, &species, &conditions, &water, &options));
    }
    Ok(assemble_brief(BriefParts {
        lake,
        conditions,
        water: &water,
        cautions,
        alerts,
        ramps,
        calls,
        previous,
    }))
}
