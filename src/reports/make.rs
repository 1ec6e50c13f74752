//! From the series of a lake and the water of a morning to its brief: the chain, in order.

use crate::clock::LakeClock;
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::plan::{PlanParts, cautions, make_plan, official_alerts, ramps};
use crate::series::SeriesSet;
use crate::species::{self, Species, SpeciesError};
use crate::whereabouts::learn::Beliefs;
use crate::whereabouts::{CallOptions, call_species_by};

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
    of_morning: (Conditions, &Water),
    previous: Option<&Brief>,
) -> Result<Brief, SpeciesError> {
    let species = species_of(lake)?;
    let rules = Beliefs::rules(None);
    Ok(make_brief_by(lake, set, of_morning, (&species, &rules), previous))
}

/// How the calls of a day are drawn.
pub(super) fn call_options(date: chrono::NaiveDate) -> CallOptions {
    CallOptions {
        draws: DRAWS,
        seed: SEED,
        date,
    }
}

/// The species of the lake file, in its order.
///
/// # Errors
/// A species that there are no rules for.
pub fn species_of(lake: &Lake) -> Result<Vec<Species>, SpeciesError> {
    let wanted = lake.species.iter();
    wanted
        .map(|wanted| species::builtin(wanted.id.as_str()))
        .collect()
}

/// As [`make_brief`], by what is believed of the coefficients of `species`, those of the lake file in its order.
pub fn make_brief_by(
    lake: &Lake,
    set: &SeriesSet,
    (conditions, water): (Conditions, &Water),
    (species, beliefs): (&[Species], &Beliefs),
    previous: Option<&Brief>,
) -> Brief {
    let ramps = ramps(lake, &conditions);
    let alerts = official_alerts(lake, set.alerts.as_ref(), set.as_of);
    let cautions = cautions(lake, &conditions, water, &ramps, &alerts, set.as_of);
    let date = LakeClock::new(lake.time_zone).civil_day(set.as_of);
    let options = call_options(date);
    let call = |species: &Species| {
        let belief = beliefs.belief(species);
        call_species_by(lake, (species, &belief), &conditions, water, &options)
    };
    let calls: Vec<_> = species.iter().map(|s| (s.clone(), call(s))).collect();
    let plan = make_plan(&PlanParts {
        lake,
        conditions: &conditions,
        water,
        cautions: &cautions,
        ramps: &ramps,
        calls: &calls,
        scout: beliefs.scout.as_ref(),
    });
    assemble_brief(BriefParts {
        lake,
        conditions,
        water,
        cautions,
        alerts,
        ramps,
        plan,
        calls: calls.into_iter().map(|(_, call)| call).collect(),
        basis: beliefs.basis.clone(),
        previous,
    })
}
