//! Which inputs moved a share, from the signed reasons of two mornings.

use std::collections::{BTreeMap, BTreeSet};

use super::ledger::{InputChange, ShareCause};
use crate::lake::ZoneId;
use crate::math::softmax::softmax;
use crate::whereabouts::{Reason, SpeciesCall};

/// A rule that moved less than this part of the change is not named (project choice).
const SMALLEST_PART: f64 = 0.2;
/// Rules named at most (project choice).
const MOST: usize = 3;

/// The rules that moved the share of `zone`, those that moved it most first.
///
/// A share `p_i` moves with the log-odds as `dp_i = p_i (d_i - sum_j p_j d_j)`, so a change `D` of the
/// contribution of a rule in zone `z` moves it by `p_i ([i = z] - p_z) D`; the shares at the median drivers,
/// mean of before and now, stand for `p`. Only rules that moved it the way it went are named, and of an input only
/// what the reasons hold.
pub fn causes(before: &SpeciesCall, now: &SpeciesCall, zone: &ZoneId) -> Vec<ShareCause> {
    let (was, is) = (central_shares(before), central_shares(now));
    let share = |id: &ZoneId| 0.5 * (was.get(id).unwrap_or(&0.0) + is.get(id).unwrap_or(&0.0));
    let went = is.get(zone).unwrap_or(&0.0) - was.get(zone).unwrap_or(&0.0);
    let keys: BTreeSet<(&ZoneId, &str)> = before
        .reasons
        .iter()
        .chain(&now.reasons)
        .map(|r| (&r.zone, r.rule.as_str()))
        .collect();
    let mut found: Vec<ShareCause> = keys
        .into_iter()
        .filter_map(|(at, rule)| {
            let of =
                |call: &'_ SpeciesCall| call.reasons.iter().position(|r| &r.zone == at && r.rule == rule);
            let (b, n) = (
                of(before).map(|i| &before.reasons[i]),
                of(now).map(|i| &now.reasons[i]),
            );
            let moved = n.map_or(0.0, |r| r.contribution) - b.map_or(0.0, |r| r.contribution);
            let own = if at == zone { 1.0 } else { 0.0 };
            let part_frac = share(zone) * (own - share(at)) * moved;
            (part_frac * went > 0.0).then(|| ShareCause {
                zone: at.clone(),
                rule: rule.to_owned(),
                label: n.or(b).map(|r| r.label.clone()).unwrap_or_default(),
                part_frac,
                inputs: inputs(b, n),
            })
        })
        .collect();
    found.sort_by(|a, b| b.part_frac.abs().total_cmp(&a.part_frac.abs()));
    let total: f64 = found.iter().map(|c| c.part_frac.abs()).sum();
    found.retain(|c| c.part_frac.abs() >= SMALLEST_PART * total);
    found.truncate(MOST);
    found
}

/// Shares at the prior means and median drivers, from the log-odds; closed zones have none.
fn central_shares(call: &SpeciesCall) -> BTreeMap<ZoneId, f64> {
    let open: Vec<(&ZoneId, f64)> = call
        .zones
        .iter()
        .filter(|(_, z)| !z.closed)
        .map(|(id, z)| (id, z.eta))
        .collect();
    let shares = softmax(&open.iter().map(|(_, eta)| *eta).collect::<Vec<_>>());
    open.into_iter().map(|(id, _)| id.clone()).zip(shares).collect()
}

fn inputs(before: Option<&Reason>, now: Option<&Reason>) -> Vec<InputChange> {
    let of = |reason: Option<&Reason>, name: &str| reason.and_then(|r| r.drivers.get(name)).copied();
    let names: BTreeSet<&String> = [before, now]
        .into_iter()
        .flatten()
        .flat_map(|r| r.drivers.keys())
        .collect();
    names
        .into_iter()
        .map(|name| InputChange {
            name: name.clone(),
            before: of(before, name),
            now: of(now, name),
        })
        .filter(|i| i.before != i.now)
        .collect()
}
