//! Candidates of one station and parameter, which one series of a lake file takes together.

use chrono::{Days, NaiveDate};

use super::value::RECENT_DAYS;
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::sources::{Candidate, Site};

/// All time series of one parameter at one station. Never empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Time series, in the order found.
    pub members: Vec<Candidate>,
}

impl Group {
    /// The first member, which says what all have in common.
    pub fn first(&self) -> &Candidate {
        self.members
            .first()
            .expect("a group is made with its first member")
    }

    /// Whether it can stand for a quantity.
    pub fn is_of(&self, quantity: Quantity) -> bool {
        self.members.iter().any(|c| c.quantities.contains(&quantity))
    }

    /// Newest day of all its series; `None` where the service says none.
    pub fn until(&self) -> Option<NaiveDate> {
        self.members.iter().filter_map(|c| c.until).max()
    }

    /// First day of all its series.
    pub fn since(&self) -> Option<NaiveDate> {
        self.members.iter().filter_map(|c| c.since).min()
    }

    /// Whether it still runs: its newest value is recent. What does not say is not taken to run.
    pub fn is_running(&self, today: NaiveDate) -> bool {
        let oldest = today.checked_sub_days(Days::new(RECENT_DAYS.unsigned_abs()));
        self.until()
            .zip(oldest)
            .is_some_and(|(until, oldest)| until >= oldest)
    }

    /// Whether it stands at a lake.
    pub fn is_at_reservoir(&self) -> bool {
        self.first().site == Site::Reservoir
    }

    /// The members of a cadence.
    pub fn at(&self, cadence: Cadence) -> Vec<&Candidate> {
        self.members.iter().filter(|c| c.cadence == cadence).collect()
    }
}

/// Candidates put together by service, station and parameter, the nearest station first.
pub fn groups_of(candidates: &[Candidate]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for candidate in candidates {
        let same = |group: &&mut Group| {
            let first = group.first();
            first.service == candidate.service
                && first.station == candidate.station
                && first.parameter == candidate.parameter
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.members.push(candidate.clone()),
            None => groups.push(Group {
                members: vec![candidate.clone()],
            }),
        }
    }
    let far = |group: &Group| group.first().distance_m.unwrap_or(f64::INFINITY);
    groups.sort_by(|a, b| {
        let by_name = || {
            let key = |g: &Group| {
                (
                    g.first().service,
                    g.first().station.clone(),
                    g.first().parameter.clone(),
                )
            };
            key(a).cmp(&key(b))
        };
        far(a).total_cmp(&far(b)).then_with(by_name)
    });
    groups
}
